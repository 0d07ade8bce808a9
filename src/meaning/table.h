/* Tables of parts: each row of a CSV file becomes a filled-in form, as if it had been written as a part card.
 *
 * In:   a LoadedFile whose `use` names the form; a model that knows all forms, units and kinds.
 * Out:  its items (FILLED, in the order of the rows), known to the model by their names.
 * The head names the columns: `name`, `title`, and fields as `field` or `field [unit]`. What is wrong with a column is said
 * once, and its cells are then unread (BROKEN) or left out; a wrong cell or row costs no other. Plain numbers are made nodes
 * at once; all other cells go through the lexer and the parser. Docs: docs/language/8-files-and-use.md. */
#ifndef TRUNNION_MEANING_TABLE_H
#define TRUNNION_MEANING_TABLE_H

#include "meaning/model.h"

enum { TABLE_COLUMN_LIMIT = FORM_MEMBER_LIMIT + 2 };

void table_read(Model *model, LoadedFile *file);
/* How spreadsheets call a cell: column 0 of row 12 is A12. Row 0: the column alone. */
Text table_cell_name(Arena *arena, uint32_t column, uint32_t row);

#endif
