/* One program for many cards: a mould.
 *
 * A place is where the cards of a group can stand, one at a time. What a card states there is a constant of the program;
 * to run the program for another card, give these constants the card's facts (NaN for what it does not state). Everything
 * that does not rest on a place is the same for all cards, and so computed once.
 * In a mould all values with bounds are at their nominal values: only constants of places have bounds (without end), so that
 * `Evaluation.bounded` tells which steps rest on a place.
 *
 * A program may have been compiled in vain: unfit means that the cards have to be compiled one by one. */
#ifndef TRUNNION_PLAN_MOULD_H
#define TRUNNION_PLAN_MOULD_H

#include "plan/program.h"

/* A program of one place, for the cards of a group by themselves. NULL: unfit. Nothing is reported. */
Program *mould_of_cards(Arena *arena, const World *world, Sources *sources, Model *model, const CardGroup *group);
/* A program of one thing of the form `holder` with a place in each of its `fields`. NULL: unfit. Nothing is reported. */
Program *mould_of_holder(Arena *arena, const World *world, Sources *sources, Model *model, FormId holder, const Symbol *fields,
                         const CardGroup *const *groups, uint32_t place_count);
/* A program of the whole request, in whose open slots cards of groups stand: fillings without a card name the place of theirs,
 * 1 … place_count. `errors`: how many mistakes the request has with its slots open; more are a matter of the cards. NULL: unfit.
 * Nothing is reported. */
Program *mould_of_choice(Arena *arena, const World *world, Sources *sources, Model *model, PlanRequest request,
                         const CardGroup *const *groups, uint32_t place_count, uint32_t errors);
/* Gives the constants of a place the facts of one card of its group. `inputs` by constant. */
void mould_fill(const Program *program, double *inputs, uint32_t place, uint32_t card);

#endif
