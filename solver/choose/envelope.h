/* Envelope: every case that a choice of valves must hold in: waters and levels, which pumps run,
 * and which of them then lose their power. */
#ifndef SOLVER_CHOOSE_ENVELOPE_H
#define SOLVER_CHOOSE_ENVELOPE_H

#include "models/arena.h"
#include "models/site.h"

/* A site in one water with one set of levels. All sites of an envelope have the same parts. */
struct envelope_site {
    const struct site *site;
    const char *name; /* "4 degC, spring at -0.6 m"; "" when there is only the case itself */
};

/* A steady case: one site with some of its pumps running. */
struct condition {
    int site;
    const bool *runs; /* [pump_place_count] */
    const char *name; /* "lift-1 alone, 4 degC" */
};

/* A surge case: a condition, and what then happens. */
struct trip {
    int condition;
    struct surge_plan plan;
    const char *name; /* "lift-2 fails, lift-1 runs on, 4 degC" */
};

struct envelope {
    int site_count;
    const struct envelope_site *sites;
    int condition_count;
    struct condition *conditions; /* [condition_count]; the first is the case as it stands */
    int trip_count;
    struct trip *trips;   /* [trip_count] */
    bool plan_is_default; /* the case has no events: all running pumps lose their power */
};

/* Conditions: the case as it stands; then in every site of the envelope the pumps that run in the
 * case, all together and each alone (the latter not where site.choose.pumps_as_stated). Trips: in
 * each condition the case's events, or all running pumps stopping where it has none; with one pump
 * alone that pump stops; with several together also each by itself while the others run on. Events
 * that are no stops happen in all. sites[0] is the case. Made in `arena`. False: memory. */
MUST_CHECK bool envelope_init(struct envelope *envelope, int site_count,
                              const struct envelope_site sites[], bool without_surge,
                              struct arena *arena, struct failure *failure);

#endif
