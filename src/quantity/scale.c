#include <math.h>

#include "quantity/vocabulary.h"

enum { TEN_EXACT = 22 };

static double ten_to(int power) {
    static const double ten[TEN_EXACT + 1] = {1e0,  1e1,  1e2,  1e3,  1e4,  1e5,  1e6,  1e7,  1e8,  1e9,  1e10, 1e11,
                                              1e12, 1e13, 1e14, 1e15, 1e16, 1e17, 1e18, 1e19, 1e20, 1e21, 1e22};
    double result = 1;
    for (; power > TEN_EXACT && !isinf(result); power -= TEN_EXACT) result *= ten[TEN_EXACT];
    return power > TEN_EXACT ? result : result * ten[power];
}

static Scale tidy(Scale a) {
    /* Tens out of the numerator and denominator, so that products of round sizes stay small. */
    while (a.over >= 10 && a.over < 9007199254740992.0 && fmod(a.over, 10) == 0) a.over /= 10, a.tens++;
    while (a.under >= 10 && a.under < 9007199254740992.0 && fmod(a.under, 10) == 0) a.under /= 10, a.tens--;
    return a;
}

Scale scale_of(double number) {
    /* 0.0254 is 254 / 10^4: the first such pair of whole numbers that gives the double back. */
    for (int places = 0; places <= TEN_EXACT; places++) {
        double whole = nearbyint(number * ten_to(places));
        if (!(whole < 9007199254740992.0)) break;
        if (whole > 0 && whole / ten_to(places) == number) return tidy((Scale){whole, 1, -places});
    }
    /* 1e30 and 1e-30 are beyond the powers of ten that a double holds exactly */
    double power = nearbyint(log10(number));
    if (fabs(power) <= 40) {
        int tens = (int)power;
        if (number == (tens > 0 ? ten_to(tens) : 1 / ten_to(-tens))) return (Scale){1, 1, tens};
    }
    return (Scale){number, 1, 0};
}

Scale scale_multiply(Scale a, Scale b) {
    return tidy((Scale){a.over * b.over, a.under * b.under, a.tens + b.tens});
}

static Scale turned(Scale a) { return (Scale){a.under, a.over, -a.tens}; }

Scale scale_power(Scale a, int sixths) {
    if (sixths < 0) return turned(scale_power(a, -sixths));
    Scale result = {1, 1, 0};
    for (; sixths >= 6; sixths -= 6) result = scale_multiply(result, a);
    if (sixths == 0) return result;
    double value = scale_value(a);
    double part = sixths == 3 ? sqrt(value) : sixths == 2 ? cbrt(value) : pow(value, sixths / 6.0);
    return scale_multiply(result, scale_of(part));
}

double scale_value(Scale a) {
    if (a.tens >= 0) return a.over * ten_to(a.tens) / a.under;
    return a.over / (a.under * ten_to(-a.tens));
}
