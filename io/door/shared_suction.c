#include "io/door/shared_suction.h"

static bool has_pump(const struct draft *draft, const struct run *run)
{
    for (int i = 0; i < draft->site->pump_place_count; i++) {
        const int link = draft->site->pump_places[i].link;
        if (link >= run->first_link && link < run->first_link + run->link_count) {
            return true;
        }
    }
    return false;
}

/* The run that alone ends at a point, where it is on the suction side and all of it before the
 * pump; else NULL. Open water has no run before it. */
static const struct run *run_before(const struct draft *draft, int point)
{
    const struct run *before = NULL;
    for (int i = 0; i < draft->network->run_count; i++) {
        const struct run *run = &draft->network->runs[i];
        if (run->to == point) {
            if (before) {
                return NULL;
            }
            before = run;
        }
    }
    const bool is_open = draft->network->points[point].is_held;
    return before && !is_open && before->is_suction && !has_pump(draft, before) ? before : NULL;
}

/* Joins the runs that lead to `run`; the first of them, or NULL where they go round in a ring. */
static const struct run *join(const struct draft *draft, struct run *run)
{
    struct network *network = draft->network;
    for (int i = 0; i < network->run_count; i++) {
        run->before = run_before(draft, run->from);
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
    for (int i = 0; i < draft->site->pump_place_count; i++) {
        struct pump_place *place = &draft->pump_places[i];
        const struct run *first = join(draft, &network->runs[network->links[place->link].run]);
        place->from_tank = first ? network->points[first->from].tank : NETWORK_NONE;
    }
}
