#include "syntax/number.h"

#include <stdint.h>
#include <stdlib.h>

/* The digits go to strtod as a whole number with an exponent: there is no point in it that a locale could change. What
 * comes after 800 digits can only break a tie, so one more digit stands for all of it. */
double number_read(Text text) {
    enum { DIGITS = 800 };
    char buffer[DIGITS + 32];
    size_t count = 0, i = 0;
    int64_t scale = 0, exponent = 0;
    bool fraction = false, rest = false;
    for (; i < text.length && (text.at[i] | 32) != 'e'; i++) {
        char c = text.at[i];
        if (c == '.') {
            fraction = true;
            continue;
        }
        if (count < DIGITS) {
            if (count || c != '0') buffer[count++] = c;
            scale -= fraction;
        } else {
            rest |= c != '0';
            scale += !fraction;
        }
    }
    if (!count) return 0;
    if (i < text.length) {
        bool down = text.at[++i] == '-';
        if (text.at[i] == '-' || text.at[i] == '+') i++;
        for (; i < text.length; i++)
            if (exponent < 4000000000) exponent = exponent * 10 + (text.at[i] - '0');
        if (down) exponent = -exponent;
    }
    if (rest) {
        buffer[count++] = '1';
        scale--;
    }
    exponent += scale;
    int64_t size = exponent + (int64_t)count; /* the number is below 10^size, and not below 10^(size - 1) */
    if (size > 400) return 1e308 * 1e308;
    if (size < -400) return 0;
    buffer[count++] = 'e';
    if (exponent < 0) buffer[count++] = '-';
    uint64_t left = (uint64_t)(exponent < 0 ? -exponent : exponent), unit = 1;
    while (unit <= left / 10) unit *= 10;
    for (; unit; unit /= 10) buffer[count++] = (char)('0' + left / unit % 10);
    buffer[count] = '\0';
    return strtod(buffer, NULL);
}
