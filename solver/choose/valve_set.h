/* Valve set: one candidate at each place in question, taken together, and what all cases say of it.
 */
#ifndef SOLVER_CHOOSE_VALVE_SET_H
#define SOLVER_CHOOSE_VALVE_SET_H

#include "models/arena.h"
#include "solver/choose/candidate.h"
#include "solver/choose/envelope.h"

/* The ranking rule, per cent of handicap of a set: the largest share of the flow lost in any steady
 * case, against valves without loss (over all valves in question that let water through then)
 *  + for each valve slam_weight x its largest slam head in any surge case as per cent of the
 * allowed pressure head
 *  + debris_grade per grade of proneness to clog above 1
 *  + service_grade per step of trouble to take it out (unions 0, cover 1, flanges 1, lift out 2,
 * none 3)
 *  + part_open when in any case water flows and it does not stand fully open
 * (non_return_fully_open; it chatters and wears). */
struct choose_rule {
    double slam_weight;
    double debris_grade;
    double service_grade;
    double part_open;
};

extern const struct choose_rule choose_rule_default; /* 0.5, 2, 2, 10 */

/* One valve of a set. */
struct set_place {
    struct measures measures; /* see struct candidate */
    double slam_share;        /* the largest slam as a share of the allowed head; NAN: none known */
    int slam_at;              /* that trip, or NETWORK_NONE */
    double slam_band;         /* m, the slam head is right within this; NAN: not known */
    bool is_part_open;
    struct judgement judgements[REQUIREMENT_COUNT];
};

enum { CHOOSE_PLACES_MOST = 64 };

struct valve_set {
    int place_count;
    const struct candidate **picks; /* [place_count] */
    struct set_place *places;       /* [place_count] */
    double flow_lost;               /* share, the worst condition */
    int flow_lost_at;               /* that condition */
    int trip_count;                 /* surge cases it was run through */
    bool is_unjudged;               /* a surge run found no answer */
    int failed_count;               /* of all places */
    double handicap;                /* per cent, to 1e-6; a lower bound until every case is in */
    double handicap_band; /* per cent, right within this: slam on two grids (bands.h); NAN: not
                             known */
    int rank;             /* 1 is best; 0: not acceptable or not judged in every case */
    double delivered;     /* m3/s, the case as it stands */
    double power;         /* W then; NAN: no pump runs */
    double energy_year;   /* J for the water that a year's hours deliver with the present valves */
    double cost_year;     /* money for it; both NAN: hours, price or power not known */
};

/* Room for a set of that many places. False: memory. */
MUST_CHECK bool valve_set_take(struct valve_set *set, int place_count, struct arena *arena,
                               struct failure *failure);

/* Copies the contents; both have the same number of places. */
void valve_set_copy(struct valve_set *to, const struct valve_set *from);

/* Forgets what was found; the picks stay. Judges what holds whatever the case. */
void valve_set_start(struct valve_set *set, const struct site *site,
                     const struct choose_rule *rule);

/* Adds one condition: measures and reference[place_count] (the same with valves without loss).
 * `places` are indices in site.valves. */
void valve_set_add_steady(struct valve_set *set, const struct site *site, const int places[],
                          int condition, const struct measures reference[],
                          const struct measures found[]);

/* Adds the back heads [place_count] at rest of one site, whose first condition is `condition`. */
void valve_set_add_rest(struct valve_set *set, int site, int condition, const double back_head[]);

/* Adds one trip; `reference` may be NULL. */
void valve_set_add_surge(struct valve_set *set, const struct site *site, int trip,
                         const struct measures reference[], const struct measures found[]);

/* Failures and handicap from what was added so far; both only rise as cases are added. */
void valve_set_settle(struct valve_set *set, const struct choose_rule *rule);

/* Of the candidate alone: dirt and service, per cent. */
double valve_set_fixed(const struct choose_rule *rule, const struct non_return *valve);

/* Below 0: `a` ranks before `b`. Fewest failures, then those whose slam is known, then the least
 * handicap; the picks settle ties, so that the order never hangs on how the work was shared. */
int valve_set_compare(const struct valve_set *a, const struct valve_set *b);

/* Whether the error bands of two sets leave open which of them has less handicap. Not where a band
 * is not known. */
bool valve_set_is_near(const struct valve_set *a, const struct valve_set *b);

bool valve_set_is_same(const struct valve_set *a, const struct valve_set *b);

/* Where the same picks stand in the list, or NETWORK_NONE. */
int valve_set_find(int count, const struct valve_set list[], const struct valve_set *set);

#endif
