#include "solver/filling/riser.h"

#include "models/pipe.h"
#include "models/pump.h"
#include "models/root.h"

#include <math.h>

/* m3: so little in a pipe counts as none. */
static const double drop_of_water = 1e-9;

static const struct pipe *pipe_of(const struct link *link)
{
    return link->element->pipe ? link->element->pipe(link->data) : NULL;
}

/* The one link that leads on from a free point where just two meet, else NETWORK_NONE. */
static int only_way_on(const struct network *network, int point, int from_link)
{
    int found = NETWORK_NONE;
    int count = 0;
    for (int e = 0; e < network->link_count; e++) {
        if (network->links[e].from == point || network->links[e].to == point) {
            count++;
            found = e != from_link ? e : found;
        }
    }
    return count == 2 ? found : NETWORK_NONE;
}

/* Only the last link, whose mouth stands in the air, may refuse what would flow back. */
static bool holds_water(const struct riser *riser, int index)
{
    const struct link *link = &riser->network->links[index];
    if (link->element->opening) {
        return true;
    }
    return index != riser->last_link &&
           !(link->element->span(link->data, riser->water).lower < 0.0);
}

static int link_after(const struct riser *riser, int index)
{
    const struct run *run = &riser->network->runs[riser->network->links[index].run];
    return index + 1 < run->first_link + run->link_count ? index + 1 : riser->last_link;
}

void riser_init(struct riser *riser, const struct network *network, const struct water *water,
                int pump_link)
{
    *riser = (struct riser){.network = network, .water = water, .pump_link = pump_link};
    if (network->links[pump_link].run == NETWORK_NONE) {
        return;
    }
    const struct run *run = &network->runs[network->links[pump_link].run];
    riser->first_link = run->first_link;
    riser->last_link = run->first_link + run->link_count - 1;
    riser->source = network->links[riser->first_link].from;
    riser->end = network->links[riser->last_link].to;
    if (!network->points[riser->end].is_held) { /* an outlet's mouth is a link of its own */
        const int on = only_way_on(network, riser->end, riser->last_link);
        if (on == NETWORK_NONE || network->links[on].from != riser->end) {
            riser->is_unknown = network->points[riser->source].tank != NETWORK_NONE;
            for (int e = riser->first_link; e <= riser->last_link; e++) {
                riser->is_unknown = riser->is_unknown && !holds_water(riser, e);
            }
            return;
        }
        riser->last_link = on;
        riser->end = network->links[on].to;
    }
    const struct point *source = &network->points[riser->source];
    const struct point *end = &network->points[riser->end];
    const bool is_in_air = end->tank == NETWORK_NONE
                               ? network->links[riser->last_link].run == NETWORK_NONE
                               : network->tanks[end->tank].point != riser->end;
    riser->mouth = end->elevation;
    riser->can_drain = source->tank != NETWORK_NONE && end->is_held && is_in_air;
    for (int e = riser->first_link; riser->can_drain; e = link_after(riser, e)) {
        riser->can_drain = !holds_water(riser, e);
        if (e == riser->last_link) {
            break;
        }
    }
    riser->way = RISER_FULL;
}

void riser_start_drained(struct riser *riser)
{
    riser->way = riser->can_drain ? RISER_DRAINED : RISER_FULL;
}

static double pipe_capacity(const struct pipe *pipe, double level)
{
    double volume = 0.0;
    for (int i = 1; i < pipe->profile_count; i++) {
        volume += pipe_volume_above(pipe, pipe->profile_distance[i - 1], pipe->profile_distance[i],
                                    level);
    }
    return pipe->profile_count == 0 ? pipe_volume_above(pipe, 0.0, pipe->friction.length, level)
                                    : volume;
}

double riser_capacity(const struct riser *riser, double level)
{
    double volume = 0.0;
    for (int e = riser->first_link; riser->can_drain; e = link_after(riser, e)) {
        const struct pipe *pipe = pipe_of(&riser->network->links[e]);
        volume += pipe ? pipe_capacity(pipe, level) : 0.0;
        if (e == riser->last_link) {
            break;
        }
    }
    return volume;
}

struct column {
    const struct riser *riser;
    double head; /* m, of the column over the tank's level */
};

/* Head lost by a flow backward, the pump at rest, less the head there is. */
static struct root_value surplus(const void *user, double flow)
{
    const struct column *column = user;
    const struct riser *riser = column->riser;
    struct root_value value = {-column->head, 0.0};
    for (int e = riser->first_link;; e = link_after(riser, e)) {
        const struct link *link = &riser->network->links[e];
        const void *data = link->data;
        struct pump_unit resting;
        if (e == riser->pump_link) {
            const struct pump_unit *unit = link->data;
            resting = *unit;
            resting.is_running = false;
            data = &resting;
        }
        if (e != riser->last_link || pipe_of(link)) {
            const struct drop drop = link->element->drop(data, riser->water, -flow);
            value.value -= drop.head;
            value.slope += drop.slope;
        }
        if (e == riser->last_link) {
            return value;
        }
    }
}

/* m3/s; without any loss that could hold it the whole column in a second. */
static double drain_rate(const struct riser *riser, double level, double volume)
{
    const struct column column = {riser, riser->mouth - level};
    const double first = root_find(surplus, &column, 1e-3, 0.0, INFINITY);
    return isfinite(first) && first > 0.0 ? fmin(0.5 * first, volume) : volume;
}

bool riser_settle(struct riser *riser, bool is_on, double level, double missing)
{
    if (!riser->can_drain) {
        return false;
    }
    const enum riser_way before = riser->way;
    if (is_on) {
        riser->way = missing > drop_of_water ? RISER_FILLS : RISER_FULL;
    } else if (before != RISER_DRAINED) {
        const double left = riser_capacity(riser, level) - missing;
        riser->way = left > drop_of_water ? RISER_DRAINS : RISER_DRAINED;
        if (riser->way == RISER_DRAINS && before != RISER_DRAINS) {
            riser->drain = drain_rate(riser, level, left);
        }
    }
    return riser->way != before;
}

double riser_root(const struct riser *riser, double level, double missing)
{
    switch (riser->way) {
    case RISER_DRAINS:
        return riser_capacity(riser, level) - missing - 0.5 * drop_of_water;
    case RISER_FILLS:
        return missing - 0.5 * drop_of_water;
    case RISER_FULL:
    case RISER_DRAINED:
        break;
    }
    return 1.0;
}
