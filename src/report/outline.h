/* What every writer asks of a result: what belongs to which line, to which thing, and which anchors there are.
 *
 * Owns: its tables, in the arena of the writer. Built once for each document, in one pass over the result. */
#ifndef TRUNNION_REPORT_OUTLINE_H
#define TRUNNION_REPORT_OUTLINE_H

#include "base/map.h"
#include "base/symbol.h"
#include "verdict/result.h"

#define OUTLINE_NONE UINT32_MAX

/* Something that is set beside a line of program text. Within one line they are shown in this order. */
typedef enum NoteKind {
    NOTE_THING,   /* the header line of a filled-in form */
    NOTE_CLAUSE,  /* a clause, with what covers it */
    NOTE_VALUE,   /* a stated value */
    NOTE_FINDING, /* a verdict: a requirement at its shall, an agreement at its field, a rule in trouble at its thing */
    NOTE_CAUTION,
    NOTE_DERIVED  /* a value that follows from others */
} NoteKind;

typedef struct Note {
    uint32_t position; /* global, inside program text of a named file */
    NoteKind kind;
    uint32_t index; /* in the result's list of that kind */
} Note;

/* The rules and agreements of one thing. */
typedef struct Group {
    Text path;           /* of the thing */
    uint32_t thing;      /* in the result, or OUTLINE_NONE for a thing of a library */
    uint32_t first, count; /* in Outline.ordered */
    uint32_t by_verdict[VERDICT_COUNT];
    uint32_t advice_not_met; /* not in by_verdict */
} Group;

typedef VECTOR(Note) NoteVector;
typedef VECTOR(Group) GroupVector;
typedef VECTOR(uint32_t) IndexVector;

typedef struct Outline {
    const Result *result;
    Arena *arena;
    Symbols *symbols;     /* paths and ids */
    Map values;           /* symbol of a path to a value */
    Map findings;         /* symbol of an id to a finding */
    Map things;           /* symbol of a path to a thing */
    Map groups;           /* symbol of a path to a group */
    uint32_t *value_thing; /* for each value its thing, or OUTLINE_NONE */
    NoteVector notes;     /* in order of position, then kind, then index */
    GroupVector groups_list;
    IndexVector ordered;  /* findings of the groups, group after group */
    IndexVector elsewhere; /* values that stand on no line of a named file: those of libraries */
} Outline;

/* One line of a file. */
typedef struct Line {
    Text text;       /* without its line end */
    Span span;       /* the same, global */
    uint32_t number; /* from 1; 0 before the first */
    bool program;    /* it belongs to program text */
} Line;

Outline *outline_of(Arena *arena, const Result *result);

/* Each of these gives OUTLINE_NONE when there is none of that name. */
uint32_t outline_value(const Outline *outline, Text path);
uint32_t outline_finding(const Outline *outline, Text id);
uint32_t outline_thing(const Outline *outline, Text path);
uint32_t outline_group(const Outline *outline, Text path);

/* The notes on the bytes from start up to and including end; *cursor moves past them, and past any before them. */
Note *outline_notes(const Outline *outline, uint32_t *cursor, Span line, uint32_t *count);
/* Moves `line`, zero at first, to the next line of the file; false behind the last. *block is a place for the search of
 * its blocks, zero at first. */
bool outline_next_line(const Source *source, Line *line, uint32_t *block);
/* The path without its last name: "lift.load" of "lift.load.speed"; empty when there is but one name. */
Text outline_parent(Text path);
/* A value's path as seen from its thing: "speed.peak" of lift.load.speed.peak in lift.load. */
Text outline_tail(Text path, Text of);

/* Not met, at risk or open: what the reader must look at first. */
bool outline_trouble(const Finding *finding);
/* A clause that somebody has to cover and nobody does. */
bool outline_gap(const Clause *clause);
/* A requirement without a source and without a word why. */
bool outline_unsourced(const Finding *finding);

#endif
