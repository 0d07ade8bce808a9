/* Cells of tables as the parser would have made them: a value alone, in the place of a field's.
 *
 * In:  the text of a cell, without the quotes of the table, and the place it stands at.
 * Out: the node of the value; its spans lie in the table.
 * Owns: one reader for all cells of a table; memory does not grow with their number. */
#ifndef TRUNNION_SYNTAX_CELL_H
#define TRUNNION_SYNTAX_CELL_H

#include "syntax/tree.h"

typedef struct CellReader CellReader;

CellReader *cell_open(Tree *tree, Source *source, Messages *messages);
/* A value, or a LIST where there are commas. `span` is where `text` stands; longer than that, when the text had quotes that
 * are doubled there. 0 when it cannot be read; *said: what is wrong was reported (also of a slip that was read all the same). */
NodeId cell_read(CellReader *cells, Text text, Span span, bool *said);
/* Whether all of the text is a plain number, read to the last bit as the lexer reads it. A number that is long or has an
 * exponent is left to cell_read. */
bool cell_number(Text text, double *number);
/* The symbol of a name; 0 when the text is none, with the character that cannot be in one, if it is that. */
Symbol cell_name(Tree *tree, Text text, Text *bad);

#endif
