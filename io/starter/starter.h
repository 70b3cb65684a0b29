/* Starter: a first case file of one of a few common sites, for a person to go on from.
 * Whatever is chosen, the file can be read, solved, run through a surge and chosen for as it is;
 * its sizes are constructed so (about 1 m/s in each pipe, pumps near their best flow) and describe
 * no real place. Comments say what to measure. */
#ifndef IO_STARTER_STARTER_H
#define IO_STARTER_STARTER_H

#include <stdbool.h>
#include <stdio.h>

/* The words of each choice stand in this order in starter_kinds and its like. */
enum starter_kind { STARTER_POND, STARTER_RAIN, STARTER_SPRING, STARTER_SUMP };
enum starter_pump { STARTER_ABOVE, STARTER_BESIDE, STARTER_UNDER };
enum starter_valves { STARTER_DELIVERY, STARTER_FOOT, STARTER_BOTH };

enum { STARTER_PUMPS_MAX = 2, STARTER_TANKS_MAX = 3 };

struct starter {
    enum starter_kind kind;     /* what water comes from, and so what is in it */
    enum starter_pump pump;     /* above the water that it sucks, beside it, or under it */
    enum starter_valves valves; /* where each pump has a non-return valve */
    int pump_count;             /* 1 .. STARTER_PUMPS_MAX, side by side */
    int tank_count;             /* 1 .. STARTER_TANKS_MAX, filled below their water */
};

/* Blanks between, in the order of the enums. */
extern const char starter_kinds[];
extern const char starter_pumps[];
extern const char starter_valve_places[];

/* Why these choices do not go together, with what to do; NULL: they do. */
const char *starter_refusal(const struct starter *starter);

/* Writes the case file. */
void starter_write(const struct starter *starter, FILE *out);

#endif
