/* Cycles at run time: signals strung together from segments. */
#ifndef TRUNNION_COMPUTE_MOTION_H
#define TRUNNION_COMPUTE_MOTION_H

#include "compute/evaluate.h"

Computed run_cycle(Evaluation *evaluation, StepId id, const Step *step);
Computed run_cycle_time(Evaluation *evaluation, StepId id, const Step *step);
Computed run_cycle_input(Evaluation *evaluation, StepId id, const Step *step);

#endif
