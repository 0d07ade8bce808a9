/* The command line: who asked for what, and what they are told. */
#ifndef TRUNNION_COMMAND_COMMAND_H
#define TRUNNION_COMMAND_COMMAND_H

#include "base/world.h"

/* Runs the program with its arguments (the first is the program's name). Returns the exit status: 0 all met or accepted,
 * 1 a verdict stands against it, 2 the specification or the command line is wrong, 3 the machine is. */
int command_run(Arena *arena, const World *world, const Text *arguments, uint32_t count);

#endif
