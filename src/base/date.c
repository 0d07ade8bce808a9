#include "base/date.h"

uint32_t date_read(Text text) {
    static const uint32_t days[] = {31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31};
    uint32_t parts[3] = {0, 0, 0}, part = 0;
    if (text.length != 10) return 0;
    for (size_t i = 0; i < 10; i++) {
        char c = text.at[i];
        if (i == 4 || i == 7) {
            if (c != '-') return 0;
            part++;
        } else {
            if (c < '0' || c > '9') return 0;
            parts[part] = 10 * parts[part] + (uint32_t)(c - '0');
        }
    }
    if (parts[0] == 0 || parts[1] < 1 || parts[1] > 12) return 0;
    bool leap = (parts[0] % 4 == 0 && parts[0] % 100 != 0) || parts[0] % 400 == 0;
    uint32_t last = days[parts[1] - 1] + (parts[1] == 2 && leap ? 1 : 0);
    if (parts[2] < 1 || parts[2] > last) return 0;
    return parts[0] * 10000 + parts[1] * 100 + parts[2];
}
