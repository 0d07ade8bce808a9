/* Dealing boxes out to two threads, and halving them. */
#include "choose/box.h"

#include <math.h>
#include <pthread.h>
#include <stdatomic.h>
#include <stdlib.h>
#include <string.h>

#include "choose/box_task.h"

enum { JOBS_PER_TASK = 64, SLOTS_MOST = 64, ASKED_BETWEEN = 256 /* boxes between two looks at the clock */ };

/* A box in which every margin may be larger than this will hardly be ruled out by halving it once. */
static const double ASK_AT_ONCE = 0.2;

typedef struct Job { /* a box to begin with */
    uint32_t task;
    uint32_t *clusters; /* by slot */
} Job;

typedef VECTOR(Job) JobVector;

typedef struct Yield { /* what came of one job */
    VECTOR(BoxFound) found;
    VECTOR(BoxNear) near;
    uint64_t *missed, *examples; /* by BoxResult.misses */
    uint64_t covered, boxes, judged;
} Yield;

typedef struct Search {
    const BoxRequest *request;
    BoxTask *tasks;
    JobVector jobs;
    Yield *yields;     /* by job */
    uint32_t miss_count;
    atomic_uint next;
    atomic_bool stop;
    atomic_ullong covered;
    atomic_uint found;
} Search;

typedef struct Worker {
    Search *search;
    Arena *arena;      /* of this thread alone */
    BoxHand *hand;
    uint32_t hand_task;
    uint8_t *open;     /* by depth and demand */
    bool leads;        /* may speak of the progress */
    uint32_t since;
} Worker;

/* ---- one box -------------------------------------------------------------------------------------------------------- */

static uint64_t box_size(const BoxTask *task, const uint32_t *clusters) {
    uint64_t size = 1;
    for (uint32_t i = 0; i < task->request->slot_count; i++) {
        if (task->places[i]) size *= task->trees[i]->clusters.at[clusters[i]].count;
    }
    return size;
}

/* The slot whose cards differ most, of `slots`; UINT32_MAX: all of these are single cards. */
static uint32_t widest_slot(const BoxTask *task, const uint32_t *clusters, uint64_t slots) {
    uint32_t best = UINT32_MAX;
    double widest = -1;
    for (uint32_t i = 0; i < task->request->slot_count; i++) {
        const Cluster *cluster = task->places[i] ? &task->trees[i]->clusters.at[clusters[i]] : NULL;
        if (cluster == NULL || !(slots >> i & 1) || cluster->below == 0 || !(cluster->spread > widest)) continue;
        widest = cluster->spread;
        best = i;
    }
    return best;
}

/* The slot to halve: of the demand that is still open and rests on the fewest slots with several cards, since that is decided for
 * all cards of the others at once. */
static uint32_t slot_to_halve(const BoxTask *task, const uint32_t *clusters, const uint8_t *open) {
    uint64_t several = 0, best = 0;
    int least = SLOTS_MOST + 1;
    for (uint32_t i = 0; i < task->request->slot_count; i++) {
        if (task->places[i] && task->trees[i]->clusters.at[clusters[i]].below) several |= (uint64_t)1 << i;
    }
    for (uint32_t k = 0; k < task->demands.count; k++) {
        uint64_t slots = task->demands.at[k].slots & several;
        int count = 0;
        for (uint64_t rest = slots; rest; rest &= rest - 1) count++;
        if (!open[k] || count == 0) continue;
        if (count < least) least = count, best = 0;
        if (count == least) best |= slots;
    }
    return widest_slot(task, clusters, best ? best : several);
}

static void rows_of(const BoxTask *task, const uint32_t *clusters, uint32_t *rows) {
    for (uint32_t i = 0; i < task->request->slot_count; i++) {
        rows[i] = task->places[i] ? task->trees[i]->order[task->trees[i]->clusters.at[clusters[i]].first] : 0;
    }
}

static bool is_nearer(const BoxNear *a, const BoxNear *b) {
    if (isnan(a->violation) != isnan(b->violation)) return !isnan(a->violation);
    if (!isnan(a->violation) && a->violation != b->violation) return a->violation > b->violation;
    if (a->misses != b->misses) return a->misses < b->misses;
    return a->set < b->set;
}

static void keep_near(BoxNear *near, uint32_t *count, BoxNear one) {
    uint32_t at = *count;
    while (at > 0 && is_nearer(&one, &near[at - 1])) at--;
    if (at >= BOX_NEAR) return;
    if (*count < BOX_NEAR) ++*count;
    for (uint32_t i = *count - 1; i > at; i--) near[i] = near[i - 1];
    near[at] = one;
}

static void note_missed(Yield *yield, uint32_t miss, uint64_t example, uint64_t sets) {
    if (yield->missed[miss] == 0) yield->examples[miss] = example;
    yield->missed[miss] += sets;
}

static void judge_set(Worker *worker, const BoxTask *task, Yield *yield, const uint32_t *clusters) {
    uint32_t rows[SLOTS_MOST];
    rows_of(task, clusters, rows);
    bool full = yield->near.count == BOX_NEAR;
    BoxVerdict verdict = box_judge(worker->hand, rows, full ? yield->near.at[BOX_NEAR - 1].violation : -INFINITY);
    uint64_t set = box_example(task, clusters);
    yield->judged++;
    if (verdict.works) {
        if (atomic_fetch_add_explicit(&worker->search->found, 1, memory_order_relaxed) >= BOX_FOUND_LIMIT) atomic_store(&worker->search->stop, true);
        VECTOR_PUSH(worker->arena, &yield->found, ((BoxFound){set, verdict.margin, verdict.criterion, verdict.unheeded}));
        return;
    }
    note_missed(yield, task->demands.at[verdict.demand].miss, set, 1);
    if (yield->near.room == 0) {
        yield->near.at = ARENA_ARRAY(worker->arena, BoxNear, BOX_NEAR);
        yield->near.room = BOX_NEAR;
    }
    keep_near(yield->near.at, &yield->near.count, (BoxNear){set, verdict.misses, verdict.violation});
}

static void tell_progress(Worker *worker) {
    const BoxRequest *request = worker->search->request;
    if (!worker->leads || request->progress == NULL || ++worker->since < ASKED_BETWEEN) return;
    worker->since = 0;
    if (!request->progress(request->context, atomic_load(&worker->search->covered))) atomic_store(&worker->search->stop, true);
}

/* `open`: what is known of the box that this one is a half of, and room for what is found out of it. */
static void look_at(Worker *worker, const BoxTask *task, Yield *yield, uint32_t *clusters, uint8_t *open, uint64_t changed, bool asked) {
    if (atomic_load_explicit(&worker->search->stop, memory_order_relaxed)) return;
    tell_progress(worker);
    uint64_t size = box_size(task, clusters);
    yield->boxes++;
    BoxAnswer answer = {.share = 0};
    uint32_t slot = asked ? UINT32_MAX : slot_to_halve(task, clusters, open);
    if (slot == UINT32_MAX) {
        answer = box_ask(worker->hand, clusters, open, changed, false);
        slot = answer.out ? UINT32_MAX : slot_to_halve(task, clusters, open);
        changed = 0;
    }
    if (!answer.out && slot == UINT32_MAX) answer = box_ask(worker->hand, clusters, open, UINT64_MAX, true);
    if (answer.out) note_missed(yield, task->demands.at[answer.demand].miss, box_example(task, clusters), size);
    else if (slot == UINT32_MAX) judge_set(worker, task, yield, clusters);
    if (answer.out || slot == UINT32_MAX) {
        yield->covered += size;
        atomic_fetch_add_explicit(&worker->search->covered, size, memory_order_relaxed);
        return;
    }
    uint32_t whole = clusters[slot], below = task->trees[slot]->clusters.at[whole].below, demands = task->demands.count;
    for (uint32_t half = 0; half < 2; half++) {
        clusters[slot] = below + half;
        memcpy(open + demands, open, demands);
        look_at(worker, task, yield, clusters, open + demands, changed | (uint64_t)1 << slot, answer.share < ASK_AT_ONCE);
    }
    clusters[slot] = whole;
}

/* The most halvings on the way to a single set. */
static uint32_t halvings_of(const BoxTask *task) {
    uint32_t sum = 0;
    for (uint32_t i = 0; i < task->request->slot_count; i++) sum += task->places[i] ? task->trees[i]->clusters.at[0].count : 0;
    return sum;
}

/* ---- jobs ----------------------------------------------------------------------------------------------------------- */

static void *work(void *context) {
    Worker *worker = context;
    Search *search = worker->search;
    for (;;) {
        uint32_t number = atomic_fetch_add(&search->next, 1);
        if (number >= search->jobs.count || atomic_load(&search->stop)) break;
        const Job *job = &search->jobs.at[number];
        const BoxTask *task = &search->tasks[job->task];
        if (worker->hand == NULL || worker->hand_task != job->task) {
            if (worker->hand != NULL) box_hand_close(worker->hand);
            worker->hand = box_hand_open(worker->arena, task);
            worker->open = arena_take(worker->arena, (size_t)(halvings_of(task) + 2) * task->demands.count);
            worker->hand_task = job->task;
        }
        box_hand_forget(worker->hand);
        search->yields[number].missed = ARENA_ARRAY(worker->arena, uint64_t, search->miss_count);
        search->yields[number].examples = ARENA_ARRAY(worker->arena, uint64_t, search->miss_count);
        memset(worker->open, 1, task->demands.count);
        look_at(worker, task, &search->yields[number], job->clusters, worker->open, UINT64_MAX, true);
    }
    if (worker->hand != NULL) box_hand_close(worker->hand);
    return NULL;
}

/* Halves the box of all sets of a task until there is enough to deal out. */
static void deal(Arena *arena, Search *search, uint32_t number) {
    const BoxTask *task = &search->tasks[number];
    uint32_t first = search->jobs.count, slots = task->request->slot_count;
    VECTOR_PUSH(arena, &search->jobs, ((Job){number, ARENA_ARRAY(arena, uint32_t, slots)}));
    for (uint32_t at = first; at < search->jobs.count && search->jobs.count - first < JOBS_PER_TASK;) {
        uint32_t slot = widest_slot(task, search->jobs.at[at].clusters, UINT64_MAX);
        if (slot == UINT32_MAX) {
            at++;
            continue;
        }
        /* The first half takes the place of the whole, at the end of the line, so that all are halved in turn. */
        Job whole = search->jobs.at[at];
        uint32_t below = task->trees[slot]->clusters.at[whole.clusters[slot]].below;
        for (uint32_t half = 0; half < 2; half++) {
            Job part = {number, ARENA_ARRAY(arena, uint32_t, slots)};
            memcpy(part.clusters, whole.clusters, slots * sizeof *part.clusters);
            part.clusters[slot] = below + half;
            VECTOR_PUSH(arena, &search->jobs, part);
        }
        memmove(&search->jobs.at[at], &search->jobs.at[at + 1], (search->jobs.count - at - 1) * sizeof *search->jobs.at);
        search->jobs.count--;
    }
}

static int by_set(const void *a, const void *b) {
    const BoxFound *x = a, *y = b;
    return x->set < y->set ? -1 : x->set > y->set;
}

static void gather(Arena *arena, Search *search, BoxResult *result) {
    BoxNear *near = ARENA_ARRAY(arena, BoxNear, BOX_NEAR);
    uint32_t near_count = 0;
    for (uint32_t j = 0; j < search->jobs.count; j++) {
        const Yield *yield = &search->yields[j];
        for (uint32_t i = 0; i < yield->found.count; i++) VECTOR_PUSH(arena, &result->found, yield->found.at[i]);
        for (uint32_t i = 0; i < yield->near.count; i++) keep_near(near, &near_count, yield->near.at[i]);
        for (uint32_t i = 0; yield->missed != NULL && i < search->miss_count; i++) {
            BoxMiss *miss = &result->misses.at[i];
            if (miss->sets == 0 && yield->missed[i] > 0) miss->example = yield->examples[i];
            miss->sets += yield->missed[i];
        }
        result->covered += yield->covered;
        result->boxes += yield->boxes;
        result->judged += yield->judged;
    }
    if (result->found.count > 0) qsort(result->found.at, result->found.count, sizeof *result->found.at, by_set);
    result->near.at = near;
    result->near.count = result->near.room = near_count;
    result->stopped = atomic_load(&search->stop);
    result->overfull = atomic_load(&search->found) > BOX_FOUND_LIMIT;
}

static void run(Arena *arena, Search *search, BoxResult *result) {
    Arena *arenas[2] = {arena_open_beside(arena), arena_open_beside(arena)};
    Worker workers[2] = {{.search = search, .arena = arenas[0], .leads = true}, {.search = search, .arena = arenas[1]}};
    pthread_t helper;
    search->miss_count = result->misses.count;
    search->yields = ARENA_ARRAY(arena, Yield, search->jobs.count);
    bool helped = search->jobs.count > 1 && pthread_create(&helper, NULL, work, &workers[1]) == 0;
    work(&workers[0]);
    if (helped) pthread_join(helper, NULL);
    gather(arena, search, result);
    arena_close(arenas[0]);
    arena_close(arenas[1]);
}

/* ---- tuples of groups ------------------------------------------------------------------------------------------------ */

typedef struct Choices { /* of a slot */
    Alternative *all;
    uint32_t count;
} Choices;

static Choices choices_of(Arena *arena, const BoxRequest *request, const BoxSlot *slot) {
    Cards *cards = cards_gather(arena, request->model, slot->cards, slot->count);
    Choices choices = {ARENA_ARRAY(arena, Alternative, cards->groups.count + cards->odd.count), 0};
    for (uint32_t g = 0; g < cards->groups.count; g++) {
        const CardGroup *group = cards->groups.at[g];
        choices.all[choices.count++] = (Alternative){group, 0, group->positions, group->count};
    }
    for (uint32_t i = 0, position = 0; i < cards->odd.count; i++) {
        while (slot->cards[position] != cards->odd.at[i]) position++;
        uint32_t *own = ARENA_NEW(arena, uint32_t);
        *own = position;
        choices.all[choices.count++] = (Alternative){NULL, cards->odd.at[i], own, 1};
    }
    return choices;
}

/* Every set of a tuple goes to those that have to be tried. */
static void leave(Arena *arena, const BoxRequest *request, const Alternative *const *alternatives, BoxResult *result) {
    uint64_t count = 1;
    for (uint32_t i = 0; i < request->slot_count; i++) count *= alternatives[i]->count;
    for (uint64_t n = 0; n < count; n++) {
        uint64_t rest = n, set = 0, weight = 1;
        for (uint32_t i = request->slot_count; i-- > 0;) {
            set += weight * alternatives[i]->positions[rest % alternatives[i]->count];
            rest /= alternatives[i]->count;
            weight *= request->slots[i].count;
        }
        VECTOR_PUSH(arena, &result->left, set);
    }
}

static uint64_t count_of(const uint8_t *marks, uint32_t count) {
    uint64_t sum = 0;
    for (uint32_t i = 0; i < count; i++) sum += marks[i];
    return sum;
}

static void tell_drop(Arena *arena, BoxResult *result, const TaskDrop *one) {
    BoxDrop *found = NULL;
    for (uint32_t i = 0; i < result->drops.count; i++) {
        if (result->drops.at[i].slot == one->slot && result->drops.at[i].miss == one->miss) found = &result->drops.at[i];
    }
    if (found == NULL) {
        VECTOR_PUSH(arena, &result->drops, ((BoxDrop){.slot = one->slot, .miss = one->miss, .share = -INFINITY}));
        found = &result->drops.at[result->drops.count - 1];
    }
    result->dropped[one->slot][one->position] = 1;
    bool nearer = isfinite(one->share) && one->share > found->share;
    if (found->cards++ > 0 && !nearer) return;
    found->nearest = one->position;
    if (nearer) found->share = one->share;
}

/* A card is out when it is out in every tuple that it is in; where it is not, the sets it is out of are told of instead. */
static void tell_drops(Arena *arena, const BoxRequest *request, const Search *search, uint64_t task_count, const Choices *choices, BoxResult *result) {
    uint32_t **times = ARENA_ARRAY(arena, uint32_t *, request->slot_count);
    uint64_t all = 1;
    for (uint32_t i = 0; i < request->slot_count; i++) all *= choices[i].count;
    for (uint32_t i = 0; i < request->slot_count; i++) times[i] = ARENA_ARRAY(arena, uint32_t, request->slots[i].count);
    for (uint64_t n = 0; n < task_count; n++) {
        for (uint32_t d = 0; d < search->tasks[n].drops.count; d++) times[search->tasks[n].drops.at[d].slot][search->tasks[n].drops.at[d].position]++;
    }
    for (uint64_t n = 0; n < task_count; n++) {
        BoxTask *task = &search->tasks[n];
        if (task->program == NULL) continue;
        uint64_t *whole = ARENA_ARRAY(arena, uint64_t, request->slot_count); /* without what is out everywhere */
        for (uint32_t i = 0; i < request->slot_count; i++) {
            whole[i] = task->alternatives[i]->count;
            for (uint32_t k = 0; k < task->alternatives[i]->count; k++) whole[i] -= times[i][task->alternatives[i]->positions[k]] == all / choices[i].count;
        }
        for (uint32_t d = 0; d < task->drops.count; d++) {
            const TaskDrop *one = &task->drops.at[d];
            if (times[one->slot][one->position] == all / choices[one->slot].count) {
                if (!result->dropped[one->slot][one->position]) tell_drop(arena, result, one);
                continue;
            }
            uint64_t sets = 1;
            for (uint32_t i = 0; i < request->slot_count; i++) sets *= i < one->slot ? task->left[i] : i > one->slot ? whole[i] : 1;
            BoxMiss *miss = &result->misses.at[one->miss];
            if (miss->sets == 0 && sets > 0) miss->example = one->example;
            miss->sets += sets;
            result->covered += sets;
        }
    }
    for (uint32_t i = 0; i < request->slot_count; i++) {
        uint64_t out = count_of(result->dropped[i], request->slots[i].count), kept = 1;
        for (uint32_t k = 0; k < request->slot_count; k++) kept *= k < i ? request->slots[k].count - count_of(result->dropped[k], request->slots[k].count) : k > i ? request->slots[k].count : 1;
        result->covered += out * kept;
    }
}

static int by_number(const void *a, const void *b) {
    const uint64_t *x = a, *y = b;
    return *x < *y ? -1 : *x > *y;
}

BoxResult *box_search(Arena *arena, BoxRequest request) {
    BoxResult *result = ARENA_NEW(arena, BoxResult);
    Choices *choices = ARENA_ARRAY(arena, Choices, request.slot_count);
    result->dropped = ARENA_ARRAY(arena, uint8_t *, request.slot_count);
    for (uint32_t i = 0; i < request.slot_count; i++) result->dropped[i] = arena_take(arena, request.slots[i].count);
    uint64_t tuples = request.slot_count > 0 && request.slot_count <= SLOTS_MOST;
    for (uint32_t i = 0; i < request.slot_count; i++) {
        choices[i] = choices_of(arena, &request, &request.slots[i]);
        tuples *= choices[i].count;
    }
    Search search = {.request = &request, .tasks = ARENA_ARRAY(arena, BoxTask, tuples)};
    for (uint64_t n = 0; n < tuples; n++) {
        const Alternative **alternatives = ARENA_ARRAY(arena, const Alternative *, request.slot_count);
        uint64_t rest = n;
        for (uint32_t i = request.slot_count; i-- > 0; rest /= choices[i].count) alternatives[i] = &choices[i].all[rest % choices[i].count];
        bool served = box_task_open(arena, &search.tasks[n], &request, alternatives, result);
        if (served && !search.tasks[n].empty) deal(arena, &search, (uint32_t)n);
        if (!served) leave(arena, &request, alternatives, result);
    }
    tell_drops(arena, &request, &search, tuples, choices, result);
    if (result->left.count > 0) qsort(result->left.at, result->left.count, sizeof *result->left.at, by_number);
    if (search.jobs.count > 0) run(arena, &search, result);
    return result;
}
