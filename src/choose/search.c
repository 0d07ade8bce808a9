/* The plain search: cards by themselves first, then every set. */
#include "choose/choice.h"

static bool goes_on(Choosing *choice, const char *what, uint64_t done, uint64_t all) {
    if (choice->request.progress == NULL || choice->request.progress(choice->request.context, what, done, all)) return true;
    choice->list->partial = true;
    return false;
}

/* One card in its slot, all others open: what is decided against it now, no other card can mend. */
static bool card_stays(Choosing *choice, ShortlistSlot *shown, Tally *tally, NodeId any, NodeId card) {
    choice->fillings[0] = (PlanFilling){any, card};
    Score score = choice_score(choice, 1, true);
    if (score.works) return true;
    Text name = model_name(choice->model, tree_node(choice->model->tree, card)->name);
    if (score.faulty && shown->faulty++ == 0) shown->faulty_one = name;
    if (!score.faulty) tally_add(choice, tally, &score, 1, name);
    return false;
}

void choice_sift(Choosing *choice) {
    uint64_t all = 0, done = 0;
    for (uint32_t i = 0; i < choice->slots.count; i++) all += choice->slots.at[i].cards.count;
    for (uint32_t i = 0; i < choice->slots.count; i++) {
        ChoiceSlot *slot = &choice->slots.at[i];
        ShortlistSlot *shown = &choice->list->slots.at[i];
        Tally tally = tally_open(choice, &shown->misses);
        CardVector left = {0};
        for (uint32_t k = 0; k < slot->cards.count; k++) {
            if (!goes_on(choice, "cards", done++, all)) return;
            if (card_stays(choice, shown, &tally, slot->any, slot->cards.at[k])) VECTOR_PUSH(choice->arena, &left, slot->cards.at[k]);
        }
        slot->cards = left;
        shown->left = left.count;
        tally_sort(&shown->misses);
    }
}

void choice_search(Choosing *choice, WorkingVector *working) {
    Shortlist *list = choice->list;
    Tally tally = tally_open(choice, &list->misses);
    for (uint64_t set = 0; set < list->all; set++) {
        if (!goes_on(choice, "sets", set, list->all)) break;
        choice_take(choice, set);
        Score score = choice_score(choice, choice->slots.count, true);
        list->done++;
        if (score.works) {
            VECTOR_PUSH(choice->arena, working, ((Working){set, score.margin, score.criterion, score.unheeded}));
        } else {
            tally_add(choice, &tally, &score, choice->slots.count, choice_words(choice));
            nearest_add(choice, &score);
        }
    }
    list->working = working->count;
}
