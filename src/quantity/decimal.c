#include "quantity/decimal.h"

#include <math.h>
#include <stdint.h>
#include <string.h>

/* Two ways to the same digits. The quick one scales by a power of ten that a double holds exactly and looks at the
 * rounding error of that one operation, which fma gives exactly. The slow one works with all digits of the number in
 * large integers. */

enum { TEN_EXACT = 22, LIMBS = 88 }; /* 53 bits times 5^1074 are 2547 bits: 80 limbs */

static const double ten[TEN_EXACT + 1] = {1e0,  1e1,  1e2,  1e3,  1e4,  1e5,  1e6,  1e7,  1e8,  1e9,  1e10, 1e11,
                                          1e12, 1e13, 1e14, 1e15, 1e16, 1e17, 1e18, 1e19, 1e20, 1e21, 1e22};

/* number * 10^shift rounded to a whole number, exactly; false when this way cannot tell. `number` is above zero. */
static bool scale_quickly(double number, int shift, uint64_t *out) {
    if (shift > TEN_EXACT || shift < -TEN_EXACT || number < 1e-200) return false;
    double scaled, error;
    if (shift >= 0) {
        scaled = number * ten[shift];
        error = fma(number, ten[shift], -scaled);
    } else {
        scaled = number / ten[-shift];
        error = -fma(scaled, ten[-shift], -number); /* its sign is that of the true quotient minus `scaled` */
    }
    if (!(scaled < 4e15)) return false; /* so its last bit is worth a half or less */
    uint64_t result = (uint64_t)scaled;
    double past = (scaled - (double)result) - 0.5; /* has the right sign, and is 0 only when `scaled` is a half exactly */
    bool up = past > 0 || (past == 0 && (error > 0 || (error == 0 && (result & 1))));
    *out = result + (up ? 1 : 0);
    return true;
}

/* ---- all digits ---- */

typedef struct Large {
    uint32_t limb[LIMBS]; /* least first */
    int count;
} Large;

static void large_times(Large *large, uint32_t factor) {
    uint64_t carry = 0;
    for (int i = 0; i < large->count; i++) {
        carry += (uint64_t)large->limb[i] * factor;
        large->limb[i] = (uint32_t)carry;
        carry >>= 32;
    }
    if (carry) large->limb[large->count++] = (uint32_t)carry;
}

static uint32_t large_over_billion(Large *large) {
    uint64_t rest = 0;
    for (int i = large->count; i-- > 0;) {
        rest = rest << 32 | large->limb[i];
        large->limb[i] = (uint32_t)(rest / 1000000000u);
        rest %= 1000000000u;
    }
    while (large->count > 0 && large->limb[large->count - 1] == 0) large->count--;
    return (uint32_t)rest;
}

enum { ALL_DIGITS = 800 }; /* the longest double has 767 */

/* All decimal digits of a number above zero, without zeros in front; returns how many, *exponent of the first. */
static int all_digits(double number, char *digits, int *exponent) {
    int power;
    double fraction = frexp(number, &power);
    uint64_t mantissa = (uint64_t)ldexp(fraction, 53);
    power -= 53;
    while (power < 0 && (mantissa & 1) == 0) mantissa >>= 1, power++;
    Large large = {.limb = {(uint32_t)mantissa, (uint32_t)(mantissa >> 32)}, .count = mantissa >> 32 ? 2 : 1};
    int tens = 0;
    if (power < 0) {
        tens = power; /* m / 2^k is m 5^k / 10^k */
        int fives = -power;
        for (; fives >= 13; fives -= 13) large_times(&large, 1220703125u);
        for (; fives > 0; fives--) large_times(&large, 5);
    }
    for (; power >= 31; power -= 31) large_times(&large, 1u << 31);
    if (power > 0) large_times(&large, 1u << power);

    char reversed[ALL_DIGITS];
    int count = 0;
    while (large.count > 0) {
        uint32_t nine = large_over_billion(&large);
        for (int i = 0; i < 9; i++, nine /= 10) reversed[count++] = (char)('0' + nine % 10);
    }
    while (count > 1 && reversed[count - 1] == '0') count--;
    for (int i = 0; i < count; i++) digits[i] = reversed[count - 1 - i];
    *exponent = tens + count - 1;
    return count;
}

/* Keeps the first `keep` of the digits (it may be 0 or less), rounding; the result has `keep` digits, or one more when a
 * carry ran through (then *exponent has grown), or none. */
static int round_digits(char *digits, int count, int keep, int *exponent) {
    if (keep < 0) return 0;
    if (keep >= count) {
        memset(digits + count, '0', (size_t)(keep - count));
        return keep;
    }
    bool up = digits[keep] > '5';
    if (digits[keep] == '5') {
        bool beyond = false;
        for (int i = keep + 1; i < count && !beyond; i++) beyond = digits[i] != '0';
        up = beyond || (keep > 0 && (digits[keep - 1] - '0') % 2 == 1);
    }
    if (!up) return keep;
    int at = keep - 1;
    while (at >= 0 && digits[at] == '9') digits[at--] = '0';
    if (at >= 0) {
        digits[at]++;
        return keep;
    }
    memmove(digits + 1, digits, (size_t)keep);
    digits[0] = '1';
    ++*exponent;
    return keep + 1;
}

/* ---- the two roundings ---- */

static int put_whole(uint64_t whole, char *digits) {
    char reversed[20];
    int count = 0;
    for (; whole > 0; whole /= 10) reversed[count++] = (char)('0' + whole % 10);
    for (int i = 0; i < count; i++) digits[i] = reversed[count - 1 - i];
    return count;
}

static bool significant_quickly(double number, int digits, Decimal *out) {
    if (digits > 15) return false;
    uint64_t bits;
    memcpy(&bits, &number, sizeof bits);
    int power = (int)(bits >> 52) - 1023; /* of two; the number is above zero, and small ones are not taken here */
    int exponent = (power * 1233 - (power < 0 ? 4095 : 0)) / 4096; /* of ten: right, or one beside */
    for (int attempt = 0; attempt < 3; attempt++) {
        uint64_t whole;
        if (!scale_quickly(number, digits - 1 - exponent, &whole)) return false;
        double size = (double)whole;
        if (size < ten[digits - 1]) {
            exponent--;
        } else if (size > ten[digits]) {
            exponent++;
        } else {
            if (size == ten[digits]) whole /= 10, exponent++;
            out->count = put_whole(whole, out->digits);
            out->exponent = exponent;
            return true;
        }
    }
    return false;
}

void decimal_significant(double number, int digits, Decimal *out) {
    out->negative = number < 0;
    out->exponent = out->count = 0;
    number = fabs(number);
    if (!(number > 0) || isinf(number)) return;
    if (digits < 1) digits = 1;
    if (digits > DECIMAL_DIGITS_MOST) digits = DECIMAL_DIGITS_MOST;
    if (significant_quickly(number, digits, out)) return;
    char all[ALL_DIGITS];
    int count = all_digits(number, all, &out->exponent);
    round_digits(all, count, digits, &out->exponent);
    out->count = digits; /* after a carry the one digit more is a zero */
    memcpy(out->digits, all, (size_t)digits);
}

void decimal_fixed(double number, int places, Decimal *out) {
    out->negative = number < 0;
    out->exponent = out->count = 0;
    number = fabs(number);
    if (!(number > 0) || isinf(number)) return;
    if (places < 0) places = 0;
    if (places > DECIMAL_PLACES_MOST) places = DECIMAL_PLACES_MOST;
    uint64_t whole;
    if (scale_quickly(number, places, &whole)) {
        out->count = put_whole(whole, out->digits);
        out->exponent = out->count - 1 - places;
        return;
    }
    char all[ALL_DIGITS];
    int count = all_digits(number, all, &out->exponent);
    out->count = round_digits(all, count, out->exponent + 1 + places, &out->exponent);
    memcpy(out->digits, all, (size_t)out->count);
}
