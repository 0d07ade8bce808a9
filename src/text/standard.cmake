# Writes the C file behind standard.h: every file of the standard library as a table of bytes.
#
#   cmake -D FOLDER=stdlib -D LIST=names.txt -D OUTPUT=standard.c -P standard.cmake
#
# LIST holds one name a line, relative to FOLDER, already sorted.

file(STRINGS "${LIST}" names ENCODING UTF-8)

set(arrays "")
set(rows "")
set(count 0)
foreach(name IN LISTS names)
  file(READ "${FOLDER}/${name}" hex HEX)
  string(REGEX REPLACE "([0-9a-f][0-9a-f])" "0x\\1," bytes "${hex}")
  string(LENGTH "${hex}" digits)
  math(EXPR length "${digits} / 2")
  # 24 bytes a line: some compilers and most editors dislike a line of a megabyte.
  string(REPEAT "....." 24 line)
  string(REGEX REPLACE "(${line})" "\\1\n" bytes "${bytes}")
  string(APPEND arrays "static const unsigned char file_${count}[] = {\n${bytes}0};\n")
  string(APPEND rows "    {\"${name}\", (const char *)file_${count}, ${length}},\n")
  math(EXPR count "${count} + 1")
endforeach()

file(WRITE "${OUTPUT}.new" "/* Made from stdlib/ by the build. */
#include \"text/standard.h\"

${arrays}
const StandardFile standard_files[] = {
${rows}    {NULL, NULL, 0},
};
const unsigned standard_file_count = ${count};
")
file(RENAME "${OUTPUT}.new" "${OUTPUT}")
