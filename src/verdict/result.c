#include "verdict/result.h"

Text verdict_word(Verdict verdict) {
    static const char *const words[] = {"met", "at risk", "not met", "open", "conceded"};
    return verdict < VERDICT_COUNT ? text_from(words[verdict]) : (Text){0};
}

int result_status(const Result *result, VerdictPolicy policy) {
    if (result->messages->machine_errors > 0) return 3;
    if (result->messages->errors > 0) return 2;
    if (result->count[VERDICT_NOT_MET] > 0) return 1;
    if (result->count[VERDICT_AT_RISK] > 0 && !policy.accept_at_risk) return 1;
    if (result->count[VERDICT_OPEN] > 0 && !policy.accept_open) return 1;
    return 0;
}
