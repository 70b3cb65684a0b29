/* Works: the site as it stands at one moment of a filling run: a network of its own whose levels,
 * draws, pumps, passages and outlets are set, and what then flows into and out of every tank.
 *
 * A tank whose level moves is a basin and stands in one of four ways:
 *     free     between its lowest mouth and its brim: its point is held at its level;
 *     brim     at its brim with more coming in: the level stands and the rest runs over;
 *     lowest   at its lowest mouth with more wanted out than comes in: the level stands, its point
 *              is let go and takes a head below the level, and what comes in goes out;
 *     below    under its lowest mouth: nothing flows out by its runs.
 * These are the pieces of a complementarity problem (level against overflow, and against head held
 * back), so a level at a limit needs no switching to and fro. */
#ifndef SOLVER_FILLING_WORKS_H
#define SOLVER_FILLING_WORKS_H

#include "models/float_valve.h"
#include "models/pump.h"
#include "models/site.h"
#include "solver/filling/course.h"
#include "solver/filling/gate.h"
#include "solver/filling/riser.h"
#include "solver/steady/steady.h"

enum basin_way { BASIN_FREE, BASIN_BRIM, BASIN_LOWEST, BASIN_BELOW };

/* The water is down to the lowest mouth, or under it. */
static inline bool basin_is_dry(enum basin_way way)
{
    return way == BASIN_LOWEST || way == BASIN_BELOW;
}

struct basin {
    int tank;
    int point; /* its held point */
    struct filling_tank what;
    double floor;        /* m */
    double brim_volume;  /* m3 */
    double lowest_level; /* m, of its lowest mouth */
    double lowest_volume;
    double film;    /* m3, so little above the lowest mouth counts as none */
    bool has_links; /* at its point */
    enum basin_way way;
    /* Found by works_evaluate: */
    double level;       /* m */
    double by_runs_in;  /* m3/s */
    double by_runs_out; /* m3/s */
    double received;    /* overflow of other tanks */
    double run_back;    /* that drains out of pumps' runs, less what fills them before it comes */
    double fed;         /* inflow and rain */
    double evaporation;
    double leak;
    double wanted;   /* by its own draws */
    double draw;     /* of that, what it can give */
    double overflow; /* m3/s, only at the brim */
    double total;    /* m3/s that would raise the level, before overflow */
    double let_go;   /* m3/s given to the point while it is let go */
};

/* A run's end at a basin's point. */
struct mouth {
    int link;
    int basin;
    double elevation;  /* m */
    bool is_start;     /* the link begins at the basin */
    bool is_lowest;    /* the basin's way rules it */
    bool is_uncovered; /* stands above the water */
};

struct machine {
    int link;
    struct pump_unit unit; /* of this run */
    bool is_on;
    bool is_primed;
    bool is_allowed; /* by its timer */
    double power;    /* W electrical now */
    struct riser riser;
};

struct float_place {
    int link;
    int tank; /* whose level moves it; NETWORK_NONE: keeps its setting */
    struct float_valve valve;
};

struct timer_place {
    struct throttling valve; /* of FILLING_TIMER_OPENING */
    double setting;
};

struct works {
    const struct site *site;
    const struct filling_plan *plan;
    struct network *network; /* own */
    struct steady_solver *solver;
    bool *was_held; /* [point_count] the solver's pattern */
    struct steady steady;
    bool is_warm;
    int evaluations;
    int basin_count;
    struct basin *basins;
    int *basin_of_tank; /* [tank_count] or NETWORK_NONE */
    int mouth_count;
    struct mouth *mouths;
    int machine_count;
    struct machine *machines; /* in the order of plan.pumps */
    int float_count;
    struct float_place *floats;
    struct timer_place *timers; /* [plan.timer_count] */
    struct gate *gates;         /* [link_count] */
    int gated_count;
    int *gated;                /* links that may need their gate */
    struct course_line *draws; /* [plan.draw_count] of this stretch */
    struct course_line tariff;
    int edge_count;
    int *edges;   /* held points that are no basin's */
    int *edge_of; /* [point_count] or NETWORK_NONE */
    double *sum;  /* [point_count] workspace, net flow into each point */
};

/* Puts the site together for a run. Keep it in `arena`; works_clear gives back the solver. */
MUST_CHECK bool works_init(struct works *works, const struct site *site, struct arena *arena,
                           struct failure *failure);
void works_clear(struct works *works);

/* Takes draws, tariff and timers of the stretch that begins at `clock` s. */
void works_begin_stretch(struct works *works, double clock);

/* Solves with these volumes [basin_count] m3 at `clock` s. */
MUST_CHECK bool works_evaluate(struct works *works, double clock, const double volume[],
                               struct failure *failure);

/* Only the basins' levels at these volumes; nothing is solved. */
void works_set_levels(struct works *works, const double volume[]);

/* The last evaluation found an answer. */
bool works_has_answer(const struct works *works);

/* Level m of any tank after works_evaluate; a fixed tank's own. */
double works_level(const struct works *works, int tank);

/* Level m of the tank that a pump's run begins at, where its riser can drain. */
double works_source_level(const struct works *works, int machine);

/* A basin's volume at level `level` m. */
double basin_volume(const struct basin *basin, double level);

#endif
