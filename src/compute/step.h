/* Inside the compute stage: values while a program runs. */
#ifndef TRUNNION_COMPUTE_STEP_H
#define TRUNNION_COMPUTE_STEP_H

#include "compute/evaluate.h"

static inline Computed computed_number(double number) { return (Computed){.state = COMPUTED_NUMBER, .number = number}; }
Computed computed_signal(Signal signal);
Computed computed_failed(Failure failure, StepId origin);
/* A number, or why there is none. */
Computed computed_result(SignalVoid reason, double number, StepId origin);
/* unknown or failed */
static inline bool computed_is_absent(const Computed *value) { return value->state == COMPUTED_UNKNOWN || value->state == COMPUTED_FAILED; }
/* A number as a signal that stays the same; what is absent as a void. */
Signal computed_as_signal(Arena *arena, const Computed *value, double duration);
/* The operations of signal.h on numbers and signals alike; `id` is the step to blame for a failure. */
Computed computed_unary(Arena *arena, SignalUnary operation, const Computed *x, StepId id);
Computed computed_binary(Arena *arena, SignalBinary operation, const Computed *x, const Computed *y, StepId id);
Computed computed_compare(Arena *arena, SignalCompare comparison, const Computed *x, const Computed *y, StepId id);
Computed computed_choose(Arena *arena, const Computed *condition, const Computed *yes, const Computed *no, StepId id);
/* Runs one step on the values of earlier ones. */
Computed run_step(Evaluation *evaluation, StepId id);
/* An evaluation without values. */
Evaluation *evaluation_open(Arena *arena, const Program *program, const double *inputs);
/* Whether a step uses one that is marked. `marked` by step. */
bool uses_marked(const Program *program, const Step *step, const uint8_t *marked);
/* Every step that one names, also in the lists of cycles and tables; of a running value where it settles. Operands count from 0. */
typedef void EachOperand(void *context, StepId user, unsigned operand, StepId step);
void each_operand(const Program *program, StepId id, EachOperand *visit, void *context);
/* Marks everything of a loop that rests on its guess, and of the loops in it. */
void mark_loop(const Program *program, StepId settle, uint8_t *marked);

#endif
