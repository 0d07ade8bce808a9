/* The value of a field as text that reads back to the same nodes: in one line, without comments, numbers as they were written.
 *
 * For what puts values elsewhere: tables, and cells of them. */
#ifndef TRUNNION_SYNTAX_WRITTEN_H
#define TRUNNION_SYNTAX_WRITTEN_H

#include "syntax/tree.h"

/* A value (of FIELD), also a LIST. Empty when a part of it is BROKEN. */
Text written_value(const Tree *tree, Arena *arena, NodeId value);
/* For the column of a table that is headed by this unit: numbers, with their bounds and in lists, leave the unit out. False
 * when that would not read back to the same. `point`: the unit is that of a temperature, and its tolerances are none. */
bool written_under_unit(const Tree *tree, Arena *arena, NodeId value, Symbol unit, bool point, Text *text);
/* The unit of a NUMBER as it was written there, or in the head of its column; empty when it has none. */
Text written_unit(const Tree *tree, Arena *arena, NodeId number);
/* A text in the quotes of the language. */
Text written_text(Arena *arena, Text text);

#endif
