#include "compute/tangent.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "compute/recall.h"
#include "compute/step.h"

static const Tangent nought = {.value = {.state = COMPUTED_NUMBER}};

static const Computed *value_of(const Gradient *g, StepId id) { return &g->evaluation->values[id]; }

static double change_inside(Gradient *g, StepId x, StepId y, double time);
static void catch_up(Gradient *g, StepId x, StepId y);

static const Tangent *tangent_of(const Gradient *g, StepId id) { return g->depends[id] ? &g->tangents[id] : &nought; }

/* ---- arithmetic on numbers and signals alike --------------------------------------------------------------------- */

static Computed times(const Gradient *g, Computed a, Computed b) { return computed_binary(g->arena, SIGNAL_MULTIPLY, &a, &b, 0); }
static Computed plus(const Gradient *g, Computed a, Computed b) { return computed_binary(g->arena, SIGNAL_ADD, &a, &b, 0); }
static Computed minus(const Gradient *g, Computed a, Computed b) { return computed_binary(g->arena, SIGNAL_SUBTRACT, &a, &b, 0); }
static Computed over(const Gradient *g, Computed a, Computed b) { return computed_binary(g->arena, SIGNAL_DIVIDE, &a, &b, 0); }
static Computed scaled(const Gradient *g, Computed a, double factor) { return times(g, a, computed_number(factor)); }
static Computed unary(const Gradient *g, SignalUnary operation, Computed a) { return computed_unary(g->arena, operation, &a, 0); }

static bool is_zero(const Computed *value) { return value->state == COMPUTED_NUMBER && value->number == 0; }

/* ---- what does not depend on the input --------------------------------------------------------------------------- */

/* Of one step, once for all inputs. *fresh: it is to be worked out now, in the arena that it lasts in. */
static TangentAid *aid_of(Gradient *g, const Step *step, bool *fresh) {
    TangentAid *aid = &g->aids[step - g->evaluation->program->steps.at];
    *fresh = aid->moment != g->moment;
    aid->moment = g->moment;
    return aid;
}

/* ---- movers ------------------------------------------------------------------------------------------------------ */

static double nearness(double duration) { return 1e-11 * duration; }

/* All movers of several tangents, each instant once. */
static void gather_movers(const Gradient *g, Tangent *out, const Tangent *const *parts, unsigned count, double duration) {
    uint32_t room = 0, at[3] = {0, 0, 0};
    for (unsigned i = 0; i < count; i++) room += parts[i]->mover_count;
    if (room == 0) return;
    Mover *movers = ARENA_ARRAY(g->arena, Mover, room);
    uint32_t used = 0;
    for (;;) {
        unsigned first = count;
        for (unsigned i = 0; i < count; i++) {
            if (at[i] >= parts[i]->mover_count) continue;
            if (first == count || parts[i]->movers[at[i]].time < parts[first]->movers[at[first]].time) first = i;
        }
        if (first == count) break;
        Mover next = parts[first]->movers[at[first]++];
        if (used > 0 && next.time - movers[used - 1].time <= nearness(duration)) {
            if (movers[used - 1].speed == 0) movers[used - 1].speed = next.speed;
        } else movers[used++] = next;
    }
    out->movers = movers;
    out->mover_count = used;
}

/* The piece that ends at an instant (`before`) or begins there; inside a piece that piece. */
static const Piece *piece_beside(Signal x, double time, bool before) {
    double near = nearness(signal_duration(x));
    for (uint32_t i = 0; i + 1 < x.count; i++) {
        const Piece *piece = &x.pieces[i];
        if (before ? piece->end >= time - near : piece->end > time + near) return piece;
    }
    return x.count > 0 ? &x.pieces[x.count - 1] : NULL;
}

static double one_sided(Signal x, double time, bool before) {
    const Piece *piece = piece_beside(x, time, before);
    double value = piece ? piece_at(piece, fmin(fmax(time, piece->start), piece->end)) : 0;
    return isfinite(value) ? value : 0;
}

/* Of the rate only that piece. */
static double rate_beside(const Gradient *g, Signal x, double time, bool before) {
    const Piece *piece = piece_beside(x, time, before);
    return piece ? one_sided(signal_rate(g->arena, (Signal){1, piece}), time, before) : 0;
}

/* How far the value just before the instant lies above the one just after; at the end of the cycle the beginning follows. */
static double drop_at(Signal x, double time) {
    double duration = signal_duration(x);
    bool end = time >= duration - nearness(duration);
    return one_sided(x, time, true) - one_sided(x, end ? 0 : time, false);
}

static bool has_mover(const Tangent *tangent, double time, double near) {
    for (uint32_t i = 0; i < tangent->mover_count; i++) {
        if (fabs(tangent->movers[i].time - time) <= near) return true;
    }
    return false;
}

static double speed_of_end(const Tangent *tangent, double duration) {
    if (tangent->mover_count == 0) return 0;
    Mover last = tangent->movers[tangent->mover_count - 1];
    return last.time >= duration - nearness(duration) ? last.speed : 0;
}

/* Where `result` jumps because `x` passes through a level, the instant moves as x does: −(∂x/∂input)/(∂x/∂t). */
static void add_crossings(const Gradient *g, Tangent *out, Signal result, Signal x, Computed x_tangent) {
    double duration = signal_duration(result), near = nearness(duration);
    Mover *movers = ARENA_ARRAY(g->arena, Mover, out->mover_count + result.count);
    uint32_t used = 0, known = 0;
    Signal change = computed_as_signal(g->arena, &x_tangent, duration);
    for (uint32_t i = 1; i < result.count; i++) {
        double time = result.pieces[i].start;
        if (has_mover(out, time, near) || drop_at(result, time) == 0) continue;
        if (fabs(drop_at(x, time)) > 1e-9 * fabs(one_sided(x, time, true))) continue; /* x jumps across, and stands still */
        double slope = 0.5 * (rate_beside(g, x, time, true) + rate_beside(g, x, time, false));
        double moved = 0.5 * (one_sided(change, time, true) + one_sided(change, time, false));
        if (slope == 0) continue;
        while (known < out->mover_count && out->movers[known].time < time) movers[used++] = out->movers[known++];
        movers[used++] = (Mover){time, -moved / slope};
    }
    while (known < out->mover_count) movers[used++] = out->movers[known++];
    out->movers = movers;
    out->mover_count = used;
}

/* ---- at each instant --------------------------------------------------------------------------------------------- */

/* What dx is multiplied with, or divided by. */
static Computed unary_aid(Arena *arena, SignalUnary operation, const Computed *x, const Computed *result) {
    const Gradient g = {.arena = arena};
    Computed one = computed_number(1);
    switch (operation) {
    case SIGNAL_ABS: return unary(&g, SIGNAL_SIGN, *x);
    case SIGNAL_CBRT: return times(&g, *result, *result);
    case SIGNAL_SIN: return unary(&g, SIGNAL_COS, *x);
    case SIGNAL_COS: return scaled(&g, unary(&g, SIGNAL_SIN, *x), -1);
    case SIGNAL_TAN: return plus(&g, one, times(&g, *result, *result));
    case SIGNAL_ASIN: return unary(&g, SIGNAL_SQRT, minus(&g, one, times(&g, *x, *x)));
    case SIGNAL_ACOS: return scaled(&g, unary(&g, SIGNAL_SQRT, minus(&g, one, times(&g, *x, *x))), -1);
    case SIGNAL_ATAN: return plus(&g, one, times(&g, *x, *x));
    default: return one;
    }
}

/* Quotients are kept whole: where a root is nought, its argument's change is nought too, and only one by the other is tame. */
static Computed unary_change(Gradient *g, const Step *step, const Computed *x, const Computed *result, Computed dx) {
    bool fresh;
    TangentAid *aid = aid_of(g, step, &fresh);
    if (fresh) aid->value = unary_aid(g->common, (SignalUnary)step->aux, x, result);
    switch ((SignalUnary)step->aux) {
    case SIGNAL_NEGATE: return scaled(g, dx, -1);
    case SIGNAL_SQRT: return over(g, scaled(g, dx, 0.5), *result);
    case SIGNAL_CBRT: return over(g, scaled(g, dx, 1.0 / 3), aid->value);
    case SIGNAL_EXP: return times(g, *result, dx);
    case SIGNAL_LN: return over(g, dx, *x);
    case SIGNAL_ABS:
    case SIGNAL_SIN:
    case SIGNAL_COS:
    case SIGNAL_TAN: return times(g, aid->value, dx);
    case SIGNAL_ASIN:
    case SIGNAL_ACOS:
    case SIGNAL_ATAN: return over(g, dx, aid->value);
    case SIGNAL_SIGN:
    case SIGNAL_FLOOR:
    case SIGNAL_ROUND:
    case SIGNAL_CEILING: break;
    }
    return computed_number(0);
}

static Tangent of_unary(Gradient *g, const Step *step, const Computed *result) {
    const Tangent *x = tangent_of(g, step->a);
    Tangent out = *x;
    out.value = is_zero(&x->value) ? computed_number(0) : unary_change(g, step, value_of(g, step->a), result, x->value);
    bool steps = step->aux == SIGNAL_SIGN || step->aux >= SIGNAL_FLOOR;
    if (steps && result->state == COMPUTED_SIGNAL) add_crossings(g, &out, result->signal, value_of(g, step->a)->signal, x->value);
    return out;
}

/* Of a power what dx is multiplied with; of the lesser or greater, whether it is the first. */
static Computed binary_aid(Arena *arena, const Step *step, const Computed *x, const Computed *y) {
    const Gradient g = {.arena = arena};
    if (step->aux == SIGNAL_POWER) {
        Computed lower = minus(&g, *y, computed_number(1));
        return times(&g, *y, computed_binary(arena, SIGNAL_POWER, x, &lower, 0));
    }
    return computed_compare(arena, step->aux == SIGNAL_LESSER ? SIGNAL_AT_MOST : SIGNAL_AT_LEAST, x, y, 0);
}

static Computed binary_change(Gradient *g, const Step *step, const Computed *result) {
    const Computed *x = value_of(g, step->a), *y = value_of(g, step->b);
    Computed dx = tangent_of(g, step->a)->value, dy = tangent_of(g, step->b)->value;
    TangentAid *aid = NULL;
    if (step->aux == SIGNAL_POWER || step->aux == SIGNAL_LESSER || step->aux == SIGNAL_GREATER) {
        bool fresh;
        aid = aid_of(g, step, &fresh);
        if (fresh) aid->value = binary_aid(g->common, step, x, y);
    }
    switch ((SignalBinary)step->aux) {
    case SIGNAL_ADD: return plus(g, dx, dy);
    case SIGNAL_SUBTRACT: return minus(g, dx, dy);
    case SIGNAL_MULTIPLY:
        if (is_zero(&dy)) return times(g, dx, *y);
        if (is_zero(&dx)) return times(g, *x, dy);
        return plus(g, times(g, dx, *y), times(g, *x, dy));
    case SIGNAL_DIVIDE:
        if (is_zero(&dy)) return over(g, dx, *y);
        return over(g, minus(g, dx, times(g, *result, dy)), *y);
    case SIGNAL_POWER: {
        Computed change = computed_number(0);
        if (!is_zero(&dx)) change = times(g, aid->value, dx);
        if (!is_zero(&dy)) change = plus(g, change, times(g, times(g, *result, unary(g, SIGNAL_LN, *x)), dy));
        return change;
    }
    case SIGNAL_ATAN2: return over(g, minus(g, times(g, *y, dx), times(g, *x, dy)), plus(g, times(g, *x, *x), times(g, *y, *y)));
    case SIGNAL_LESSER:
    case SIGNAL_GREATER: return computed_choose(g->arena, &aid->value, &dx, &dy, 0);
    }
    return computed_number(0);
}

static double duration_of(const Computed *value) { return value->state == COMPUTED_SIGNAL ? signal_duration(value->signal) : 0; }

static Tangent of_binary(Gradient *g, const Step *step, const Computed *result) {
    Tangent out = {.some = true, .value = binary_change(g, step, result)};
    const Tangent *parts[2] = {tangent_of(g, step->a), tangent_of(g, step->b)};
    gather_movers(g, &out, parts, 2, duration_of(result));
    return out;
}

static Tangent of_truth(Gradient *g, const Step *step, const Computed *result) {
    Tangent out = {.some = true, .value = computed_number(0)};
    const Tangent *parts[2] = {tangent_of(g, step->a), step->kind == STEP_NOT ? &nought : tangent_of(g, step->b)};
    gather_movers(g, &out, parts, 2, duration_of(result));
    if (step->kind == STEP_COMPARE && result->state == COMPUTED_SIGNAL) {
        bool fresh;
        TangentAid *aid = aid_of(g, step, &fresh);
        if (fresh) aid->value = computed_binary(g->common, SIGNAL_SUBTRACT, value_of(g, step->a), value_of(g, step->b), 0);
        Computed difference = aid->value;
        Computed change = minus(g, parts[0]->value, parts[1]->value);
        if (difference.state == COMPUTED_SIGNAL) add_crossings(g, &out, result->signal, difference.signal, change);
    }
    return out;
}

static Tangent of_choose(const Gradient *g, const Step *step, const Computed *result) {
    const Computed *condition = value_of(g, step->a);
    if (condition->state == COMPUTED_NUMBER) return *tangent_of(g, condition->number != 0 ? step->b : step->c);
    Tangent out = {.some = true};
    const Tangent *parts[3] = {tangent_of(g, step->a), tangent_of(g, step->b), tangent_of(g, step->c)};
    out.value = computed_choose(g->arena, condition, &parts[1]->value, &parts[2]->value, 0);
    gather_movers(g, &out, parts, 3, duration_of(result));
    return out;
}

/* ---- tables ------------------------------------------------------------------------------------------------------ */

typedef struct Rows {
    const double *keys, *values;
    uint32_t count;
} Rows;

static uint32_t row_of(const Rows *rows, double key) {
    uint32_t low = 0;
    while (low + 2 < rows->count && rows->keys[low + 1] <= key) low++;
    return low;
}

static SignalVoid read_rows(void *context, double key, double *value) {
    const Rows *rows = context;
    uint32_t low = row_of(rows, key);
    double share = (key - rows->keys[low]) / (rows->keys[low + 1] - rows->keys[low]);
    *value = rows->values[low] + share * (rows->values[low + 1] - rows->values[low]);
    return VOID_NONE;
}

/* Slope of the table at the key: one constant for each row, chosen by where the key lies. */
static Computed slope_of(Arena *arena, const Rows *rows, const Computed *key) {
    Computed slope = computed_number((rows->values[1] - rows->values[0]) / (rows->keys[1] - rows->keys[0]));
    for (uint32_t i = 1; i + 1 < rows->count; i++) {
        Computed bound = computed_number(rows->keys[i]);
        Computed own = computed_number((rows->values[i + 1] - rows->values[i]) / (rows->keys[i + 1] - rows->keys[i]));
        Computed beyond = computed_compare(arena, SIGNAL_AT_LEAST, key, &bound, 0);
        slope = computed_choose(arena, &beyond, &own, &slope, 0);
    }
    return slope;
}

static Tangent of_look_up(Gradient *g, const Step *step) {
    const PlanTable *table = &g->evaluation->program->tables.at[step->b];
    const Computed *key = value_of(g, step->a);
    const Tangent *key_tangent = tangent_of(g, step->a);
    double *keys = ARENA_ARRAY(g->arena, double, table->count), *values = ARENA_ARRAY(g->arena, double, table->count);
    double *changes = ARENA_ARRAY(g->arena, double, table->count);
    bool rows_change = false;
    for (uint32_t i = 0; i < table->count; i++) {
        keys[i] = value_of(g, table->keys[i])->number;
        values[i] = value_of(g, table->values[i])->number;
        changes[i] = tangent_of(g, table->values[i])->value.number;
        rows_change = rows_change || changes[i] != 0;
    }
    Rows rows = {keys, values, table->count}, change_rows = {keys, changes, table->count};
    Tangent out = *key_tangent;
    out.some = true;
    out.value = computed_number(0);
    if (!is_zero(&key_tangent->value)) {
        bool fresh;
        TangentAid *aid = aid_of(g, step, &fresh);
        if (fresh) aid->value = slope_of(g->common, &rows, key);
        out.value = times(g, aid->value, key_tangent->value);
    }
    if (!rows_change) return out;
    double number = 0;
    Computed own = computed_number(0);
    if (key->state == COMPUTED_SIGNAL) own = computed_signal(signal_map(g->arena, key->signal, read_rows, &change_rows, keys, table->count));
    else if (read_rows(&change_rows, key->number, &number) == VOID_NONE) own = computed_number(number);
    out.value = plus(g, out.value, own);
    return out;
}

/* ---- calculus ---------------------------------------------------------------------------------------------------- */

/* Height of a jump times its movement, for each mover of x inside the cycle. */
static double swept(Signal x, const Mover *mover) { return drop_at(x, mover->time) * mover->speed; }

static Tangent of_accumulate(const Gradient *g, const Step *step) {
    const Tangent *x = tangent_of(g, step->a);
    Signal signal = value_of(g, step->a)->signal;
    double duration = signal_duration(signal);
    Tangent out = *x;
    out.value = computed_signal(signal_accumulate(g->arena, computed_as_signal(g->arena, &x->value, duration)));
    double *times_ = ARENA_ARRAY(g->arena, double, x->mover_count + 2), *sums = ARENA_ARRAY(g->arena, double, x->mover_count + 2);
    uint32_t count = 0;
    double sum = 0;
    times_[0] = 0;
    for (uint32_t i = 0; i < x->mover_count; i++) {
        const Mover *mover = &x->movers[i];
        if (mover->time <= nearness(duration) || mover->time >= duration - nearness(duration)) continue;
        sums[count++] = sum;
        times_[count] = mover->time;
        sum += swept(signal, mover);
    }
    sums[count++] = sum;
    times_[count] = duration;
    out.value = plus(g, out.value, computed_signal(signal_steps(g->arena, times_, sums, count)));
    return out;
}

typedef struct Decay {
    double start, tau, duration;
    bool after; /* of the jump */
} Decay;

static SignalVoid decay_at(void *context, double time, double *value) {
    const Decay *decay = context;
    double since = time - decay->start;
    if (!decay->after) since += decay->duration;
    *value = exp(-since / decay->tau) / -expm1(-decay->duration / decay->tau);
    return VOID_NONE;
}

/* The periodic answer of a lag to one unit jump at `start`: it decays until the jump comes again. */
static Signal decay_from(const Gradient *g, double start, double tau, double duration) {
    Signal time = signal_time(g->arena, duration);
    Decay decay = {start, tau, duration, true};
    double breaks[4] = {fmin(start + 3 * tau, duration), fmin(start + 10 * tau, duration), fmin(start + 40 * tau, duration), 0};
    Signal after = signal_map(g->arena, time, decay_at, &decay, breaks, 3);
    if (start <= nearness(duration)) return after;
    Decay earlier = {start, tau, duration, false};
    Signal before = signal_map(g->arena, time, decay_at, &earlier, NULL, 0);
    const double edges[3] = {0, start, duration}, sides[2] = {0, 1};
    return signal_choose(g->arena, signal_steps(g->arena, edges, sides, 2), after, before);
}

/* tau·ẏ + y = x, differentiated: a lag of ∂x − (∂tau)·ẏ, and one decay for each jump of x that moves and for the end of the
 * cycle. The value after a moving break takes over what the slopes on both sides make of its movement. */
static Tangent of_lag(const Gradient *g, const Step *step, const Computed *result) {
    const Tangent *x = tangent_of(g, step->a), *tau_tangent = tangent_of(g, step->b);
    double tau = value_of(g, step->b)->number;
    Tangent out = *x;
    out.some = true;
    if (result->state != COMPUTED_SIGNAL) return out;
    Signal y = result->signal, drive = value_of(g, step->a)->signal;
    double duration = signal_duration(y);
    Computed forcing = x->value;
    if (tau_tangent->value.number != 0) {
        Computed slope = scaled(g, minus(g, *value_of(g, step->a), *result), 1 / tau);
        forcing = minus(g, forcing, scaled(g, slope, tau_tangent->value.number));
    }
    Signal answer = signal_lag(g->arena, computed_as_signal(g->arena, &forcing, duration), tau);
    out.value = computed_signal(answer);
    for (uint32_t i = 0; i < x->mover_count; i++) {
        const Mover *mover = &x->movers[i];
        bool end = mover->time >= duration - nearness(duration);
        double jump = end ? (one_sided(drive, duration, true) - one_sided(y, duration, true)) / tau * mover->speed : swept(drive, mover) / tau;
        if (jump == 0) continue;
        Signal decay = decay_from(g, end ? 0 : mover->time, tau, duration);
        out.value = plus(g, out.value, computed_signal(signal_scale(g->arena, decay, jump, 0)));
    }
    return out;
}

/* ---- from a signal to a number ----------------------------------------------------------------------------------- */

/* Derivative of the integral of x (or of its square), where the integrand's own tangent is `change`: the integral of that, what
 * moving jumps sweep over, and what the end takes in. */
static double integral_change(const Gradient *g, Signal x, const Computed *change, const Tangent *movers, bool squared) {
    double duration = signal_duration(x);
    Extreme own = signal_integral(computed_as_signal(g->arena, change, duration));
    double sum = own.fault == VOID_NONE ? own.value : 0;
    for (uint32_t i = 0; i < movers->mover_count; i++) {
        const Mover *mover = &movers->movers[i];
        if (mover->time <= nearness(duration)) continue;
        double before = one_sided(x, mover->time, true), after = 0;
        if (mover->time < duration - nearness(duration)) after = one_sided(x, mover->time, false);
        sum += (squared ? before * before - after * after : before - after) * mover->speed;
    }
    return sum;
}

/* Tangent of x where it has its extreme value; at a break the instant moves too. */
static double change_at_extreme(const Gradient *g, Signal x, const Tangent *tangent, Extreme extreme) {
    double duration = signal_duration(x), near = nearness(duration);
    const Piece *piece = &x.pieces[extreme.piece];
    bool at_start = extreme.time <= piece->start + near, at_end = extreme.time >= piece->end - near;
    Signal change = computed_as_signal(g->arena, &tangent->value, duration);
    double total = one_sided(change, extreme.time, at_end && !at_start);
    for (uint32_t i = 0; i < tangent->mover_count; i++) {
        const Mover *mover = &tangent->movers[i];
        if (fabs(mover->time - extreme.time) > near || (!at_start && !at_end)) continue;
        total += rate_beside(g, x, extreme.time, at_end && !at_start) * mover->speed;
        break;
    }
    return total;
}

static bool is_extreme(const Step *step) {
    return step->kind == STEP_REDUCE && (step->aux == REDUCE_PEAK || step->aux == REDUCE_MAXIMUM || step->aux == REDUCE_MINIMUM);
}

/* Of the operand of an extreme value, only the instant of the extreme is wanted. */
static double extreme_change(Gradient *g, const Step *step, Signal x, Extreme extreme) {
    const Piece *piece = &x.pieces[extreme.piece];
    double near = nearness(signal_duration(x));
    if (extreme.time > piece->start + near && extreme.time < piece->end - near) return change_inside(g, step->a, 0, extreme.time);
    catch_up(g, step->a, 0);
    return change_at_extreme(g, x, tangent_of(g, step->a), extreme);
}

/* The value whose derivative is asked for, where that is needed. */
static Extreme of_whole(Reduction reduction, Signal x) {
    switch (reduction) {
    case REDUCE_MAXIMUM: return signal_maximum(x);
    case REDUCE_MINIMUM: return signal_minimum(x);
    case REDUCE_PEAK: return signal_peak(x);
    case REDUCE_SHARE:
    case REDUCE_MEAN: return signal_mean(x);
    case REDUCE_RMS: return signal_rms(x);
    case REDUCE_INTEGRAL:
    case REDUCE_DURATION: break;
    }
    return (Extreme){0};
}

static double reduce_change(Gradient *g, const Step *step, const Tangent *x_tangent) {
    const Computed *value = value_of(g, step->a);
    double number = value->number, change = x_tangent->value.number;
    if (value->state != COMPUTED_SIGNAL) {
        bool magnitude = step->aux == REDUCE_PEAK || step->aux == REDUCE_RMS;
        return magnitude && number < 0 ? -change : change;
    }
    Signal x = value->signal;
    double duration = signal_duration(x);
    bool fresh;
    TangentAid *aid = aid_of(g, step, &fresh);
    if (fresh) aid->extreme = of_whole((Reduction)step->aux, x);
    Extreme extreme = aid->extreme;
    switch ((Reduction)step->aux) {
    case REDUCE_MAXIMUM:
    case REDUCE_MINIMUM:
        return extreme.fault == VOID_NONE ? extreme_change(g, step, x, extreme) : 0;
    case REDUCE_PEAK: {
        if (extreme.fault != VOID_NONE) return 0;
        const Piece *piece = &x.pieces[extreme.piece];
        double sign = piece_at(piece, fmin(fmax(extreme.time, piece->start), piece->end)) < 0 ? -1 : 1;
        return sign * extreme_change(g, step, x, extreme);
    }
    case REDUCE_INTEGRAL: return integral_change(g, x, &x_tangent->value, x_tangent, false);
    case REDUCE_SHARE:
    case REDUCE_MEAN:
        if (extreme.fault != VOID_NONE) return 0;
        return (integral_change(g, x, &x_tangent->value, x_tangent, false) - extreme.value * speed_of_end(x_tangent, duration)) / duration;
    case REDUCE_RMS: {
        if (extreme.fault != VOID_NONE || extreme.value == 0) return 0;
        Computed twice = scaled(g, times(g, *value, x_tangent->value), 2);
        return (integral_change(g, x, &twice, x_tangent, true) - extreme.value * extreme.value * speed_of_end(x_tangent, duration)) / (2 * extreme.value * duration);
    }
    case REDUCE_DURATION: return speed_of_end(x_tangent, duration);
    }
    return 0;
}

static double at_change(const Gradient *g, const Step *step) {
    const Tangent *x_tangent = tangent_of(g, step->a), *instant = tangent_of(g, step->b);
    const Computed *x = value_of(g, step->a);
    if (x->state != COMPUTED_SIGNAL) return x_tangent->value.number;
    double time = value_of(g, step->b)->number, duration = signal_duration(x->signal);
    Extreme change = signal_at(computed_as_signal(g->arena, &x_tangent->value, duration), time);
    Extreme slope = signal_at(signal_rate(g->arena, x->signal), time);
    return (change.fault == VOID_NONE ? change.value : 0) + (slope.fault == VOID_NONE ? slope.value * instant->value.number : 0);
}

/* ---- motion ------------------------------------------------------------------------------------------------------ */

static Tangent of_cycle(const Gradient *g, const Step *step, const Computed *result) {
    const PlanCycle *cycle = &g->evaluation->program->cycles.at[step->a];
    uint32_t count = cycle->segments.count, used = 0, mover_room = count;
    if (cycle->profile != NULL || result->state != COMPUTED_SIGNAL) return nought;
    Signal *parts = ARENA_ARRAY(g->arena, Signal, count);
    double *ones = ARENA_ARRAY(g->arena, double, count), *noughts = ARENA_ARRAY(g->arena, double, count), *length = ARENA_ARRAY(g->arena, double, count);
    for (uint32_t i = 0; i < count; i++) {
        if (cycle->segments.at[i].shape[0]) mover_room += tangent_of(g, cycle->segments.at[i].shape[step->aux])->mover_count;
    }
    Mover *movers = ARENA_ARRAY(g->arena, Mover, mover_room);
    double start = 0, start_speed = 0, offset_change = 0;
    unsigned order = step->aux;
    for (uint32_t i = 0; i < count; i++) {
        const PlanSegment *segment = &cycle->segments.at[i];
        double l = value_of(g, segment->length)->number, dl = tangent_of(g, segment->length)->value.number;
        double d = value_of(g, segment->displacement)->number, dd = tangent_of(g, segment->displacement)->value.number;
        Computed change = computed_number(order == 0 ? offset_change : 0);
        length[i] = l;
        ones[i] = 1;
        if (segment->shape[0] != 0) {
            const Computed *shape = value_of(g, segment->shape[order]);
            const Tangent *shape_tangent = tangent_of(g, segment->shape[order]);
            Signal s = computed_as_signal(g->arena, shape, 1);
            double size = d / pow(l, order), size_change = dd / pow(l, order) - order * size * dl / l;
            /* Normalised time at a fixed instant: −(start speed + t · dl) / l. */
            Computed drift = computed_signal(signal_scale(g->arena, signal_time(g->arena, 1), -dl / l, -start_speed / l));
            Computed moved = times(g, computed_signal(signal_rate(g->arena, s)), drift);
            change = plus(g, change, scaled(g, computed_signal(s), size_change));
            change = plus(g, change, scaled(g, shape_tangent->value, size));
            change = plus(g, change, scaled(g, moved, size));
            for (uint32_t k = 0; k < shape_tangent->mover_count; k++) {
                const Mover *mover = &shape_tangent->movers[k];
                if (mover->time <= 1e-11 || mover->time >= 1 - 1e-11) continue;
                movers[used++] = (Mover){start + mover->time * l, start_speed + mover->time * dl + mover->speed * l};
            }
        }
        parts[i] = computed_as_signal(g->arena, &change, 1);
        start += l;
        start_speed += dl;
        offset_change += dd;
        movers[used++] = (Mover){start, start_speed};
    }
    Tangent out = {.some = true, .movers = movers, .mover_count = used};
    out.value = computed_signal(signal_chain(g->arena, parts, ones, noughts, length, count));
    return out;
}

/* Breaks inside a segment's shape move with the segment even when the shape itself does not change. */
static Tangent with_inner_breaks(const Gradient *g, const Step *step, Tangent tangent) {
    const PlanCycle *cycle = &g->evaluation->program->cycles.at[step->a];
    if (!tangent.some) return tangent;
    uint32_t room = tangent.mover_count;
    for (uint32_t i = 0; i < cycle->segments.count; i++) {
        StepId shape = cycle->segments.at[i].shape[0] ? cycle->segments.at[i].shape[step->aux] : 0;
        if (shape && value_of(g, shape)->state == COMPUTED_SIGNAL) room += value_of(g, shape)->signal.count;
    }
    Mover *movers = ARENA_ARRAY(g->arena, Mover, room);
    uint32_t used = 0, known = 0;
    double start = 0, start_speed = 0;
    for (uint32_t i = 0; i < cycle->segments.count; i++) {
        const PlanSegment *segment = &cycle->segments.at[i];
        double l = value_of(g, segment->length)->number, dl = tangent_of(g, segment->length)->value.number;
        StepId shape = segment->shape[0] ? segment->shape[step->aux] : 0;
        uint32_t pieces = shape && value_of(g, shape)->state == COMPUTED_SIGNAL ? value_of(g, shape)->signal.count : 0;
        for (uint32_t k = 1; k < pieces; k++) {
            double u = value_of(g, shape)->signal.pieces[k].start, time = start + u * l;
            while (known < tangent.mover_count && tangent.movers[known].time < time - 1e-11) movers[used++] = tangent.movers[known++];
            if (known < tangent.mover_count && fabs(tangent.movers[known].time - time) <= 1e-11) continue;
            movers[used++] = (Mover){time, start_speed + u * dl};
        }
        start += l;
        start_speed += dl;
    }
    while (known < tangent.mover_count) movers[used++] = tangent.movers[known++];
    tangent.movers = movers;
    tangent.mover_count = used;
    return tangent;
}

static Tangent of_cycle_steps(const Gradient *g, const Step *step, const Computed *result) {
    bool input = step->kind == STEP_CYCLE_INPUT;
    uint32_t index = input ? g->evaluation->program->inputs.at[step->b].cycle : step->a;
    const PlanCycle *cycle = &g->evaluation->program->cycles.at[index];
    uint32_t count = cycle->segments.count;
    if (cycle->profile != NULL || result->state != COMPUTED_SIGNAL) return nought;
    Mover *movers = ARENA_ARRAY(g->arena, Mover, count);
    double *edges = ARENA_ARRAY(g->arena, double, count + 1), *changes = ARENA_ARRAY(g->arena, double, count);
    double speed = 0;
    for (uint32_t i = 0; i < count; i++) {
        edges[i + 1] = edges[i] + value_of(g, cycle->segments.at[i].length)->number;
        speed += tangent_of(g, cycle->segments.at[i].length)->value.number;
        movers[i] = (Mover){edges[i + 1], speed};
        StepId own = input ? g->evaluation->program->inputs.at[step->b].steps[i] : 0;
        if (input) changes[i] = tangent_of(g, own ? own : step->a)->value.number;
    }
    Tangent out = {.some = true, .movers = movers, .mover_count = count, .value = computed_number(0)};
    if (input) out.value = computed_signal(signal_steps(g->arena, edges, changes, count));
    return out;
}

/* ---- all steps --------------------------------------------------------------------------------------------------- */

static void run_tangent(Gradient *g, StepId id);

/* Where the steps from `from` on begin in the cone. */
static uint32_t place_in_cone(const Gradient *g, StepId from) {
    uint32_t low = 0, high = g->count;
    while (low < high) {
        uint32_t middle = low + (high - low) / 2;
        if (g->cone[middle] < from) low = middle + 1;
        else high = middle;
    }
    return low;
}

/* The next step of a loop that is in the cone too, or 0. `at`: how far in both. */
typedef struct LoopWalk {
    uint32_t in_loop, in_cone;
} LoopWalk;

static StepId next_of_loop(const Gradient *g, StepId settle, LoopWalk *at) {
    const Loop *loop = &g->loops[settle];
    if (at->in_loop == 0 && loop->count > 0) at->in_cone = place_in_cone(g, loop->steps[0]);
    while (at->in_loop < loop->count) {
        StepId id = loop->steps[at->in_loop++];
        while (at->in_cone < g->count && g->cone[at->in_cone] < id) at->in_cone++;
        if (at->in_cone < g->count && g->cone[at->in_cone] == id) return id;
    }
    return 0;
}

/* y = f(y, input): dy = (∂f/∂input) / (1 − ∂f/∂y). The loop's tangents are had with dy = 0 and dy = 1, then with dy itself. */
static Tangent of_settle(Gradient *g, StepId id, const Step *step) {
    double results[2] = {0, 0}, change = 0;
    g->depends[step->a] = true;
    for (int pass = 0; pass < 3; pass++) {
        if (pass == 2) {
            double slope = results[1] - results[0];
            change = slope < 1 ? results[0] / (1 - slope) : 0;
        }
        g->tangents[step->a] = (Tangent){.some = true, .value = computed_number(pass == 2 ? change : pass)};
        LoopWalk at = {0, 0};
        for (StepId s; (s = next_of_loop(g, id, &at)) != 0;) run_tangent(g, s);
        if (pass < 2) results[pass] = tangent_of(g, step->b)->value.number;
    }
    return (Tangent){.some = true, .value = computed_number(change)};
}

static bool step_depends(const Gradient *g, const Step *step) {
    const Program *program = g->evaluation->program;
    unsigned operands = step_operands((StepKind)step->kind);
    if ((operands > 0 && g->depends[step->a]) || (operands > 1 && g->depends[step->b]) || (operands > 2 && g->depends[step->c])) return true;
    if (step->kind == STEP_LOOK_UP) {
        const PlanTable *table = &program->tables.at[step->b];
        for (uint32_t i = 0; i < table->count; i++) {
            if (g->depends[table->values[i]]) return true;
        }
    }
    if (step->kind != STEP_CYCLE && step->kind != STEP_CYCLE_TIME && step->kind != STEP_CYCLE_INPUT) return false;
    uint32_t index = step->kind == STEP_CYCLE_INPUT ? program->inputs.at[step->b].cycle : step->a;
    const PlanCycle *cycle = &program->cycles.at[index];
    for (uint32_t i = 0; cycle->profile == NULL && i < cycle->segments.count; i++) {
        const PlanSegment *segment = &cycle->segments.at[i];
        if (g->depends[segment->length]) return true;
        if (step->kind == STEP_CYCLE && (g->depends[segment->displacement] || g->depends[segment->shape[step->aux]])) return true;
        if (step->kind == STEP_CYCLE_INPUT && g->depends[program->inputs.at[step->b].steps[i]]) return true;
    }
    return false;
}

/* A loop is differentiated as a whole when anything of it rests on the input. */
static bool loop_depends(const Gradient *g, StepId settle) {
    const Step *steps = g->evaluation->program->steps.at;
    LoopWalk at = {0, 0};
    if (g->depends[steps[settle].a]) return true;
    for (StepId s; (s = next_of_loop(g, settle, &at)) != 0;) {
        if (g->depends[s] || step_depends(g, &steps[s])) return true;
    }
    return false;
}

static Tangent tangent_for(Gradient *g, StepId id, const Step *step, const Computed *result) {
    Tangent out = {.some = true};
    switch ((StepKind)step->kind) {
    case STEP_UNARY: return of_unary(g, step, result);
    case STEP_BINARY: return of_binary(g, step, result);
    case STEP_COMPARE:
    case STEP_AND:
    case STEP_OR:
    case STEP_NOT: return of_truth(g, step, result);
    case STEP_CHOOSE: return of_choose(g, step, result);
    case STEP_LOOK_UP: return of_look_up(g, step);
    case STEP_NEEDS:
    case STEP_GUESS: return *tangent_of(g, step->a);
    case STEP_LAG: return of_lag(g, step, result);
    case STEP_ACCUMULATE: return of_accumulate(g, step);
    case STEP_RATE:
        out = *tangent_of(g, step->a);
        if (out.value.state == COMPUTED_SIGNAL) out.value = computed_signal(signal_rate(g->arena, out.value.signal));
        else out.value = computed_number(0);
        return out;
    case STEP_REDUCE:
        out.value = computed_number(reduce_change(g, step, tangent_of(g, step->a)));
        return out;
    case STEP_AT:
        out.value = computed_number(at_change(g, step));
        return out;
    case STEP_CYCLE: return with_inner_breaks(g, step, of_cycle(g, step, result));
    case STEP_CYCLE_TIME:
    case STEP_CYCLE_INPUT: return of_cycle_steps(g, step, result);
    case STEP_SETTLE: return of_settle(g, id, step);
    default: return nought;
    }
}

static bool is_instant(StepKind kind) {
    switch (kind) {
    case STEP_UNARY:
    case STEP_BINARY:
    case STEP_COMPARE:
    case STEP_AND:
    case STEP_OR:
    case STEP_NOT:
    case STEP_CHOOSE:
    case STEP_LOOK_UP:
    case STEP_NEEDS: return true;
    default: return false;
    }
}

static const Mover *copy_movers(Arena *arena, const Tangent *tangent) {
    if (tangent->mover_count == 0) return NULL;
    Mover *movers = arena_take_raw(arena, tangent->mover_count * sizeof *movers);
    memcpy(movers, tangent->movers, tangent->mover_count * sizeof *movers);
    return movers;
}

static Tangent copy_tangent(Arena *arena, const Tangent *tangent) {
    Tangent copy = *tangent;
    copy.value.signal = signal_copy(arena, tangent->value.signal);
    copy.movers = copy_movers(arena, tangent);
    return copy;
}

static Tangent found_tangent(Gradient *g, StepId id) {
    const Computed *result = value_of(g, id);
    Tangent tangent = tangent_for(g, id, &g->evaluation->program->steps.at[id], result);
    if (computed_is_absent(&tangent.value)) tangent.value = computed_number(0);
    if (tangent.value.state == COMPUTED_SIGNAL && result->state == COMPUTED_NUMBER) tangent.value = computed_number(0);
    return tangent;
}

static void work_out(Gradient *g, StepId id) {
    const Recall *recall = g->evaluation->recall;
    KnownTangents *before = &g->before;
    if (before->arena == NULL || recall == NULL || !recall->worth[id]) {
        g->tangents[id] = found_tangent(g, id);
        return;
    }
    uint64_t key = recall_key(recall, id, g->input);
    uint32_t index = map_get(&before->known, key, UINT32_MAX);
    if (index == UINT32_MAX) {
        g->tangents[id] = found_tangent(g, id);
        map_set(&before->known, key, before->kept.count);
        VECTOR_PUSH(before->arena, &before->kept, copy_tangent(before->arena, &g->tangents[id]));
    } else g->tangents[id] = before->kept.at[index];
}

static void run_tangent(Gradient *g, StepId id) {
    const Step *step = &g->evaluation->program->steps.at[id];
    if (step->kind == STEP_SETTLE ? !loop_depends(g, id) : !step_depends(g, step)) return;
    const Computed *result = value_of(g, id);
    g->depends[id] = true;
    if (computed_is_absent(result)) g->tangents[id] = nought;
    else if (result->state == COMPUTED_SIGNAL && is_instant((StepKind)step->kind) && !g->whole[id]) g->tangents[id] = (Tangent){.some = true, .later = true};
    else work_out(g, id);
}

/* ---- what is wanted of a signal ---------------------------------------------------------------------------------- */

static void want_cycle(const Program *program, const Step *step, bool *whole) {
    const PlanInput *input = step->kind == STEP_CYCLE_INPUT ? &program->inputs.at[step->b] : NULL;
    const PlanCycle *cycle = &program->cycles.at[input ? input->cycle : step->a];
    for (uint32_t i = 0; cycle->profile == NULL && i < cycle->segments.count; i++) {
        const PlanSegment *segment = &cycle->segments.at[i];
        whole[segment->length] = whole[segment->displacement] = true;
        if (step->kind == STEP_CYCLE) whole[segment->shape[step->aux]] = true;
        if (input && input->steps) whole[input->steps[i]] = true;
    }
}

/* Steps of which something wants the whole course: a reduction, a lag, a cycle. Of all others only one instant is ever asked
 * for, where a condition is tightest, and there they are differentiated as numbers. */
static bool *find_whole(Arena *arena, const Program *program) {
    bool *whole = ARENA_ARRAY(arena, bool, program->steps.count);
    for (StepId id = program->steps.count; id-- > 1;) {
        const Step *step = &program->steps.at[id];
        unsigned operands = step_operands((StepKind)step->kind);
        if ((is_instant((StepKind)step->kind) && !whole[id]) || is_extreme(step)) continue;
        if (operands > 0) whole[step->a] = true;
        if (operands > 1) whole[step->b] = true;
        if (operands > 2) whole[step->c] = true;
        if (step->kind == STEP_CYCLE || step->kind == STEP_CYCLE_TIME || step->kind == STEP_CYCLE_INPUT) want_cycle(program, step, whole);
    }
    return whole;
}

/* ---- one instant ------------------------------------------------------------------------------------------------- */

typedef struct Instant {
    Gradient *g;
    double time;
    bool all;       /* follow every operand, not only what counts at that instant */
    VECTOR(StepId) steps;
} Instant;

static double at_instant(const Instant *instant, const Computed *value) {
    if (value->state == COMPUTED_NUMBER) return value->number;
    return value->state == COMPUTED_SIGNAL ? one_sided(value->signal, instant->time, false) : 0;
}

static void follow(Instant *instant, StepId id) {
    Gradient *g = instant->g;
    if (id == 0 || !g->depends[id] || !g->tangents[id].later || g->seen[id] == g->searches) return;
    g->seen[id] = g->searches;
    VECTOR_PUSH(g->arena, &instant->steps, id);
}

static int by_id(const void *a, const void *b) {
    StepId x = *(const StepId *)a, y = *(const StepId *)b;
    return x < y ? -1 : x > y;
}

/* All that was put off under two steps, rising. */
static void gather_later(Instant *instant, StepId x, StepId y) {
    Gradient *g = instant->g;
    g->searches++;
    follow(instant, x);
    follow(instant, y);
    for (uint32_t i = 0; i < instant->steps.count; i++) {
        const Step *step = &g->evaluation->program->steps.at[instant->steps.at[i]];
        unsigned operands = step_operands((StepKind)step->kind);
        if (step->kind == STEP_CHOOSE && !instant->all) {
            follow(instant, at_instant(instant, value_of(g, step->a)) != 0 ? step->b : step->c);
            continue;
        }
        if (operands > 0) follow(instant, step->a);
        if (operands > 1) follow(instant, step->b);
        if (operands > 2) follow(instant, step->c);
    }
    if (instant->steps.count > 1) qsort(instant->steps.at, instant->steps.count, sizeof *instant->steps.at, by_id);
}

static double point_tangent(const Instant *instant, StepId id) {
    const Gradient *g = instant->g;
    if (id == 0 || !g->depends[id]) return 0;
    return g->tangents[id].later ? g->points[id] : at_instant(instant, &g->tangents[id].value);
}

static double point_of_look_up(const Instant *instant, const Step *step, double key) {
    const Gradient *g = instant->g;
    const PlanTable *table = &g->evaluation->program->tables.at[step->b];
    uint32_t low = 0;
    while (low + 2 < table->count && value_of(g, table->keys[low + 1])->number <= key) low++;
    double first = value_of(g, table->keys[low])->number, width = value_of(g, table->keys[low + 1])->number - first, share = (key - first) / width;
    double rise = value_of(g, table->values[low + 1])->number - value_of(g, table->values[low])->number;
    double changes[2] = {tangent_of(g, table->values[low])->value.number, tangent_of(g, table->values[low + 1])->value.number};
    return rise / width * point_tangent(instant, step->a) + changes[0] + share * (changes[1] - changes[0]);
}

static double point_of_unary(const Step *step, double x, double result, double dx) {
    switch ((SignalUnary)step->aux) {
    case SIGNAL_NEGATE: return -dx;
    case SIGNAL_ABS: return x < 0 ? -dx : x > 0 ? dx : 0;
    case SIGNAL_SQRT: return 0.5 * dx / result;
    case SIGNAL_CBRT: return dx / (3 * result * result);
    case SIGNAL_EXP: return result * dx;
    case SIGNAL_LN: return dx / x;
    case SIGNAL_SIN: return cos(x) * dx;
    case SIGNAL_COS: return -sin(x) * dx;
    case SIGNAL_TAN: return (1 + result * result) * dx;
    case SIGNAL_ASIN: return dx / sqrt(1 - x * x);
    case SIGNAL_ACOS: return -dx / sqrt(1 - x * x);
    case SIGNAL_ATAN: return dx / (1 + x * x);
    case SIGNAL_SIGN:
    case SIGNAL_FLOOR:
    case SIGNAL_ROUND:
    case SIGNAL_CEILING: break;
    }
    return 0;
}

static double point_of_binary(const Step *step, double x, double y, double result, double dx, double dy) {
    switch ((SignalBinary)step->aux) {
    case SIGNAL_ADD: return dx + dy;
    case SIGNAL_SUBTRACT: return dx - dy;
    case SIGNAL_MULTIPLY: return dx * y + x * dy;
    case SIGNAL_DIVIDE: return (dx - result * dy) / y;
    case SIGNAL_POWER: return (dx != 0 ? y * pow(x, y - 1) * dx : 0) + (dy != 0 ? result * log(x) * dy : 0);
    case SIGNAL_ATAN2: return (y * dx - x * dy) / (x * x + y * y);
    case SIGNAL_LESSER: return x <= y ? dx : dy;
    case SIGNAL_GREATER: return x >= y ? dx : dy;
    }
    return 0;
}

static double point_of(const Instant *instant, StepId id) {
    const Gradient *g = instant->g;
    const Step *step = &g->evaluation->program->steps.at[id];
    unsigned operands = step_operands((StepKind)step->kind);
    double a = operands > 0 ? at_instant(instant, value_of(g, step->a)) : 0, result = at_instant(instant, value_of(g, id));
    switch ((StepKind)step->kind) {
    case STEP_UNARY: return point_of_unary(step, a, result, point_tangent(instant, step->a));
    case STEP_BINARY: return point_of_binary(step, a, at_instant(instant, value_of(g, step->b)), result, point_tangent(instant, step->a), point_tangent(instant, step->b));
    case STEP_CHOOSE: return point_tangent(instant, a != 0 ? step->b : step->c);
    case STEP_LOOK_UP: return point_of_look_up(instant, step, a);
    case STEP_NEEDS: return point_tangent(instant, step->a);
    default: return 0; /* truths stand still between their changes */
    }
}

/* The derivative of x − y at an instant inside a piece of it. */
static double change_inside(Gradient *g, StepId x, StepId y, double time) {
    Instant instant = {.g = g, .time = time};
    gather_later(&instant, x, y);
    for (uint32_t i = 0; i < instant.steps.count; i++) {
        double change = point_of(&instant, instant.steps.at[i]);
        g->points[instant.steps.at[i]] = isfinite(change) ? change : 0;
    }
    return point_tangent(&instant, x) - point_tangent(&instant, y);
}

/* Works out what was put off under x and y: at a break, how it moves counts too. */
static void catch_up(Gradient *g, StepId x, StepId y) {
    Instant instant = {.g = g, .all = true};
    gather_later(&instant, x, y);
    for (uint32_t i = 0; i < instant.steps.count; i++) work_out(g, instant.steps.at[i]);
}

/* ---- runs -------------------------------------------------------------------------------------------------------- */

void gradient_begin(Gradient *g, Arena *common) {
    g->common = common;
    g->moment++;
}

static const Loop *find_loops(Arena *arena, const Program *program) {
    Loop *loops = ARENA_ARRAY(arena, Loop, program->steps.count);
    for (StepId id = 1; id < program->steps.count; id++) {
        if (program->steps.at[id].kind == STEP_SETTLE) loops[id] = loop_of(arena, program, id);
    }
    return loops;
}

Gradient *gradient_open(Arena *arena, const Program *program) {
    Gradient *g = ARENA_NEW(arena, Gradient);
    g->loops = find_loops(arena, program);
    g->tangents = ARENA_ARRAY(arena, Tangent, program->steps.count);
    g->depends = ARENA_ARRAY(arena, bool, program->steps.count);
    g->whole = find_whole(arena, program);
    g->points = ARENA_ARRAY(arena, double, program->steps.count);
    g->seen = ARENA_ARRAY(arena, uint32_t, program->steps.count);
    g->aids = ARENA_ARRAY(arena, TangentAid, program->steps.count);
    gradient_begin(g, arena);
    return g;
}

void gradient_recall(Gradient *g, Arena *tangents) {
    arena_clear(tangents);
    g->before = (KnownTangents){.arena = tangents, .known = map_open(tangents)};
}

KeptGradient gradient_keep(const Gradient *g, Arena *arena) {
    uint32_t count = 0;
    for (uint32_t i = 0; i < g->count; i++) count += g->depends[g->cone[i]];
    StepId *steps = ARENA_ARRAY(arena, StepId, count);
    Tangent *tangents = ARENA_ARRAY(arena, Tangent, count);
    count = 0;
    for (uint32_t i = 0; i < g->count; i++) {
        StepId id = g->cone[i];
        if (!g->depends[id]) continue;
        steps[count] = id;
        tangents[count++] = copy_tangent(arena, &g->tangents[id]);
    }
    return (KeptGradient){steps, tangents, count};
}

void gradient_load(Gradient *g, Arena *scratch, const Evaluation *evaluation, const KeptGradient *kept, const uint8_t *in_cone) {
    gradient_release(g);
    StepId *steps = ARENA_ARRAY(scratch, StepId, kept->count);
    uint32_t used = 0;
    for (uint32_t i = 0; i < kept->count; i++) {
        StepId id = kept->steps[i];
        if (!in_cone[id]) continue;
        steps[used++] = id;
        g->depends[id] = true;
        g->tangents[id] = kept->tangents[i];
    }
    g->arena = scratch;
    g->evaluation = evaluation;
    g->cone = steps;
    g->count = used;
}

void gradient_release(Gradient *g) {
    for (uint32_t i = 0; i < g->count; i++) g->depends[g->cone[i]] = false;
    g->cone = NULL;
    g->count = 0;
}

void gradient_run(Gradient *g, Arena *scratch, const Evaluation *evaluation, const StepId *cone, uint32_t count, StepId input, double scale) {
    gradient_release(g);
    if (g->before.arena != NULL && arena_used(g->before.arena) > KNOWN_TANGENTS) gradient_recall(g, g->before.arena);
    g->arena = scratch;
    g->evaluation = evaluation;
    g->cone = cone;
    g->count = count;
    g->input = input;
    g->depends[input] = true;
    g->tangents[input] = (Tangent){.some = true, .value = computed_number(scale)};
    for (uint32_t i = 0; i < count; i++) {
        if (cone[i] != input) run_tangent(g, cone[i]);
    }
}

double gradient_number(const Gradient *gradient, StepId step) {
    const Tangent *tangent = tangent_of(gradient, step);
    return tangent->value.state == COMPUTED_NUMBER ? tangent->value.number : 0;
}

double gradient_at(Gradient *g, StepId x, StepId y, Signal difference, Extreme minimum) {
    double near = nearness(signal_duration(difference));
    const Piece *piece = difference.count > 0 ? &difference.pieces[minimum.piece] : NULL;
    if (!tangent_of(g, x)->some && !tangent_of(g, y)->some) return 0;
    if (piece != NULL && minimum.time > piece->start + near && minimum.time < piece->end - near) return change_inside(g, x, y, minimum.time);
    catch_up(g, x, y);
    const Tangent *parts[2] = {tangent_of(g, x), tangent_of(g, y)};
    Tangent change = {.some = true, .value = minus(g, parts[0]->value, parts[1]->value)};
    if (difference.count == 0) return change.value.state == COMPUTED_NUMBER ? change.value.number : 0;
    gather_movers(g, &change, parts, 2, signal_duration(difference));
    return change_at_extreme(g, difference, &change, minimum);
}
