/* Tables of numbers in CSV files: a header `name [unit]` for each column, then rows of numbers.
 *
 * The file lies beside the file that names it, or below; mistakes are reported at their row and column. */
#ifndef TRUNNION_PLAN_DATA_H
#define TRUNNION_PLAN_DATA_H

#include "plan/build.h"

typedef struct DataColumn {
    Text name;      /* of the header, without its unit */
    Span span;      /* of the header's field */
    UnitId unit;    /* 0: a bare number */
    Measure measure;
    double *values; /* SI, one a row */
    Span *spans;    /* of each number */
} DataColumn;

typedef struct DataTable {
    DataColumn *columns;
    uint32_t column_count, row_count;
} DataTable;

enum { DATA_COLUMN_LIMIT = 100, DATA_ROW_LIMIT = 1000000 };

/* Opens a file beside the one that names it, or below, so that messages can point into it. `ending` such as ".csv". NULL after
 * reporting; NULL and *missing when there is none, which is then not reported. */
Source *data_open(Builder *builder, NodeId text_node, const char *ending, bool *missing);
/* All of an open CSV file; with `only`, the columns of that name, and the others may hold words. */
bool data_parse(Builder *builder, Source *source, NodeId text_node, Text only, DataTable *table);
/* Reads the file that the TEXT node names. False after reporting. */
bool data_read(Builder *builder, NodeId text_node, DataTable *table);

#endif
