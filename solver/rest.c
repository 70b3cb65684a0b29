#include "solver/rest.h"

#include "models/fitting.h"

#include <math.h>
#include <string.h>

struct rest {
    const struct site *site;
    struct network *network;   /* copy whose links are changed */
    struct pump_unit *stopped; /* [pump_place_count] */
    struct fitting *held_open; /* [valve_count] */
    struct steady steady;
};

struct rest *rest_new(const struct site *site, struct arena *arena, struct failure *failure)
{
    struct rest *rest = arena_take(arena, 1, sizeof *rest);
    if (!rest) {
        (void)fail_memory(failure, "the state of rest");
        return NULL;
    }
    rest->site = site;
    rest->network = network_copy(site->network, arena);
    rest->stopped = arena_take(arena, (size_t)site->pump_place_count, sizeof *rest->stopped);
    rest->held_open = arena_take(arena, (size_t)site->valve_count, sizeof *rest->held_open);
    if (!rest->network || !rest->stopped || !rest->held_open) {
        (void)fail_memory(failure, "the state of rest");
        return NULL;
    }
    return steady_init(&rest->steady, rest->network, arena, failure) ? rest : NULL;
}

void rest_stop_pumps(const struct site *site, struct network *network, struct pump_unit stopped[])
{
    for (int i = 0; i < site->pump_place_count; i++) {
        struct link *link = &network->links[site->pump_places[i].link];
        stopped[i] = *(const struct pump_unit *)link->data;
        stopped[i].is_running = false;
        link->data = &stopped[i];
    }
}

static void hold_open(struct rest *rest, int place)
{
    struct link *link = &rest->network->links[rest->site->valves[place].link];
    const struct non_return *valve = link->data;
    rest->held_open[place] = (struct fitting){.area = link->area,
                                              .loss = valve->full_open_loss,
                                              .loss_back = valve->full_open_loss,
                                              .laminar = 0.0};
    link->element = &fitting_element;
    link->data = &rest->held_open[place];
}

static void hold_others_open(struct rest *rest, int kept)
{
    const int run = rest->network->links[kept].run;
    for (int i = 0; i < rest->site->valve_count; i++) {
        const int link = rest->site->valves[i].link;
        if (link != kept && rest->network->links[link].run == run && run != NETWORK_NONE) {
            hold_open(rest, i);
        }
    }
}

/* Valves of other runs stand in line with the one in question too where they part it from every
 * head: a foot valve that two pumps share, or one valve in the main behind each pump's own. In line
 * are those that let water into the part before it, and out of the part behind it; a valve beside
 * it, such as the other pump's, lets water out of the part before it, and stays. Whether any was
 * opened. */
static bool hold_in_line_open(struct rest *rest, int kept)
{
    const struct network *network = rest->network;
    const int *zone = rest->steady.zone;
    const int before = zone[network->links[kept].from];
    const int behind = zone[network->links[kept].to];
    bool is_opened = false;
    for (int i = 0; i < rest->site->valve_count; i++) {
        const int at = rest->site->valves[i].link;
        const struct link *link = &network->links[at];
        const int from = zone[link->from];
        const int to = zone[link->to];
        const bool leads_in = before != NETWORK_NONE && to == before && from != before;
        const bool leads_out = behind != NETWORK_NONE && from == behind && to != behind;
        if (at != kept && link->element != &fitting_element && (leads_in || leads_out)) {
            hold_open(rest, i);
            is_opened = true;
        }
    }
    return is_opened;
}

/* Head of a point, or, in a zone without any held head, the lowest head at which water leaves the
 * zone through a one-way link; NAN when there is none. */
static double standing_head(const struct rest *rest, int point)
{
    const struct network *network = rest->network;
    const int zone = rest->steady.zone[point];
    if (zone == NETWORK_NONE) {
        return rest->steady.head[point];
    }
    double spill = (double)INFINITY;
    for (int i = 0; i < network->link_count; i++) {
        const struct link *link = &network->links[i];
        if (rest->steady.zone[link->from] != zone || rest->steady.zone[link->to] != NETWORK_NONE) {
            continue;
        }
        const struct span span = link->element->span(link->data, &rest->site->water);
        if (span.upper > 0.0) {
            const struct drop drop = link->element->drop(link->data, &rest->site->water, 0.0);
            spill = fmin(spill, rest->steady.head[link->to] + drop.head);
        }
    }
    return isfinite(spill) ? spill : (double)NAN;
}

bool rest_back_head(struct rest *rest, struct steady_solver *solver, const struct network *network,
                    int link, double *back_head, struct failure *failure)
{
    *back_head = (double)NAN;
    memcpy(rest->network->links, network->links,
           (size_t)network->link_count * sizeof *network->links);
    rest_stop_pumps(rest->site, rest->network, rest->stopped);
    hold_others_open(rest, link);
    do { /* at most once for each valve: each time one more is open */
        if (!steady_solve(solver, rest->network, &rest->site->water, &steady_defaults,
                          &rest->steady, failure)) {
            return false;
        }
    } while (rest->steady.ending == STEADY_CONVERGED && hold_in_line_open(rest, link));
    if (rest->steady.ending == STEADY_CONVERGED) {
        const struct link *valve = &network->links[link];
        *back_head = standing_head(rest, valve->to) - standing_head(rest, valve->from);
    }
    return true;
}
