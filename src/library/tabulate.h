/* Libraries as tables: one table for each form that has cards in the named files, in the form that `use … as` reads.
 *
 * In:   the model, with everything loaded; the cards are those of the named files.
 * Out:  Tabulated: the bytes of each table, what a library has to use to read them, and what is no card.
 * Reading a table back gives the same nodes: names, titles, every stated field with its number as written, bounds, tables,
 * several, filled-in forms, references and formulas. Tabulating that again gives the same bytes. Comments are not in it.
 * A card that would not come back (an unknown form or field) is a mistake, reported in the model's messages. What the parser
 * could not read is left out: it is reported already.
 * Owns: everything in it, in the arena passed. */
#ifndef TRUNNION_LIBRARY_TABULATE_H
#define TRUNNION_LIBRARY_TABULATE_H

#include "meaning/model.h"

typedef struct TabulatedTable {
    Text form; /* its name */
    uint32_t cards, columns;
    Text bytes; /* CSV; lines end with LF */
} TabulatedTable;

typedef struct TabulatedUse {
    Text path;     /* as written after `use` */
    bool standard; /* found anywhere, because it is of the standard library */
} TabulatedUse;

typedef struct TabulatedRest {
    const char *words; /* "forms", "cycles", …; of one: "form", … */
    const char *word;
    uint32_t count;
} TabulatedRest;

typedef struct Tabulated {
    VECTOR(TabulatedTable) tables; /* in the order in which their forms first have a card */
    VECTOR(TabulatedUse) uses;     /* of the named files, without tables and without named files; each once */
    VECTOR(TabulatedRest) rest;    /* what is no card, and stays where it is */
} Tabulated;

Tabulated *tabulate_cards(Arena *arena, Model *model);

#endif
