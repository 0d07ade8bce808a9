/* `trunnion tabulate`: the cards of libraries as tables, one file for each form. */
#ifndef TRUNNION_COMMAND_TABULATE_H
#define TRUNNION_COMMAND_TABULATE_H

#include "pipeline.h"

/* Writes FOLDER/FORM.csv for each form with cards, each at once, and tells what a library has to say to use them. With a
 * mistake in the files, nothing is written. The exit status. */
int tabulate_files(Arena *arena, const World *world, LoadRequest load, Text folder);

#endif
