/* The standard library, as bytes inside the program.
 *
 * The build makes the table from every stdlib/ file that ends in .trn (src/text/standard.cmake), so that a program
 * copied alone to another machine still knows its units.
 *
 * Sorted by name, by bytes. The bytes are those of the file, and a zero byte follows them that `length` leaves out. */
#ifndef TRUNNION_TEXT_STANDARD_H
#define TRUNNION_TEXT_STANDARD_H

#include <stddef.h>

typedef struct StandardFile {
    const char *name; /* relative to stdlib/: "mechanics.trn" */
    const char *bytes;
    size_t length; /* bytes */
} StandardFile;

extern const StandardFile standard_files[]; /* one row past the last is all zero */
extern const unsigned standard_file_count;

#endif
