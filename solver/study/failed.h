/* Failed: what followed as one thing failed, and how grave each of its consequences is.
 * One scale for the order of the table, its words and the squares of the picture:
 *
 *                      slight        serious        grave
 *   pressure           > 90 %                       > 100 % of what the pipe allows at that
 *                                                   temperature (its standard's rating)
 *   boiling            < 2 m                        boils: columns part and meet again (Wylie &
 *                      above it                     Streeter 1993, ch. 8); within 2 m air comes out
 *   tank over, dry     later         < 1 day        < 1 h: before anybody can be there; a day is
 * the usual round (common practice) water pumped       < 95 %        < 50 %         < 5 % of the
 * sound site's prime                            may be lost runs back          any           > 5 %
 * > 50 % of the sound site's flow pump spins back    any           > 50 %         > 100 % of rated
 * speed, for which its rotor is built and balanced (common practice; the makers' own limits rule)
 *
 * A valve's pressure and boiling are slight at most where they are no worse than when the power
 * fails with every valve sound: that row tells them. */
#ifndef SOLVER_STUDY_FAILED_H
#define SOLVER_STUDY_FAILED_H

#include "solver/study/failed_site.h"

/* The gravest kind first: of consequences as grave as one another the first names the row. */
enum consequence {
    CONSEQUENCE_PRESSURE,
    CONSEQUENCE_BOILING,
    CONSEQUENCE_OVERFLOW,
    CONSEQUENCE_DRY,
    CONSEQUENCE_WATER,
    CONSEQUENCE_PRIME,
    CONSEQUENCE_BACK,
    CONSEQUENCE_SPIN,
    CONSEQUENCE_COUNT
};

enum severity {
    SEVERITY_NONE,
    SEVERITY_SLIGHT,
    SEVERITY_SERIOUS,
    SEVERITY_GRAVE,
    SEVERITY_UNKNOWN /* some steady answer was not found; only of a whole row */
};

struct failed {
    enum failed_kind kind;
    int link;             /* the valve or pump; NETWORK_NONE */
    bool is_solved;       /* every steady answer was found */
    bool is_surged;       /* the surge run ended */
    double delivered;     /* m3/s through the running pumps */
    double flow_back;     /* m3/s backward through the valve or a pump, running or at rest, >= 0 */
    int back_link;        /* where; NETWORK_NONE */
    int overflow_tank;    /* index; NETWORK_NONE: none does */
    double overflow_time; /* s; NAN */
    int dry_tank;
    double dry_time;      /* s; NAN */
    bool loses_prime;     /* a foot valve that does not hold below a pump above the water */
    double highest_share; /* of what the pipe allows; NAN */
    double lowest_margin; /* m above boiling; NAN */
    double lowest_speed;  /* share of rated, of the pump that turns backward most; NAN */
    int backward_pump;    /* its link; NETWORK_NONE: none turns backward */

    enum severity severity[CONSEQUENCE_COUNT];
    enum severity worst;   /* of them; the table stands in this order, the worst first */
    enum consequence what; /* the first consequence that is so */
};

/* "none", "slight" ... */
const char *severity_text(enum severity severity);

/* "above the pipe's class", "a pump spins back" ... */
const char *consequence_text(enum consequence consequence);

/* Whether a valve is what failed. */
bool failed_is_valve(const struct failed *item);

/* Fills severity, worst and what. `sound`: the site without a failure. */
void failed_grade(struct failed *item, const struct failed *sound);

/* For qsort: the worst first; of those as grave the gravest kind, then the more consequences as
 * grave, the highest pressure where that is it, the soonest tank, the most water back, the fastest
 * pump; last as the case lists them. */
int failed_compare(const void *left, const void *right);

#endif
