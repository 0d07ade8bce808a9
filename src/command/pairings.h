/* `trunnion pairings`: which cards of libraries go together. */
#ifndef TRUNNION_COMMAND_PAIRINGS_H
#define TRUNNION_COMMAND_PAIRINGS_H

#include "pipeline.h"

typedef struct PairingsAsked {
    PairingRequest request;
    VECTOR(Text) wheres;
    bool all_reasons;  /* --reasons all */
    const char *format; /* "text", "csv" or "html"; NULL: from the ending of the output, else text */
} PairingsAsked;

/* --format and --reasons: false when the value is none of theirs; *due then says what is. */
bool pairings_read_format(PairingsAsked *asked, Text value, const char **due);
bool pairings_read_reasons(PairingsAsked *asked, Text value, const char **due);

/* Loads, judges, and sets the document; the caller prints messages and document. */
typedef struct PairingsAnswer {
    const Messages *messages;
    const Sources *sources;
    Text document; /* empty when there is nothing to show */
} PairingsAnswer;

PairingsAnswer pairings_answer(Arena *arena, const World *world, LoadRequest load, PairingsAsked *asked, Text output);

#endif
