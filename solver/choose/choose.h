/* Choose: the best sets of non-return valves for the places of a site, over everything that may
 * befall it, and what each suitable valve at each place would do in the best set. */
#ifndef SOLVER_CHOOSE_CHOOSE_H
#define SOLVER_CHOOSE_CHOOSE_H

#include "models/arena.h"
#include "models/site.h"
#include "solver/choose/candidate.h"
#include "solver/choose/envelope.h"
#include "solver/choose/search.h"
#include "solver/choose/valve_set.h"

struct choose_options {
    struct choose_rule rule;
    struct search_effort effort; /* zeros: search_effort_default */
    bool without_surge;          /* steady and rest only */
    choose_progress progress;    /* may be NULL */
    void *user;
};

struct choose_place {
    int valve;                 /* index in site.valves */
    struct measures reference; /* the case as it stands, with valves without loss at all places */
    int candidate_count;
    /* [candidate_count] each with the best set at all other places; ranked ones first, then open
     * ones, which were not run through every surge case, so that their handicap is the least it can
     * be, then by failures. */
    struct candidate *candidates;
    int accepted_count; /* ranked */
    int open_count;
};

struct choose {
    bool is_stopped; /* the progress callback said so; no sets, no candidates */
    int place_count;
    struct choose_place *places; /* [place_count], in the order of site.valves */
    struct envelope envelope;    /* every case the choice was held against */
    int set_count;
    struct valve_set *sets;   /* [set_count] the best first, judged in every case */
    struct valve_set present; /* the valves of the case, all together; in how many trips it tells */
    struct search_tally tally;
    int band_runs; /* surge runs at half the step, for the error bands of the best sets */
};

/* `sites` [site_count]: the case as it stands first, then, where the case names waters or levels,
 * one for each of their combinations; all with the same parts. Rules and limits are those of the
 * first. False: memory ended, or the network cannot be worked on (failure tells). */
MUST_CHECK bool choose_run(int site_count, const struct envelope_site sites[],
                           const struct choose_options *options, struct choose *result,
                           struct arena *arena, struct failure *failure);

#endif
