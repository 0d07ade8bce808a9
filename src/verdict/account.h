/* How a value came to be: its formula with names and with numbers, whose it is, and the same for what it depends on.
 *
 * Made only for a request that explains (plan/program.h): for every value and verdict of a report to a depth of one, for a
 * path that is asked about to the depth asked for. Free of any format, like the Result that holds it; all texts are ready
 * to show.
 * Owns: everything in it, in the arena of the check. */
#ifndef TRUNNION_VERDICT_ACCOUNT_H
#define TRUNNION_VERDICT_ACCOUNT_H

#include "verdict/result.h"

/* One formula. */
typedef struct AccountLine {
    Text label;   /* "formula", "default", "shall", "when", "needs" */
    Text formula; /* with names, as written */
    Text numbers; /* the same with numbers and units put in; empty where it names nothing */
    Text instant; /* of the numbers, where it is not the account's: "at 0.7 s of exchange, in raise" */
} AccountLine;

typedef struct Account Account;
struct Account {
    Text path;    /* lift-screw.torque: the anchor of the value; LIFT-4 */
    Text written; /* what the formula that depends on it calls it, when that is something else: stage.torque */
    Text value;   /* 32.81 mN·m; of a signal its range over the cycle, or, within a formula at an instant, its value there */
    Text instant; /* "at 3.27 s of exchange, in raise": of the numbers; empty when they are the same at all times, and
                   * when the account above has the same */
    Text extreme; /* what it reaches there: "peak", "maximum", "minimum"; empty where the instant is somebody else's */
    Text there;   /* the value at the instant, where `value` is a range; else empty */
    Text title;   /* docstring */
    VECTOR(AccountLine) lines;
    Text stated;  /* the value as its author wrote it: 8.2 Ω ± 8 %; empty when it was not stated */
    Text bounds;  /* "7.544 Ω to 8.856 Ω" */
    Text cites, valid;
    Text place;   /* "lift.trn.md:41", "slide of stdlib/mechanics.trn": where the formula stands, or the value is stated */
    TextVector remarks; /* whole sentences: fixed points, what a cycle sets, why there is no value */
    TextVector missing; /* paths of the facts whose absence makes it unknown */
    VECTOR(const Account *) rests_on; /* in the order in which the formula names them; empty below the depth asked for */
    VECTOR(const Account *) names;    /* the same with nothing but path and value: always */
    const Finding *finding; /* of a requirement, rule or agreement */
    Text verdict; /* of a rule or caution that no finding tells of: "does not apply", "applies"; else empty */
    bool repeated; /* told further up already: nothing but path and value here */
};

typedef VECTOR(const Account *) AccountVector;

#endif
