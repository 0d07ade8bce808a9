/* A yardstick: what reading part cards costs when nothing is asked of them:  yard_cards FILE
 *
 * A bare loop over the cards of make_library.py: a name, an equals sign, a number by strtod, a unit looked up in a list of
 * those that occur; a word is kept as it is. No columns of a mistake, no forms, no checks, no messages: a wrong file gives
 * wrong numbers. The least of five runs. */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

enum { RUNS = 5, FIELDS = 64 };

typedef struct Unit { const char *name; size_t length; double factor; } Unit;
typedef struct Record { double value[FIELDS]; } Record;

static const Unit units[] = {
#define UNIT(text, factor) {text, sizeof text - 1, factor},
    UNIT("V", 1) UNIT("Ω", 1) UNIT("mΩ", 1e-3) UNIT("mH", 1e-3) UNIT("µH", 1e-6) UNIT("mN·m/A", 1e-3) UNIT("N·m/A", 1) UNIT("ozf·in/A", 7.0615518e-3)
    UNIT("A", 1) UNIT("mA", 1e-3) UNIT("g·cm²", 1e-7) UNIT("kg·cm²", 1e-4) UNIT("ozf·in·s²", 7.0615518e-3) UNIT("rpm", 0.10471976) UNIT("rev/min", 0.10471976)
    UNIT("mm", 1e-3) UNIT("in", 0.0254) UNIT("g", 1e-3) UNIT("kg", 1) UNIT("oz", 0.028349523) UNIT("K/W", 1) UNIT("°C/W", 1) UNIT("s", 1) UNIT("min", 60)
    UNIT("ms", 1e-3) UNIT("°C", 1) UNIT("rpm/V", 0.10471976) UNIT("rpm/(mN·m)", 104.71976) UNIT("mN·m", 1e-3) UNIT("N·m", 1) UNIT("ozf·in", 7.0615518e-3)
    UNIT("%", 0.01) UNIT("W", 1) UNIT("deg", 0.017453293) UNIT("arcmin", 2.9088821e-4) UNIT("N", 1) UNIT("lbf", 4.4482216) UNIT("kHz", 1e3) UNIT("J", 1)
    UNIT("count/rev", 0.15915494)
};

static double now(void) {
    struct timespec time;
    clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &time); /* others may be working here too */
    return (double)time.tv_sec + 1e-9 * (double)time.tv_nsec;
}

static double factor_of(const char *text, size_t length) {
    for (size_t i = 0; i < sizeof units / sizeof *units; i++)
        if (units[i].length == length && !memcmp(units[i].name, text, length)) return units[i].factor;
    return 1;
}

/* Reads all cards; the numbers of each in the order of its text. */
static size_t read_cards(char *text, Record *records, size_t most, double *sum) {
    size_t cards = 0, field = 0;
    Record *record = NULL;
    for (char *line = text; *line;) {
        char *end = strchr(line, '\n');
        if (!end) break;
        char *equals;
        if (end > line && line[0] != ' ' && end[-1] == '{' && cards < most) {
            record = &records[cards++];
            field = 0;
        } else if (record && line[0] == ' ' && (equals = memchr(line, '=', (size_t)(end - line))) != NULL && field < FIELDS) {
            char *unit;
            double value = strtod(equals + 1, &unit);
            if (unit != equals + 1) {
                while (*unit == ' ') unit++;
                value *= factor_of(unit, (size_t)(end - unit));
            }
            record->value[field++] = value;
            *sum += value;
        }
        line = end + 1;
    }
    return cards;
}

int main(int count, char **arguments) {
    FILE *file = count == 2 ? fopen(arguments[1], "rb") : NULL;
    if (!file || fseek(file, 0, SEEK_END)) {
        fprintf(stderr, "usage: yard_cards FILE\n");
        return 2;
    }
    size_t length = (size_t)ftell(file), most = length / 100 + 1;
    double least = 1e9, sum = 0;
    size_t cards = 0;
    for (int run = 0; run < RUNS; run++) {
        double begun = now();
        char *text = malloc(length + 1);
        Record *records = malloc(most * sizeof *records);
        rewind(file);
        if (!text || !records || fread(text, 1, length, file) != length) return 1;
        text[length] = '\0';
        cards = read_cards(text, records, most, &sum);
        double took = now() - begun;
        if (took < least) least = took;
        free(text);
        free(records);
    }
    fclose(file);
    printf("%-28s %10.4f s %12.0f cards/s %8.1f MB/s   (sum %.3g)\n", "C, bare loop", least, (double)cards / least, (double)length / 1e6 / least, sum);
    return 0;
}
