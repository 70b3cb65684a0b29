/* Search: the best sets of valves among all combinations, without trying most of them.
 *
 * What may be left out is left out by bounds that hold, never by taste:
 *  1. a candidate that fails mounting or dirt fails them whatever stands elsewhere;
 *  2. where many sets remain, some good ones, found by improving one place after the other, are
 *     judged in every case; the last of the wanted best ones is the mark;
 *  3. a set whose dirt and service alone put it behind the mark is not solved;
 *  4. a set that falls behind the mark in any steady case is not run through surge: further cases
 *     only add failures and handicap;
 *  5. surge cases are run for the sets that stand first, and only until those that stand first have
 *     been through all: as a case only adds to a set, none behind them can come before.
 * So the first `finalists` sets are the same as if all combinations had been tried. Where more sets
 * than SEARCH_SETS_MOST remain after 3, those with the most dirt and service are left out and what
 * they have at least is told. */
#ifndef SOLVER_CHOOSE_SEARCH_H
#define SOLVER_CHOOSE_SEARCH_H

#include "solver/choose/team.h"

enum { SEARCH_SETS_MOST = 50000 };

/* Where the search changes its way; a zero stands for search_effort_default's. */
struct search_effort {
    int solved_at_once; /* so many sets are solved steadily without seeking a mark first */
    int sets_most;      /* solved at all */
};

extern const struct search_effort search_effort_default; /* 4000, SEARCH_SETS_MOST */

/* Told now and then; false stops. */
typedef bool (*choose_progress)(void *user, double share_done);

struct search_place {
    int candidate_count;
    const struct candidate *candidates; /* [candidate_count] */
};

/* How many sets went where; the counts are whole numbers as doubles. */
struct search_tally {
    double all;         /* combinations of every candidate */
    double after_alone; /* of those not refused alone (1) */
    double by_fixed;    /* dropped by 3 */
    double by_count;    /* left out as too many: not known to be worse */
    double least_left;  /* handicap, per cent, that each of those has at least; NAN: none */
    double by_steady;   /* dropped by 4 */
    double by_surge;    /* dropped by 5 */
    double judged;      /* judged in every case */
    double surge_runs;  /* trips of sets that were run */
};

struct search {
    int set_count;          /* wanted ones, at most `finalists` */
    struct valve_set *sets; /* [set_count] the best first, ranked */
    int tried_count;
    struct valve_set *tried; /* [tried_count] every set run through surge, as far as it was; where
                                there is no surge, the wanted ones */
    bool is_stopped;
    struct search_tally tally;
};

/* False: memory (team->failure). */
MUST_CHECK bool search_run(struct team *team, const struct search_place places[],
                           const struct search_effort *effort, int finalists,
                           choose_progress progress, void *user, struct search *search,
                           struct arena *arena);

#endif
