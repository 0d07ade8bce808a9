/* Calendar dates as ISO 8601 writes them: 2027-03-31. */
#ifndef TRUNNION_BASE_DATE_H
#define TRUNNION_BASE_DATE_H

#include "base/text.h"

/* The date as the number 20270331, so that dates compare as numbers; 0 when the text is no date of the calendar. */
uint32_t date_read(Text text);

#endif
