/* What the files of the ranges share; nothing outside range*.c includes it. */
#ifndef TRUNNION_COMPUTE_RANGE_INTERNAL_H
#define TRUNNION_COMPUTE_RANGE_INTERNAL_H

#include "compute/range.h"

enum {
    RANGE_VALUE = RANGE_NUMBER | RANGE_SIGNAL,
    RANGE_ABSENT = RANGE_UNKNOWN | RANGE_FAILED,
    RANGE_ANYTHING = RANGE_VALUE | RANGE_ABSENT
};

/* ---- numbers (range_number.c) ---- */

/* Ends may be infinite; the values themselves are finite. low > high: there is no value. */
typedef struct Interval {
    double low, high;
    bool fails; /* some members have no result */
} Interval;

Interval interval_unary(SignalUnary operation, double low, double high);
/* `same`: both operands are one value. */
Interval interval_binary(SignalBinary operation, double x_low, double x_high, double y_low, double y_high, bool same);
/* Truths: [0, 0], [1, 1] or [0, 1]. */
Interval interval_compare(SignalCompare comparison, double x_low, double x_high, double y_low, double y_high);
/* Of numbers, none of them NaN. */
static inline double lesser(double a, double b) { return a < b ? a : b; }
static inline double greater(double a, double b) { return a > b ? a : b; }
/* Smallest and largest magnitude. */
static inline double interval_least(double low, double high) { return low > 0 ? low : high < 0 ? -high : 0; }
static inline double interval_most(double low, double high) { return -low > high ? -low : high; }

/* ---- values and steps ---- */

typedef enum RangeShape {
    SHAPE_NUMBER, /* a number, or absent */
    SHAPE_GRID,   /* a signal over a cycle that does not vary; with RANGE_NUMBER also a number */
    SHAPE_WILD    /* anything */
} RangeShape;

typedef struct RangeGrid {
    uint32_t count;
    double duration, near; /* s; near: breaks closer than this are one */
    double times[RANGE_PIECE_LIMIT + 1], lengths[RANGE_PIECE_LIMIT];
} RangeGrid;

/* A value. Of a signal, all ranges are finite, or `size` is infinite and all are without bounds. On a part where it cannot
 * have a value its range is empty, low > high. */
typedef struct RangeSlot {
    double low, high;       /* NUMBER, WILD */
    double *lows, *highs;   /* GRID: by part */
    uint8_t *holes;         /* GRID: by part: RANGE_UNKNOWN, RANGE_FAILED where it may be void */
    double size;            /* GRID: no value has a larger magnitude */
    uint32_t changed;       /* the run in which it got another value last */
    uint32_t computed;      /* … in which it was computed last; 0: never */
    uint8_t flags, shape, grid;
    bool holed;             /* some of `holes` is set */
    bool rough;             /* it may be steep without end somewhere, so that crossings are not where they should be */
} RangeSlot;

typedef struct RangeOp {
    uint8_t kind, aux;      /* of the step */
    uint32_t loop;          /* the op of the fixed point that runs it; 0: none */
    uint32_t a, b, c;       /* slots */
    const uint32_t *list;   /* LOOK_UP: slots of the keys, then of the values; CYCLE_INPUT: by part of the grid, the first and
                             * last slot that holds there; SETTLE: ops of the loop, the guess first */
    uint32_t list_count;
    double *decay;          /* LAG with a time constant that does not vary: share that is lost over each part, and over all */
    const double *gram;     /* REDUCE to a mean square: means of the products of the signals that its operand is a sum of; or NULL */
    const double *samples;  /* REDUCE to an extreme: these signals at some instants, one instant after the other; or NULL */
    uint32_t sample_count;
    StepId step;
} RangeOp;

/* A signal that does not vary, of which others are sums. */
typedef struct RangeBasis {
    uint32_t kind, a, b; /* how it was made */
    Signal signal;
    double mean, maximum, minimum;
    double times[2]; /* s; of the maximum and the minimum */
} RangeBasis;

/* A signal as a sum of such signals times factors; the first is the constant 1. */
typedef struct RangeForm {
    uint32_t count;           /* 0: it is none */
    const uint32_t *basis;
    double *low, *high;       /* factors */
    double slack;             /* the signal is not farther from the sum, at any instant but those where it jumps */
    uint16_t *to_a, *to_b;    /* where the terms of the operands go; of a product, those of all pairs in `to_a` */
    bool product, known;      /* known: the factors are those of the latest run */
    bool pure;                /* one signal times a number, by nothing but products with numbers */
} RangeForm;

/* A set of ops, a bit each: so many words as Range.words. Ops rise with their bits. */
typedef uint64_t OpSet;

static inline void op_set_add(OpSet *set, uint32_t op) { set[op / 64] |= (OpSet)1 << op % 64; }
static inline bool op_set_has(const OpSet *set, uint32_t op) { return set[op / 64] >> op % 64 & 1; }

struct Range {
    Arena *arena;
    const Program *program;
    const Evaluation *base;
    uint32_t run;            /* the number of the present run */
    uint32_t pieces, varied_count;
    uint32_t *varied_slots;  /* by position in `varied`: 0 when no step has it */
    RangeOp *ops;            /* [0] unused; ops[i] has its value in slots[i] */
    RangeSlot *slots;        /* [0]: what no step is; after those of the ops, those of steps that do not vary */
    uint32_t op_count, slot_count;
    uint32_t *slot_of;       /* by step; 0: none */
    RangeGrid *grids;
    uint32_t grid_count;
    uint32_t words;          /* of a set of ops */
    OpSet *stale;            /* what rests on a constant that has changed since it was run */
    OpSet **users;           /* by position in `varied`: what rests on it */
    OpSet **lists;           /* by step: what must be run for it; NULL: not known yet */
    uint32_t answer_words;   /* of a set of questions: conditions by their index, then judged things */
    OpSet *asked_anew;       /* questions that rest on a constant that has changed since they were answered */
    OpSet **questions;       /* by position in `varied`: those that rest on it */
    RangeAnswer *answers;    /* by question: the latest */
    double (*scratch)[2][RANGE_PIECE_LIMIT];
    Interval *slopes;        /* by op: derivative by the guess of its loop */
    double *turns;           /* by op: how far that changes for one member */
    Signal *signals;         /* by slot, of those that do not vary */
    RangeBasis *basis;
    uint32_t basis_count;
    RangeForm *forms;        /* by slot */
    RangeForm constant_form; /* of any number */
};

static inline const RangeGrid *range_grid(const Range *range, const RangeSlot *slot) { return &range->grids[slot->grid]; }

/* Bounds of a value by part, whatever its shape. */
typedef struct RangeView {
    const double *low, *high;
    const uint8_t *holes; /* NULL: none */
    double size;
    uint8_t flags;
    bool rough;
} RangeView;

/* `number`: 0 … 2, one for each view in use. A value that cannot be there has low > high throughout. */
RangeView range_view(Range *range, const RangeSlot *slot, uint32_t count, unsigned number);

/* ---- opening (range_open.c) ---- */

/* What must be run for a step, itself included. Takes memory when it is asked for the first time. */
const OpSet *range_list_of(Range *range, StepId step);

/* ---- grids (range_grid.c) ---- */

void range_make_grid(RangeGrid *grid, const Signal *signals, uint32_t count, double duration, uint32_t pieces);
void range_fill_slot(RangeSlot *slot, const RangeGrid *grid, Signal signal);

/* ---- signals (range_signal.c) ---- */

void range_slot_top(RangeSlot *slot, uint32_t count);
/* After lows and highs are set: widens them by `slack`, finds the size. */
void range_slot_widen(RangeSlot *slot, uint32_t count, double slack);
void range_signal_unary(Range *range, const RangeOp *op, RangeSlot *out);
void range_signal_binary(Range *range, const RangeOp *op, RangeSlot *out);
void range_signal_compare(Range *range, const RangeOp *op, RangeSlot *out);
void range_signal_logic(Range *range, const RangeOp *op, RangeSlot *out);
void range_signal_not(Range *range, const RangeOp *op, RangeSlot *out);
void range_signal_choose(Range *range, const RangeOp *op, RangeSlot *out);
void range_signal_look_up(Range *range, const RangeOp *op, RangeSlot *out);

/* ---- over the cycle (range_cycle.c) ---- */

void range_signal_lag(Range *range, const RangeOp *op, RangeSlot *out);
void range_signal_accumulate(Range *range, const RangeOp *op, RangeSlot *out);
void range_signal_input(Range *range, const RangeOp *op, RangeSlot *out);
void range_reduce(Range *range, const RangeOp *op, RangeSlot *out);
void range_at(Range *range, const RangeOp *op, RangeSlot *out);

/* ---- sums of signals (range_linear.c) ---- */

void range_make_forms(Range *range);
void range_run_form(Range *range, uint32_t index);
/* The operand of a REDUCE as a sum; false: nothing is known. */
bool range_form_reduce(const Range *range, const RangeOp *op, Interval *value);
bool range_form_mean(const Range *range, uint32_t slot, double *low, double *high);

/* ---- running (range_step.c) ---- */

/* Runs one op on the values of its operands. */
void range_run_op(Range *range, uint32_t index);
/* Brings these ops up to date. */
void range_run_list(Range *range, const OpSet *list);
Interval range_table(const Range *range, const RangeOp *op, double low, double high, double *slope);

/* ---- answers (range_judge.c) ---- */

void range_make_questions(Range *range);

/* ---- fixed points (range_settle.c) ---- */

void range_settle(Range *range, uint32_t index);

#endif
