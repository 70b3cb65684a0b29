/* Account: the unknowns of a filling run in one row: volumes of the basins first, then the running
 * sums of all that crosses an edge, of energy and of cost. */
#ifndef SOLVER_FILLING_ACCOUNT_H
#define SOLVER_FILLING_ACCOUNT_H

#include "solver/filling/filling.h"
#include "solver/filling/works.h"

/* Sums of one basin, m3 but for the last. */
enum basin_sum {
    BASIN_SUM_IN,
    BASIN_SUM_OUT,
    BASIN_SUM_OVERFLOW,
    BASIN_SUM_OVERFLOW_AWAY, /* of that, what leaves the site */
    BASIN_SUM_FED,
    BASIN_SUM_EVAPORATION,
    BASIN_SUM_LEAK,
    BASIN_SUM_DRAW,
    BASIN_SUM_WANTED,
    BASIN_SUM_VOLUME_TIME, /* m3 s */
    BASIN_SUMS
};

enum pump_sum {
    PUMP_SUM_VOLUME,
    PUMP_SUM_BACK,
    PUMP_SUM_ENERGY,
    PUMP_SUM_COST,
    PUMP_SUM_MISSING, /* m3 run out of its pipe and not yet filled again */
    PUMP_SUMS
};

/* Draws at points, m3. */
enum point_sum { POINT_SUM_DRAWN, POINT_SUM_FED, POINT_SUM_WANTED, POINT_SUMS };

/* Draws that fall with the pressure, m3; what they give leaves by an edge. */
enum draw_sum { DRAW_SUM_WANTED, DRAW_SUM_GIVEN, DRAW_SUMS };

struct account {
    const struct works *works;
    int count;
    int pump_start;
    int point_start;
    int edge_start;
    int run_start;
    int draw_start;  /* DRAW_SUMS, where there is any such draw */
    int draw_count;  /* links that are such draws */
    int *draws;      /* [draw_count] */
    int run_count;   /* runs followed, all or none; m3 that passed through each */
    double *y;       /* [count] now */
    double *start;   /* [basin_count] m3 */
    double *missing; /* [machine_count] m3 that were run out of the pumps' pipes at the start */
    double *scale;   /* [count] of error control; infinite: none, it follows others */
};

/* Levels of the case; above the brim counts as full. */
MUST_CHECK bool account_init(struct account *account, const struct works *works,
                             struct arena *arena, struct failure *failure);

static inline int account_basin(const struct account *account, int basin, enum basin_sum sum)
{
    return account->works->basin_count + basin * BASIN_SUMS + (int)sum;
}

static inline int account_pump(const struct account *account, int pump, enum pump_sum sum)
{
    return account->pump_start + pump * PUMP_SUMS + (int)sum;
}

/* Rates [count] of everything after works_evaluate at `clock` with `y`. */
void account_rates(const struct account *account, double clock, const double y[], double rate[]);

/* Balance, tanks, runs, pumps and edges of the result after `duration` s; levels at the end are
 * works'. */
void account_close(const struct account *account, double duration, struct filling *result);

#endif
