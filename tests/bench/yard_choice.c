/* A yardstick: what choosing costs when somebody writes the loops himself:  yard_choice FOLDER
 *
 * Reads the tables of make_choice.py and tries every motor with every gearhead and every drive, by a handful of closed
 * formulas with plain numbers: no units, no reasons, no other axis. Once naively, everything inside the innermost loop, and
 * once with all that does not depend on the drive taken out of it. Prints the least of five runs. */
#include <math.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

enum { MOST = 200000, RUNS = 5, PIECES = 6 };

typedef struct Motor { double brushless, commutated, resistance, constant, friction, inertia, highest, diameter, inner, outer, limit, inductance, poles; } Motor;
typedef struct Gearhead { double ratio, efficiency, lasting, peak, lasting_speed, peak_speed, inertia, drag, backlash, diameter; } Gearhead;
typedef struct Drive { double brushed, brushless, lowest, highest, usable, bridge, lasting, peak, peak_time, idle, efficiency, frequency; } Drive;

/* What the task asks at the pulley, piece by piece: pieces of constant torque. */
typedef struct Task {
    double value[24], weight[PIECES], speed[PIECES], acceleration[PIECES], torque[PIECES], direction[PIECES], whole, mean_speed, cubic;
} Task;
enum { STROKE, OUT, STAY, BACK, REST, MASS, FRICTION, TRAVEL, BELT, PULLEY, LOWEST, HIGHEST, AMBIENT, MOST_DIAMETER, MOST_POWER, MOST_HOUSING,
       MOST_WINDING, MOST_CURRENT, MOST_TURNING, MOST_GEAR_DIAMETER, MOST_PLAY, FIELDS };

static double now(void) {
    struct timespec time;
    clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &time); /* others may be working here too */
    return (double)time.tv_sec + 1e-9 * (double)time.tv_nsec;
}

/* Rows of a name and `width` numbers; how many. */
static size_t read_rows(const char *folder, const char *name, double *rows, size_t width) {
    char path[1000], word[200];
    snprintf(path, sizeof path, "%s/%s", folder, name);
    FILE *file = fopen(path, "r");
    if (!file) {
        fprintf(stderr, "yard_choice: cannot open %s\n", path);
        exit(1);
    }
    size_t count = 0;
    while (count < MOST && fscanf(file, "%199s", word) == 1) {
        for (size_t i = 0; i < width; i++)
            if (fscanf(file, "%lf", &rows[count * width + i]) != 1) exit(1);
        count++;
    }
    fclose(file);
    return count;
}

static double passed(double torque, double power, double efficiency) {
    return power > 0 ? torque / efficiency : torque * fmax(2 - 1 / efficiency, 0);
}

static void prepare(Task *task) {
    const double *v = task->value;
    task->whole = v[OUT] + v[STAY] + v[BACK] + v[REST];
    for (int i = 0; i < PIECES; i++) {
        double time = i < 3 ? v[OUT] : v[BACK], way = i < 3 ? v[STROKE] : -v[STROKE];
        double rise = (i % 3 == 0 ? 4.5 : i % 3 == 1 ? 0.0 : -4.5) * way / (time * time), top = 1.5 * way / time;
        double force = v[MASS] * rise + v[FRICTION] * (way > 0 ? 1 : -1);
        task->weight[i] = time / 3;
        task->direction[i] = way > 0 ? 1 : -1;
        task->speed[i] = top / v[TRAVEL];
        task->acceleration[i] = rise / v[TRAVEL];
        task->torque[i] = passed(force * v[TRAVEL], force * top, v[BELT]) + v[PULLEY] * task->acceleration[i];
        double mean = fabs(task->speed[i]) * (i % 3 == 1 ? 1 : 0.5) * task->weight[i];
        task->mean_speed += mean;
        task->cubic += pow(fabs(task->torque[i]), 3) * mean;
    }
    task->cubic = cbrt(task->cubic / task->mean_speed);
    task->mean_speed /= task->whole;
}

typedef struct Current {
    double peak, squares, slip, top, emf; /* A, A², W of friction, rad/s, W of mean electrical power but for the winding's heat */
    double piece[PIECES];
} Current;

static bool gear_does(const Task *t, const Gearhead *g) {
    double peak = 0;
    for (int i = 0; i < PIECES; i++) peak = fmax(peak, fabs(t->torque[i]));
    return peak <= g->peak && t->cubic <= g->lasting && fabs(t->speed[0]) * g->ratio <= g->peak_speed && t->mean_speed * g->ratio <= g->lasting_speed
        && g->diameter <= t->value[MOST_GEAR_DIAMETER] && g->backlash * t->value[TRAVEL] <= t->value[MOST_PLAY];
}

static Current current_of(const Task *t, const Motor *m, const Gearhead *g) {
    Current c = {0};
    for (int i = 0; i < PIECES; i++) {
        double a = t->acceleration[i] * g->ratio, direction = t->direction[i];
        double torque = passed(t->torque[i] / g->ratio, t->torque[i] * direction, g->efficiency) + (g->inertia + m->inertia) * a + (g->drag + m->friction) * direction;
        double i_now = torque / m->constant, mean_speed = fabs(t->speed[i]) * g->ratio * (i % 3 == 1 ? 1 : 0.5);
        c.piece[i] = i_now;
        c.peak = fmax(c.peak, fabs(i_now));
        c.squares += i_now * i_now * t->weight[i];
        c.slip += m->friction * mean_speed * t->weight[i];
        c.emf += torque * direction * mean_speed * t->weight[i];
    }
    c.squares /= t->whole, c.slip /= t->whole, c.emf /= t->whole;
    c.top = fmax(fabs(t->speed[0]), fabs(t->speed[3])) * g->ratio;
    return c;
}

static bool motor_does(const Task *t, const Motor *m, const Current *c) {
    return c->top <= m->highest && c->top <= t->value[MOST_TURNING] && m->diameter <= t->value[MOST_DIAMETER] && m->commutated > 0
        && sqrt(c->squares) <= t->value[MOST_CURRENT];
}

static bool drive_does(const Task *t, const Motor *m, const Gearhead *g, const Drive *d, const Current *c) {
    const double *v = t->value;
    if ((m->brushless > 0 ? d->brushless : d->brushed) == 0 || v[LOWEST] < d->lowest || v[HIGHEST] > d->highest) return false;
    double ripple = m->inductance > 0 ? v[HIGHEST] / (4 * d->frequency * m->inductance) / (2 * sqrt(3)) : 0;
    /* the winding settles where its heat, that grows with its temperature, leaves */
    double cold = m->resistance * (c->squares + ripple * ripple), paths = m->inner + m->outer, rise = cold / 260;
    double winding = (v[AMBIENT] + m->outer * c->slip + paths * cold * (1 - 25.0 / 260)) / (1 - paths * rise);
    if (paths * rise >= 1 || winding > v[MOST_WINDING] || winding > m->limit) return false;
    double loss = (winding - v[AMBIENT] - m->outer * c->slip) / paths, housing = v[AMBIENT] + m->outer * (loss + c->slip);
    double warm = m->resistance * (1 + (winding - 25) / 260), magnets = 1 - 0.001 * (housing - 25);
    if (housing > v[MOST_HOUSING] || c->peak / magnets > d->peak || sqrt(c->squares) / magnets > fmin(d->lasting, v[MOST_CURRENT])) return false;
    double over = 0;
    for (int i = 0; i < PIECES; i++) {
        double i_now = c->piece[i] / magnets, speed = fabs(t->speed[i]) * g->ratio;
        double volts = warm * i_now * t->direction[i] + m->constant * magnets * speed, cross = m->poles * speed * m->inductance * i_now;
        if (sqrt(volts * volts + cross * cross) + d->bridge * fabs(i_now) > d->usable * v[LOWEST]) return false;
        over += fmax(i_now * i_now - d->lasting * d->lasting, 0) * t->weight[i];
    }
    if (over > (d->peak * d->peak - d->lasting * d->lasting) * d->peak_time) return false;
    return fmax(c->emf + loss, 0) / d->efficiency + d->idle <= v[MOST_POWER];
}

static Motor motors[MOST];
static Gearhead gearheads[MOST];
static Drive drives[MOST];
static size_t motor_count, gearhead_count, drive_count;

static size_t naive(const Task *t) {
    size_t found = 0;
    for (size_t i = 0; i < motor_count; i++)
        for (size_t j = 0; j < gearhead_count; j++)
            for (size_t k = 0; k < drive_count; k++) {
                Current c = current_of(t, &motors[i], &gearheads[j]);
                found += gear_does(t, &gearheads[j]) && motor_does(t, &motors[i], &c) && drive_does(t, &motors[i], &gearheads[j], &drives[k], &c);
            }
    return found;
}

static size_t hoisted(const Task *t) {
    size_t found = 0;
    for (size_t j = 0; j < gearhead_count; j++) {
        if (!gear_does(t, &gearheads[j])) continue;
        for (size_t i = 0; i < motor_count; i++) {
            Current c = current_of(t, &motors[i], &gearheads[j]);
            if (!motor_does(t, &motors[i], &c)) continue;
            for (size_t k = 0; k < drive_count; k++) found += drive_does(t, &motors[i], &gearheads[j], &drives[k], &c);
        }
    }
    return found;
}

static void measure(const char *what, const Task *task, size_t (*search)(const Task *)) {
    double least = 1e9;
    size_t found = 0;
    for (int run = 0; run < RUNS; run++) {
        double begun = now();
        found = search(task);
        least = fmin(least, now() - begun);
    }
    double sets = (double)(motor_count * gearhead_count * drive_count);
    printf("%-28s %10.4f s %12.4g sets/s   %zu do\n", what, least, sets / least, found);
}

int main(int count, char **arguments) {
    if (count != 2) {
        fprintf(stderr, "usage: yard_choice FOLDER\n");
        return 2;
    }
    static Task task;
    static double lines[24];
    if (read_rows(arguments[1], "task.txt", lines, 1) != FIELDS) return 1;
    memcpy(task.value, lines, sizeof task.value);
    prepare(&task);
    motor_count = read_rows(arguments[1], "motors.txt", (double *)motors, sizeof(Motor) / sizeof(double));
    gearhead_count = read_rows(arguments[1], "gearheads.txt", (double *)gearheads, sizeof(Gearhead) / sizeof(double));
    drive_count = read_rows(arguments[1], "drives.txt", (double *)drives, sizeof(Drive) / sizeof(double));
    measure("C, naive", &task, naive);
    measure("C, hoisted", &task, hoisted);
    return 0;
}
