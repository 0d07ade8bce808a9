/* The plain search: cards by themselves first, then every set. */
#include "choose/choice.h"

bool choice_goes_on(Choosing *choice, const char *what, uint64_t done, uint64_t all) {
    if (choice->request.progress == NULL || choice->request.progress(choice->request.context, what, done, all)) return true;
    choice->list->partial = true;
    return false;
}

/* One card in its slot, all others open: what is decided against it now, no other card can mend. */
bool choice_card_stays(Choosing *choice, ShortlistSlot *shown, Tally *tally, NodeId any, NodeId card) {
    choice->fillings[0] = (PlanFilling){.any = any, .card = card};
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
            if (!choice_goes_on(choice, "cards", done++, all)) return;
            if (choice_card_stays(choice, shown, &tally, slot->any, slot->cards.at[k])) VECTOR_PUSH(choice->arena, &left, slot->cards.at[k]);
        }
        slot->cards = left;
        shown->left = left.count;
        tally_sort(&shown->misses);
    }
}

static void try_set(Choosing *choice, Tally *tally, uint64_t set, WorkingVector *working) {
    choice_take(choice, set);
    Score score = choice_score(choice, choice->slots.count, true);
    if (score.works) {
        VECTOR_PUSH(choice->arena, working, ((Working){set, score.margin, score.criterion, score.unheeded}));
        return;
    }
    tally_add(choice, tally, &score, choice->slots.count, choice_words(choice));
    nearest_add(choice, &score);
}

void choice_search(Choosing *choice, WorkingVector *working) {
    Shortlist *list = choice->list;
    Tally tally = tally_open(choice, &list->misses);
    for (uint64_t set = 0; set < list->all; set++) {
        if (!choice_goes_on(choice, "sets", set, list->all)) break;
        try_set(choice, &tally, set, working);
        list->done++;
    }
    list->working = working->count;
}

void choice_try(Choosing *choice, const uint64_t *sets, uint32_t count, WorkingVector *working) {
    Tally tally = tally_open(choice, &choice->list->misses);
    for (uint32_t i = 0; i < choice->list->misses.count; i++) map_set(&tally.known, symbol_of(choice->model->symbols, choice->list->misses.at[i].id), i + 1);
    for (uint32_t i = 0; i < count && choice_goes_on(choice, "sets", i, count); i++) try_set(choice, &tally, sets[i], working);
}
