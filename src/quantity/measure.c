#include "quantity/vocabulary.h"

Measure measure_number(void) { return (Measure){.kind = 0}; }

Measure measure_of_kind(const Vocabulary *vocabulary, KindId id) {
    const Kind *kind = kind_of(vocabulary, id);
    return (Measure){.dimension = kind->dimension, .kind = id, .point = kind->point};
}

Measure measure_of_unit(const Vocabulary *vocabulary, UnitId id) {
    const Unit *unit = unit_of(vocabulary, id);
    return (Measure){.dimension = unit->dimension,
                     .kind = unit->kind,
                     .point = unit->is_point,
                     .has_length = unit->has_length,
                     .written = true};
}

/* ---- does it fit ---- */

static bool has_lever(Dimension dimension) { return dimension.sixths[DIMENSION_LENGTH] != 0; }

/* The value differs from the kind by a power of angle only. */
static Fit fits_but_angle(const Vocabulary *v, Measure value, const Kind *kind, KindId id) {
    if (!kind_takes(v, kind, value.dimension)) return FIT_ANGLE;
    if (value.kind == id) return FIT_YES; /* a unit declared to be of this kind */
    if (value.written ? value.has_length : value.kind == 0) return FIT_YES;
    /* J for a torque is another kind; Hz for a speed, where no lever arm can tell, is a forgotten angle. */
    return has_lever(kind->dimension) ? FIT_OTHER_KIND : FIT_ANGLE;
}

Fit measure_fits(const Vocabulary *vocabulary, Measure value, KindId id) {
    const Kind *kind = kind_of(vocabulary, id);
    if (dimension_equal(value.dimension, kind->dimension)) {
        if (value.point == kind->point) return FIT_YES;
        return kind->point ? FIT_DIFFERENCE : FIT_POINT;
    }
    if (!dimension_equal_but_angle(value.dimension, kind->dimension)) return FIT_DIMENSION;
    return fits_but_angle(vocabulary, value, kind, id);
}

/* ---- two that meet ---- */

static Fit meet_points(Operator operation, Measure a, Measure b, Measure *out) {
    *out = (Measure){.dimension = a.dimension};
    if (a.point && b.point) {
        if (operation == OPERATOR_PLUS) return FIT_POINT;
        if (operation == OPERATOR_MINUS) return FIT_YES; /* a difference */
        out->kind = a.kind ? a.kind : b.kind;
        out->point = true;
        return FIT_YES;
    }
    if (operation == OPERATOR_MINUS && b.point) return FIT_POINT;
    if (operation != OPERATOR_PLUS && operation != OPERATOR_MINUS) return FIT_DIFFERENCE;
    out->kind = a.point ? a.kind : b.kind;
    out->point = true;
    return FIT_YES;
}

/* A kind with the exact dimension of `exact` that takes `other`: the kind of `exact` itself, else any. */
static KindId reconciler(const Vocabulary *v, Measure exact, Measure other, Fit *best) {
    if (exact.kind && dimension_equal(kind_of(v, exact.kind)->dimension, exact.dimension)) {
        Fit fit = measure_fits(v, other, exact.kind);
        if (fit == FIT_YES) return exact.kind;
        if (fit == FIT_OTHER_KIND) *best = fit;
    }
    for (KindId id = 1; id < v->kinds.count; id++) {
        if (!dimension_equal(v->kinds.at[id]->kind.dimension, exact.dimension)) continue;
        Fit fit = measure_fits(v, other, id);
        if (fit == FIT_YES) return id;
        if (fit == FIT_OTHER_KIND) *best = fit;
    }
    return 0;
}

Fit measure_meet(const Vocabulary *vocabulary, Operator operation, Measure a, Measure b, Measure *out) {
    *out = a;
    if (!dimension_equal_but_angle(a.dimension, b.dimension)) return FIT_DIMENSION;
    if (dimension_equal(a.dimension, b.dimension)) {
        if (a.point || b.point) return meet_points(operation, a, b, out);
        *out = (Measure){.dimension = a.dimension, .kind = a.kind ? a.kind : b.kind};
        return FIT_YES;
    }
    Fit fit = FIT_ANGLE;
    KindId common = reconciler(vocabulary, a, b, &fit);
    if (!common) common = reconciler(vocabulary, b, a, &fit);
    if (!common) return fit;
    *out = measure_of_kind(vocabulary, common);
    return FIT_YES;
}

/* ---- products ---- */

/* The kind lives through a factor that is a number: twice a torque is a torque. Two written numbers are as good as one. */
static Measure product_of(Measure a, Measure b) {
    bool plain_a = dimension_is_number(a.dimension), plain_b = dimension_is_number(b.dimension);
    Measure out = {.kind = 0};
    if (plain_b && !plain_a) out.kind = a.kind;
    if (plain_a && plain_b) {
        out.kind = a.kind ? a.kind : b.kind;
        out.written = a.written && b.written;
    }
    return out;
}

bool measure_multiply(Measure a, Measure b, Measure *out) {
    if (a.point || b.point) return false;
    Measure result = dimension_is_number(a.dimension) ? product_of(b, a) : product_of(a, b);
    if (!dimension_multiply(a.dimension, b.dimension, &result.dimension)) return false;
    *out = result;
    return true;
}

bool measure_divide(Measure a, Measure b, Measure *out) {
    if (a.point || b.point) return false;
    Measure result = product_of(a, b);
    if (!dimension_divide(a.dimension, b.dimension, &result.dimension)) return false;
    *out = result;
    return true;
}

bool measure_power(Measure a, int numerator, int denominator, Measure *out) {
    if (a.point) return false;
    Measure result = {.kind = numerator == denominator ? a.kind : 0};
    result.written = a.written && dimension_is_number(a.dimension);
    if (!dimension_power(a.dimension, numerator, denominator, &result.dimension)) return false;
    *out = result;
    return true;
}
