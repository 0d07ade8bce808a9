/* The quick way to the sets that work, and from what it finds to the words of the list. */
#include <math.h>

#include "choose/box.h"
#include "choose/choice.h"

enum { EXAMPLES = 6 /* things that sets fell to, most first, of which one is looked at for its figures */ };

static bool decides(void *context, Text id) {
    Choosing *choice = context;
    size_t dot = 0;
    while (dot < id.length && id.at[dot] != '.') dot++;
    Symbol thing = symbol_find(choice->model->symbols, text_slice(id, 0, dot));
    if (dot < id.length && thing != 0 && map_get(&choice->candidates, thing, 0)) return false; /* a card that stands in no slot here */
    Symbol symbol = symbol_find(choice->model->symbols, id);
    return symbol == 0 || map_get(&choice->fixed, symbol, 0) == 0;
}

static bool tell(void *context, uint64_t covered) {
    Choosing *choice = context;
    return choice_goes_on(choice, "sets", covered, choice->list->offered);
}

/* Cards that are in no group are tried by themselves first: a mistake in one of them is not to be met in every set. */
static void sift_odd(Choosing *choice) {
    for (uint32_t i = 0; i < choice->slots.count; i++) {
        ChoiceSlot *slot = &choice->slots.at[i];
        ShortlistSlot *shown = &choice->list->slots.at[i];
        Cards *cards = cards_gather(choice->arena, choice->model, slot->cards.at, slot->cards.count);
        Map out = map_open(choice->arena);
        Tally tally = tally_open(choice, &shown->misses);
        for (uint32_t k = 0; k < cards->odd.count; k++) {
            if (!choice_card_stays(choice, shown, &tally, slot->any, cards->odd.at[k])) map_set(&out, cards->odd.at[k], 1);
        }
        CardVector left = {0};
        for (uint32_t k = 0; k < slot->cards.count; k++) {
            if (map_get(&out, slot->cards.at[k], 0) == 0) VECTOR_PUSH(choice->arena, &left, slot->cards.at[k]);
        }
        slot->cards = left;
        shown->left = left.count;
    }
}

static Text condition_of(const Choosing *choice, const BoxMiss *box) {
    return choice_one_line(choice->arena, source_text(choice->sources, tree_node(choice->model->tree, box->shall)->span));
}

/* The words of a miss, as one finding of a score says them; where none is called so, its condition. */
static Miss described(Choosing *choice, const Score *score, uint32_t count, const BoxMiss *box, Text which) {
    Text id = box->id;
    for (uint32_t i = 0; i < score->misses.count; i++) {
        Text name = choice_name(choice, count, score->misses.at[i]);
        if (!text_equal(name, id)) continue;
        Miss miss = miss_of(choice, score->misses.at[i], name);
        miss.nearest = text_copy(choice->arena, which);
        return miss;
    }
    return (Miss){.id = id, .nearest = which, .condition = condition_of(choice, box), .share = NAN};
}

static void tell_drops(Choosing *choice, const BoxResult *result) {
    for (uint32_t i = 0; i < result->drops.count; i++) {
        const BoxDrop *drop = &result->drops.at[i];
        const ChoiceSlot *slot = &choice->slots.at[drop->slot];
        ShortlistSlot *shown = &choice->list->slots.at[drop->slot];
        if (drop->cards == 0) continue;
        NodeId card = slot->cards.at[drop->nearest];
        choice->fillings[0] = (PlanFilling){.any = slot->any, .card = card};
        Score score = choice_score(choice, 1, true);
        Miss miss = described(choice, &score, 1, &result->misses.at[drop->miss], model_name(choice->model, tree_node(choice->model->tree, card)->name));
        miss.count = drop->cards;
        VECTOR_PUSH(choice->arena, &shown->misses, miss);
        shown->left -= drop->cards;
    }
    for (uint32_t i = 0; i < choice->list->slots.count; i++) tally_sort(&choice->list->slots.at[i].misses);
}

static Miss *known_miss(Shortlist *list, Text id) {
    for (uint32_t i = 0; i < list->misses.count; i++) {
        if (text_equal(list->misses.at[i].id, id)) return &list->misses.at[i];
    }
    return NULL;
}

/* Takes over the figures of a set that misses a thing by less than what is told of it so far. */
static void tell_figures(Choosing *choice, const Score *score) {
    for (uint32_t i = 0; i < score->misses.count; i++) {
        Text name = choice_name(choice, choice->slots.count, score->misses.at[i]);
        Miss *known = known_miss(choice->list, name);
        double share = choice_share(score->misses.at[i]);
        if (known == NULL || (known->nearest.length > 0 && !(share > known->share) && !(isnan(known->share) && !isnan(share)))) continue;
        uint64_t count = known->count;
        *known = miss_of(choice, score->misses.at[i], name);
        known->nearest = text_copy(choice->arena, choice_words(choice));
        known->count = count;
    }
}

static void tell_misses(Choosing *choice, const BoxResult *result) {
    Shortlist *list = choice->list;
    for (uint32_t i = 0; i < result->misses.count; i++) {
        if (result->misses.at[i].sets > 0) VECTOR_PUSH(choice->arena, &list->misses, ((Miss){.id = result->misses.at[i].id, .condition = condition_of(choice, &result->misses.at[i]), .count = result->misses.at[i].sets, .share = NAN}));
    }
    tally_sort(&list->misses);
    for (uint32_t i = 0; i < result->near.count; i++) {
        choice_take(choice, result->near.at[i].set);
        Score score = choice_score(choice, choice->slots.count, true);
        tell_figures(choice, &score);
        nearest_add(choice, &score);
    }
    for (uint32_t i = 0, examples = 0; i < list->misses.count && examples < EXAMPLES; i++, examples++) {
        for (uint32_t k = 0; k < result->misses.count && list->misses.at[i].nearest.length == 0; k++) {
            if (!text_equal(result->misses.at[k].id, list->misses.at[i].id)) continue;
            choice_take(choice, result->misses.at[k].example);
            Score score = choice_score(choice, choice->slots.count, true);
            tell_figures(choice, &score);
            break;
        }
    }
}

void choice_search_boxes(Choosing *choice, WorkingVector *working) {
    Shortlist *list = choice->list;
    sift_odd(choice);
    BoxSlot *slots = ARENA_ARRAY(choice->arena, BoxSlot, choice->slots.count);
    for (uint32_t i = 0; i < choice->slots.count; i++) {
        const ChoiceSlot *slot = &choice->slots.at[i];
        slots[i] = (BoxSlot){slot->any, slot->cards.at, slot->cards.count};
        if (slot->cards.count == 0) return; /* nothing can be tried */
    }
    BoxRequest request = {.world = choice->world, .sources = choice->sources, .model = choice->model, .slots = slots, .slot_count = choice->slots.count,
                          .plan = {.bare = true, .ranked = choice->ranked, .ranked_of = choice->ranked_of}, .errors = choice->errors,
                          .decides = decides, .progress = tell, .context = choice};
    BoxResult *result = box_search(choice->arena, request);
    if (result->overfull) {
        choice_say_too_many(choice, TEXT("more than 1000000 working sets"), BOX_FOUND_LIMIT);
        return;
    }
    tell_drops(choice, result);
    list->all = 1;
    for (uint32_t i = 0; i < list->slots.count; i++) list->all *= list->slots.at[i].left;
    for (uint32_t i = 0; i < result->found.count; i++) {
        const BoxFound *found = &result->found.at[i];
        double criterion = choice->ranked != 0 ? found->criterion : -found->margin;
        VECTOR_PUSH(choice->arena, working, ((Working){found->set, found->margin, criterion, found->unheeded}));
    }
    list->first_only = true;
    list->partial = list->partial || result->stopped;
    uint64_t tried = choice_size(choice), out = tried - list->all;
    list->done = !result->stopped ? list->all : result->covered > out ? result->covered - out : 0;
    tell_misses(choice, result);
    choice_try(choice, result->left.at, result->left.count, working);
    list->working = working->count;
}
