/* A yardstick: what judging an axis costs when somebody writes the formulas himself:  yard_axes TABLE [each]
 *
 * With a second argument it prints instead, for each axis, which requirements are met: ten digits, 1 or 0, in their order.
 *
 * Reads the table of make_axes.py (plain numbers in SI, a row for each axis) and judges the ten requirements of each: once by
 * closed formulas, a trapezoidal move as three pieces and a cycloidal one by ten points of Gauss, and once by 1,000 samples of
 * the cycle. No units, no rules, no reasons, no other kinds of axis. The least of five runs, with and without reading the text. */
#include <math.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

enum { RUNS = 5, SAMPLES = 1000 };
#define COLUMNS(C) C(cycloidal) C(stroke) C(out) C(back) C(stay) C(rest) C(mass) C(pull) C(friction) C(travel) C(efficiency) C(inertia) C(drag) \
    C(ratio) C(gear_efficiency) C(gear_inertia) C(gear_drag) C(rotor) C(motor_friction) C(constant) C(resistance) C(inductance) C(poles) C(magnet) \
    C(inner) C(outer) C(winding_time) C(housing_time) C(usable) C(bridge) C(drive_efficiency) C(idle) C(frequency) C(lowest) C(highest) C(holding) \
    C(ambient) C(most_time) C(most_speed) C(most_acceleration) C(most_turning) C(most_torque) C(most_current) C(most_winding) C(most_power) C(most_housing)
#define FIELD(name) double name;
typedef struct Axis { COLUMNS(FIELD) } Axis;

typedef struct Point { double weight, speed, top, acceleration; } Point; /* `speed` is the mean of its piece, `top` the greatest */

static double now(void) {
    struct timespec time;
    clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &time); /* others may be working here too */
    return (double)time.tv_sec + 1e-9 * (double)time.tv_nsec;
}

static const double pi = 3.14159265358979323846;

static double passed(double torque, double power, double efficiency) {
    return power > 0 ? torque / efficiency : power < 0 ? torque * fmax(2 - 1 / efficiency, 0) : torque;
}

static int sign(double x) { return (x > 0) - (x < 0); }

static size_t few_points(const Axis *a, Point *points) {
    static const double gauss[5] = {0.04691007703066802, 0.23076534494715845, 0.5, 0.7692346550528415, 0.9530899229693319};
    static const double weights[5] = {0.11846344252809454, 0.23931433524968324, 0.28444444444444444, 0.23931433524968324, 0.11846344252809454};
    size_t count = 0;
    for (int move = 0; move < 2; move++) {
        double time = move ? a->back : a->out, way = move ? -a->stroke : a->stroke;
        if (a->cycloidal > 0) {
            for (int half = 0; half < 2; half++)
                for (int i = 0; i < 5; i++) {
                    double u = (half + gauss[i]) / 2, v = way / time * (1 - cos(2 * pi * u));
                    points[count++] = (Point){weights[i] / 2 * time, v, v, 2 * pi * way / (time * time) * sin(2 * pi * u)};
                }
        } else {
            double top = 1.5 * way / time, rise = 4.5 * way / (time * time);
            points[count++] = (Point){time / 3, top / 2, top, rise};
            points[count++] = (Point){time / 3, top, top, 0};
            points[count++] = (Point){time / 3, top / 2, top, -rise};
        }
    }
    points[count++] = (Point){a->stay + a->rest, 0, 0, 0};
    return count;
}

static size_t many_points(const Axis *a, Point *points) {
    double whole = a->out + a->stay + a->back + a->rest, step = whole / SAMPLES;
    for (size_t i = 0; i < SAMPLES; i++) {
        double t = ((double)i + 0.5) * step, from = a->out + a->stay;
        bool out = t < a->out, back = t >= from && t < from + a->back;
        double time = out ? a->out : a->back, way = out ? a->stroke : -a->stroke, u = (out ? t : t - from) / time;
        double v = 0, rise = 0;
        if (out || back) {
            if (a->cycloidal > 0) {
                v = way / time * (1 - cos(2 * pi * u));
                rise = 2 * pi * way / (time * time) * sin(2 * pi * u);
            } else {
                double top = 1.5 * way / time, steep = 4.5 * way / (time * time);
                v = u < 1.0 / 3 ? 3 * u * top : u < 2.0 / 3 ? top : 3 * (1 - u) * top;
                rise = u < 1.0 / 3 ? steep : u < 2.0 / 3 ? 0 : -steep;
            }
        }
        points[i] = (Point){step, v, v, rise};
    }
    return SAMPLES;
}

/* How many of the ten requirements are met; and each by itself, where somebody asks. */
static int judge(const Axis *a, const Point *points, size_t count, bool *each) {
    static _Thread_local double currents[SAMPLES];
    double whole = a->out + a->stay + a->back + a->rest, turn = a->ratio / a->travel;
    double speed = 0, acceleration = 0, torque_peak = 0, squares = 0, slip = 0;
    for (size_t i = 0; i < count; i++) {
        const Point *p = &points[i];
        double v = p->speed, rise = p->acceleration, force = a->mass * rise + a->pull + a->friction * sign(v);
        double torque = passed(force * a->travel, force * v, a->efficiency) + a->inertia * rise / a->travel + a->drag * sign(v);
        torque = passed(torque / a->ratio, torque * v, a->gear_efficiency) + a->gear_inertia * rise * turn + a->gear_drag * sign(v) + a->rotor * rise * turn;
        currents[i] = (torque + a->motor_friction * sign(v)) / a->constant;
        speed = fmax(speed, fabs(p->top));
        acceleration = fmax(acceleration, fabs(rise));
        torque_peak = fmax(torque_peak, fabs(torque));
        squares += p->weight * currents[i] * currents[i];
        slip += p->weight * a->motor_friction * fabs(v * turn);
    }
    if (a->cycloidal > 0) speed = 2 * a->stroke / fmin(a->out, a->back);
    squares /= whole, slip /= whole;
    double ripple = a->inductance > 0 ? a->highest / (4 * a->frequency * a->inductance) / (2 * sqrt(3)) : 0;
    double loss = 0, warm = a->resistance, magnets = 1, winding = a->ambient, housing = a->ambient;
    for (int i = 0; i < 30; i++) {
        double before = loss;
        loss = warm * (squares / (magnets * magnets) + ripple * ripple);
        housing = a->ambient + a->outer * (loss + slip);
        winding = a->ambient + loss * (a->inner + a->outer) + a->outer * slip;
        magnets = 1 + a->magnet * (housing - 25);
        warm = a->resistance * (1 + (winding - 25) / 260);
        if (fabs(loss - before) < 1e-9 * loss) break;
    }
    double power = 0;
    bool enough = true;
    for (size_t i = 0; i < count; i++) {
        const Point *p = &points[i];
        double current = currents[i] / magnets, emf = a->constant * magnets * turn;
        double volts = warm * current + emf * p->top, cross = a->poles * p->top * turn * a->inductance * current;
        if (sqrt(volts * volts + cross * cross) > a->usable * a->lowest - a->bridge * fabs(current)) enough = false;
        double taken = emf * p->speed * current + warm * (current * current + ripple * ripple);
        power += p->weight * (taken > 0 ? taken / a->drive_efficiency : taken * a->drive_efficiency);
    }
    power = power / whole + a->idle + a->holding;
    const bool met[10] = {whole <= a->most_time, speed <= a->most_speed, acceleration <= a->most_acceleration, speed * turn <= a->most_turning,
                          torque_peak <= a->most_torque, sqrt(squares) / magnets <= a->most_current, winding <= a->most_winding, power <= a->most_power,
                          housing <= a->most_housing, enough};
    int all = 0;
    for (int i = 0; i < 10; i++) all += met[i];
    if (each) memcpy(each, met, sizeof met);
    return all;
}

/* All rows of the text. */
static Axis *read_table(char *text, size_t *count) {
    size_t room = 16, n = 0;
    Axis *axes = malloc(room * sizeof *axes);
    char *at = strchr(text, '\n');
    while (axes && at && at[1]) {
        if (n == room) axes = realloc(axes, (room *= 2) * sizeof *axes);
        if (!axes) exit(3);
        double *field = (double *)&axes[n++];
        for (size_t i = 0; i < sizeof(Axis) / sizeof(double); i++) field[i] = strtod(at + 1, &at);
        at = strchr(at, '\n');
    }
    *count = n;
    return axes;
}

static char *whole_file(const char *path) {
    FILE *file = fopen(path, "rb");
    if (!file || fseek(file, 0, SEEK_END)) {
        fprintf(stderr, "yard_axes: cannot open %s\n", path);
        exit(1);
    }
    size_t length = (size_t)ftell(file);
    char *text = malloc(length + 1);
    rewind(file);
    if (!text || fread(text, 1, length, file) != length) exit(1);
    text[length] = '\0';
    fclose(file);
    return text;
}

static void measure(const char *what, char *text, size_t (*points_of)(const Axis *, Point *)) {
    static Point points[SAMPLES];
    double least = 1e9, least_judged = 1e9;
    size_t count = 0;
    long met = 0;
    for (int run = 0; run < RUNS; run++) {
        double begun = now();
        Axis *axes = read_table(text, &count);
        double read = now();
        met = 0;
        for (size_t i = 0; i < count; i++) met += judge(&axes[i], points, points_of(&axes[i], points), NULL);
        double done = now();
        least = fmin(least, done - begun);
        least_judged = fmin(least_judged, done - read);
        free(axes);
    }
    printf("%-28s %12.0f axes/s with reading %12.0f without   %ld of %zu met\n", what, (double)count / least, (double)count / least_judged, met, 10 * count);
}

static void print_each(char *text) {
    static Point points[SAMPLES];
    size_t count = 0;
    Axis *axes = read_table(text, &count);
    for (size_t i = 0; i < count; i++) {
        bool each[10];
        judge(&axes[i], points, many_points(&axes[i], points), each);
        for (int k = 0; k < 10; k++) putchar(each[k] ? '1' : '0');
        putchar('\n');
    }
    free(axes);
}

int main(int count, char **arguments) {
    if (count != 2 && count != 3) {
        fprintf(stderr, "usage: yard_axes TABLE [each]\n");
        return 2;
    }
    char *text = whole_file(arguments[1]);
    if (count == 3) {
        print_each(text);
        free(text);
        return 0;
    }
    measure("C, closed formulas", text, few_points);
    measure("C, 1,000 samples", text, many_points);
    free(text);
    return 0;
}
