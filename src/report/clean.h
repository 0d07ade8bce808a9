/* Text of any origin made fit to be shown: titles, reasons and program lines come from files we did not write. */
#ifndef TRUNNION_REPORT_CLEAN_H
#define TRUNNION_REPORT_CLEAN_H

#include "base/text.h"

/* One line of valid UTF-8: a tab becomes four spaces, a line end one space; bytes that are no UTF-8, control characters and
 * those that turn the reading direction become U+FFFD, so that nothing can steer a terminal or hide what is written.
 * Text that is already fit comes back as it is, not copied. */
Text clean_line(Arena *arena, Text text);

#endif
