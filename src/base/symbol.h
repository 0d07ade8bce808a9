/* Interned names: equal text, equal number. 0 is "no name".
 *
 * Owns: the table and copies of the names, in the arena it was opened in (lifetime: session). */
#ifndef TRUNNION_BASE_SYMBOL_H
#define TRUNNION_BASE_SYMBOL_H

#include "base/text.h"

typedef uint32_t Symbol;
typedef struct Symbols Symbols;

Symbols *symbols_open(Arena *arena);
Symbol symbol_of(Symbols *symbols, Text name);         /* interns */
Symbol symbol_find(const Symbols *symbols, Text name); /* 0 when never interned */
Text symbol_text(const Symbols *symbols, Symbol symbol);
uint32_t symbols_count(const Symbols *symbols);        /* symbols are 1 … count */

#endif
