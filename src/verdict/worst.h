/* Inside the search for worst cases: what its three files share. worst.c asks, search.c finds, eaters.c says what it was. */
#ifndef TRUNNION_VERDICT_WORST_H
#define TRUNNION_VERDICT_WORST_H

#include "verdict/judge.h"

typedef struct KnownWorst KnownWorst;

typedef struct Input {
    StepId step;
    uint32_t constant;
    double nominal, low, high;
    double worst;     /* where the search has put it */
    double slope;     /* of the margin, at the nominal values */
    double slope_there;
    double slope_first; /* where the search began */
    bool turns;       /* its slope changes sign, or is nought somewhere */
    bool idle;        /* it was found to have no part here */
    bool held;        /* it is at its lowest inside */
} Input;

typedef struct Search {
    Judge *judge;
    Arena *scratch;
    Input *inputs;
    uint32_t count;
    StepId *cone;     /* what the condition rests on, and the rest of the loops in it, which are run with it */
    uint32_t cone_count;
    const uint8_t *in_cone; /* by step */
    bool numbers;     /* no signals in it */
    double *values;   /* by constant */
    Outcome worst;    /* of the whole condition */
    double *best;     /* by input: where the worst was found */
    bool by_share;    /* the part is an `or`: margins of several comparisons meet in it, perhaps of several kinds */
    double lowest;    /* score of the part, and by input where it was found */
    double *lowest_at;
    double *slopes_at; /* by input: where slope_there was found, for this leaf; 0: nowhere yet */
    uint32_t slopes_of;
    uint32_t nominal_of; /* the leaf whose slopes at the nominal values are in `slope` */
} Search;

/* search.c */
/* Outcome of a condition with the inputs where `worst` puts them. */
Outcome search_try(Search *search, uint32_t condition);
/* Slope of the margin of the comparison that decided, for each input, at the values of the latest try (or the nominal ones).
 * In SI, per SI unit of the input. */
void search_slopes(Search *search, const Outcome *outcome, const Evaluation *evaluation, bool at_nominal);
/* Looks for the smallest margin of the whole condition, part by part: into `best`. */
void search_all(Search *search, uint32_t whole);

/* eaters.c */
/* What led from the nominal margin to the worst, into the finding, and the statistical margin beside it. */
void name_eaters(Search *search, Finding *finding, const Outcome *nominal, uint32_t whole);

#endif
