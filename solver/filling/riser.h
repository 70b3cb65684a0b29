/* Riser: the water in a pump's run that drains back when the pump stops.
 * A run drains when it begins at a tank, ends at a mouth in the air above that tank's water, and
 * nothing in it holds water back (no non-return valve, no one-way limiter). Then all that stands
 * above the tank's level runs back, and the next start has to fill it again before any water comes
 * out at the mouth.
 *
 * Rate of draining: the mean of a column whose losses go with flow squared, half the flow with
 * which it begins (as an orifice under falling head; Torricelli, any textbook of hydraulics). Not
 * told: what later changes of the tank's level do to the column that is left, the part of it that a
 * run with branches would share, and that a run whose end stood under water drains once that has
 * fallen dry (another inflow may cover it again and fill the pipe from above). What stands beyond a
 * summit is taken to be drawn back over it; that it may run out at the mouth instead is a finding
 * (solver/findings/summits.c). */
#ifndef SOLVER_FILLING_RISER_H
#define SOLVER_FILLING_RISER_H

#include "models/network.h"
#include "models/water.h"

enum riser_way {
    RISER_FULL,
    RISER_DRAINS, /* the pump stands and water runs back */
    RISER_DRAINED,
    RISER_FILLS /* the pump runs, nothing comes out yet */
};

struct riser {
    const struct network *network; /* of the case: laws without gates */
    const struct water *water;
    bool can_drain;  /* all else means something only then */
    bool is_unknown; /* its run branches and nothing in it holds water: what drains is not known */
    int pump_link;
    int first_link;
    int last_link; /* whose end is the mouth; the links between are in series */
    int source;    /* point of the tank it begins at */
    int end;       /* point in the air */
    double mouth;  /* m, elevation */
    enum riser_way way;
    double drain; /* m3/s that runs back while it drains */
    double rate;  /* m3/s by which it empties now; < 0: it fills */
};

void riser_init(struct riser *riser, const struct network *network, const struct water *water,
                int pump_link);

/* Its pump was at rest long before the start. */
void riser_start_drained(struct riser *riser);

/* m3 in its pipes above `level` m. */
double riser_capacity(const struct riser *riser, double level);

/* Brings it to where it belongs with its pump on or off, the tank before it at `level` m and
 * `missing` m3 run out of it; true: something changed. */
bool riser_settle(struct riser *riser, bool is_on, double level, double missing);

/* A number that changes sign where it is drained or full. */
double riser_root(const struct riser *riser, double level, double missing);

#endif
