#include "io/door/shared_suction.h"

enum { SEVERAL = -2 };

/* Of each point and run what is asked again and again. */
struct run_ends {
    int *run_to;    /* [point_count] the run that alone ends there; NETWORK_NONE; SEVERAL */
    bool *has_pump; /* [run_count] */
};

static bool ends_init(struct run_ends *ends, struct draft *draft)
{
    const struct network *network = draft->network;
    ends->run_to = draft_take(draft, (size_t)network->point_count, sizeof *ends->run_to);
    ends->has_pump = draft_take(draft, (size_t)network->run_count, sizeof *ends->has_pump);
    if (!ends->run_to || !ends->has_pump) {
        return false; /* told */
    }
    for (int i = 0; i < network->point_count; i++) {
        ends->run_to[i] = NETWORK_NONE;
    }
    for (int i = 0; i < network->run_count; i++) {
        int *there = &ends->run_to[network->runs[i].to];
        *there = *there == NETWORK_NONE ? i : SEVERAL;
    }
    for (int i = 0; i < draft->site->pump_place_count; i++) {
        ends->has_pump[network->links[draft->site->pump_places[i].link].run] = true;
    }
    return true;
}

/* The run that alone ends at a point, where it is on the suction side and all of it before the
 * pump; else NULL. Open water has no run before it. */
static const struct run *run_before(const struct network *network, const struct run_ends *ends,
                                    int point)
{
    const int index = ends->run_to[point];
    if (index < 0 || network->points[point].is_held) {
        return NULL;
    }
    const struct run *before = &network->runs[index];
    return before->is_suction && !ends->has_pump[index] ? before : NULL;
}

/* Joins the runs that lead to `run`; the first of them, or NULL where they go round in a ring. */
static const struct run *join(const struct network *network, const struct run_ends *ends,
                              struct run *run)
{
    for (int i = 0; i < network->run_count; i++) {
        run->before = run_before(network, ends, run->from);
        if (!run->before) {
            return run;
        }
        run = &network->runs[run->before - network->runs];
    }
    run->before = NULL;
    return NULL;
}

void shared_suction_find(struct draft *draft)
{
    const struct network *network = draft->network;
    struct run_ends ends;
    if (!ends_init(&ends, draft)) {
        return;
    }
    for (int i = 0; i < draft->site->pump_place_count; i++) {
        struct pump_place *place = &draft->pump_places[i];
        const struct run *first =
            join(network, &ends, &network->runs[network->links[place->link].run]);
        place->from_tank = first ? network->points[first->from].tank : NETWORK_NONE;
    }
}
