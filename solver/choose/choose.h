/* Choose: every suitable non-return valve at every place of a site, measured, judged and ranked.
 *
 * At each place each candidate stands alone in question; the other valves stay as the case has
 * them. The reference is a valve without loss or inertia at the same place. */
#ifndef SOLVER_CHOOSE_CHOOSE_H
#define SOLVER_CHOOSE_CHOOSE_H

#include "models/arena.h"
#include "models/site.h"
#include "solver/choose/candidate.h"

/* The ranking rule, per cent of handicap: flow lost against the reference
 *  + slam_weight x slam head as per cent of the allowed pressure head
 *  + debris_grade per grade of proneness to clog above 1 (x fibre_factor where there are fibres)
 *  + service_grade per step of trouble to take it out (unions 0, cover 1, flanges 1, lift out 2,
 * none 3)
 *  + part_open when it does not stand fully open at the steady flow (it chatters and wears). */
struct choose_rule {
    double slam_weight;
    double debris_grade;
    double service_grade;
    double part_open;
};

extern const struct choose_rule choose_rule_default; /* 0.5, 2, 2, 10 */

typedef bool (*choose_progress)(void *user, double share_done);

struct choose_options {
    struct choose_rule rule;
    bool without_surge;       /* steady and rest only */
    choose_progress progress; /* may be NULL */
    void *user;
};

struct choose_place {
    int valve; /* index in site.valves */
    struct measures reference;
    int candidate_count;
    struct candidate *candidates; /* [candidate_count] ranked ones first, then by failures */
    int accepted_count;
};

struct choose {
    bool is_stopped; /* the progress callback said so; places after that have no candidates */
    int place_count;
    struct choose_place *places; /* [place_count], in the order of site.valves */
    struct surge_plan plan;      /* the events used: the case's, or all running pumps stopping */
    bool plan_is_default;
};

/* False: memory ended, or the network cannot be worked on (failure tells). */
MUST_CHECK bool choose_run(const struct site *site, const struct choose_options *options,
                           struct choose *result, struct arena *arena, struct failure *failure);

#endif
