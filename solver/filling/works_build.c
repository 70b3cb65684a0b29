#include "solver/filling/works.h"

#include <math.h>
#include <string.h>

/* Share of a full tank that counts as none above its lowest mouth: 3 micrometres in 3 m, and small
 * beside what a step's error control lets by. */
static const double film_share = 1e-9;

static bool take(struct arena *arena, void *where, int count, size_t size, struct failure *failure)
{
    void *room = arena_take(arena, (size_t)count, size);
    memcpy(where, &room, sizeof room);
    return room || fail_memory(failure, "the filling run");
}

static struct filling_tank tank_words(const struct works *works, int index)
{
    if (works->plan->tanks) {
        return works->plan->tanks[index];
    }
    const struct tank *tank = &works->network->tanks[index];
    return (struct filling_tank){.shape = tank_shape_upright(tank->area, tank->brim - tank->floor),
                                 .catchment = tank->area,
                                 .overflow_to = NETWORK_NONE};
}

static bool add_basin(struct works *works, int index, struct failure *failure)
{
    const struct tank *tank = &works->network->tanks[index];
    struct basin *basin = &works->basins[works->basin_count];
    works->basin_of_tank[index] = NETWORK_NONE;
    if (tank->is_fixed) {
        return true;
    }
    *basin = (struct basin){.tank = index,
                            .point = tank->point,
                            .what = tank_words(works, index),
                            .floor = tank->floor,
                            .level = tank->level,
                            .lowest_level = INFINITY};
    if (!tank_shape_check(&basin->what.shape, tank->name, tank->place, failure)) {
        return false;
    }
    if (tank->brim > tank->floor + basin->what.shape.height * (1.0 + 1e-12)) {
        return fail(failure, FAILURE_INPUT, tank->place,
                    "tank '%s': its brim is %.4g m above its floor, but its shape only %.4g m high",
                    tank->name, tank->brim - tank->floor, basin->what.shape.height);
    }
    basin->brim_volume = basin_volume(basin, tank->brim);
    basin->film = film_share * basin->brim_volume;
    works->basin_of_tank[index] = works->basin_count++;
    return true;
}

static double mouth_elevation(const struct works *works, int link, const struct basin *basin)
{
    for (int i = 0; i < works->plan->mouth_count; i++) {
        const struct filling_mouth *mouth = &works->plan->mouths[i];
        if (mouth->link == link && mouth->tank == basin->tank) {
            return fmax(mouth->elevation, basin->floor);
        }
    }
    return basin->floor;
}

static void find_mouths(struct works *works)
{
    const struct network *network = works->network;
    for (int e = 0; e < 2 * network->link_count; e++) {
        const bool is_start = e % 2 == 0;
        const struct link *link = &network->links[e / 2];
        const int point = is_start ? link->from : link->to;
        const int tank = network->points[point].tank;
        const int b = tank == NETWORK_NONE ? NETWORK_NONE : works->basin_of_tank[tank];
        if (b == NETWORK_NONE || works->basins[b].point != point) {
            continue;
        }
        struct basin *basin = &works->basins[b];
        struct mouth *mouth = &works->mouths[works->mouth_count++];
        *mouth = (struct mouth){.link = e / 2, .basin = b, .is_start = is_start};
        mouth->elevation = mouth_elevation(works, e / 2, basin);
        basin->lowest_level = fmin(basin->lowest_level, mouth->elevation);
        basin->has_links = true;
    }
    for (int b = 0; b < works->basin_count; b++) {
        struct basin *basin = &works->basins[b];
        basin->lowest_level = basin->has_links ? basin->lowest_level : basin->floor;
        basin->lowest_volume = basin_volume(basin, basin->lowest_level);
    }
    for (int i = 0; i < works->mouth_count; i++) {
        struct mouth *mouth = &works->mouths[i];
        const struct basin *basin = &works->basins[mouth->basin];
        mouth->is_lowest = mouth->elevation <= basin->lowest_level;
        mouth->is_uncovered = basin->level < mouth->elevation;
    }
}

static void add_machines(struct works *works)
{
    for (int i = 0; i < works->plan->pump_count; i++) {
        struct link *link = &works->network->links[works->plan->pumps[i].link];
        struct machine *machine = &works->machines[works->machine_count++];
        const struct pump_unit *unit = link->data;
        *machine = (struct machine){.link = works->plan->pumps[i].link,
                                    .unit = *unit,
                                    .is_on = unit->is_running,
                                    .is_primed = true,
                                    .is_allowed = true};
        link->data = &machine->unit;
        riser_init(&machine->riser, works->site->network, &works->site->water, machine->link);
        if (!machine->is_on) {
            riser_start_drained(&machine->riser);
        }
    }
}

/* The tank whose inlet the float valve's link, or what follows it in its run, leads to. */
static int float_tank(const struct works *works, int link)
{
    const struct network *network = works->network;
    const int run = network->links[link].run;
    const int point = run == NETWORK_NONE ? network->links[link].to : network->runs[run].to;
    return network->points[point].tank;
}

static void add_floats(struct works *works)
{
    for (int e = 0; e < works->network->link_count; e++) {
        struct link *link = &works->network->links[e];
        if (link->element == &float_valve_element) {
            struct float_place *place = &works->floats[works->float_count++];
            const struct float_valve *valve = link->data;
            *place = (struct float_place){.link = e, .valve = *valve};
            place->tank = float_tank(works, e);
            link->data = &place->valve;
        }
    }
}

static bool add_timers(struct works *works, struct failure *failure)
{
    for (int i = 0; i < works->plan->timer_count; i++) {
        const struct filling_timer *timer = &works->plan->timers[i];
        struct link *link = &works->network->links[timer->link];
        if (!course_check(&timer->setting, "timer", timer->place, failure)) {
            return false;
        }
        if (timer->kind == FILLING_TIMER_OPENING) {
            if (link->element != &throttling_element) {
                return fail(failure, FAILURE_INPUT, timer->place,
                            "timer: '%s' is a %s and has no opening", link->name,
                            link->element->kind);
            }
            const struct throttling *valve = link->data;
            works->timers[i].valve = *valve;
            link->data = &works->timers[i].valve;
        }
    }
    return true;
}

static void add_gated(struct works *works, int link, bool is_known[])
{
    if (!is_known[link]) {
        is_known[link] = true;
        works->gated[works->gated_count++] = link;
    }
}

/* After pumps, floats and timers have put their own data into the links. */
static void find_gated(struct works *works, bool is_known[])
{
    for (int e = 0; e < works->network->link_count; e++) {
        works->gates[e].element = works->network->links[e].element;
        works->gates[e].data = works->network->links[e].data;
    }
    for (int i = 0; i < works->mouth_count; i++) {
        add_gated(works, works->mouths[i].link, is_known);
    }
    for (int i = 0; i < works->machine_count; i++) {
        add_gated(works, works->machines[i].link, is_known);
    }
    for (int i = 0; i < works->plan->timer_count; i++) {
        if (works->plan->timers[i].kind == FILLING_TIMER_PASSAGE) {
            add_gated(works, works->plan->timers[i].link, is_known);
        }
    }
}

static void find_edges(struct works *works)
{
    const struct network *network = works->network;
    for (int i = 0; i < network->point_count; i++) {
        const struct point *point = &network->points[i];
        const bool is_basin =
            point->tank != NETWORK_NONE && works->basin_of_tank[point->tank] != NETWORK_NONE;
        works->edge_of[i] = NETWORK_NONE;
        if (point->is_held && !is_basin) {
            works->edge_of[i] = works->edge_count;
            works->edges[works->edge_count++] = i;
        }
    }
}

static bool check_draws(const struct works *works, struct failure *failure)
{
    for (int i = 0; i < works->plan->draw_count; i++) {
        const struct filling_draw *draw = &works->plan->draws[i];
        if (!course_check(&draw->flow, "draw", draw->place, failure)) {
            return false;
        }
        if (draw->point != NETWORK_NONE && works->network->points[draw->point].is_held) {
            return fail(failure, FAILURE_INPUT, draw->place,
                        "draw: '%s' has a fixed head and gives whatever flow is needed",
                        works->network->points[draw->point].name);
        }
    }
    return course_check(&works->plan->tariff, "tariff", (struct place){0}, failure);
}

static bool take_all(struct works *works, struct arena *arena, bool **is_known,
                     struct failure *failure)
{
    const struct network *network = works->network;
    const struct filling_plan *plan = works->plan;
    const int points = network->point_count;
    const int links = network->link_count;
    const int tanks = network->tank_count;
    return take(arena, &works->was_held, points, sizeof *works->was_held, failure) &&
           take(arena, &works->basins, tanks, sizeof *works->basins, failure) &&
           take(arena, &works->basin_of_tank, tanks, sizeof *works->basin_of_tank, failure) &&
           take(arena, &works->mouths, 2 * links, sizeof *works->mouths, failure) &&
           take(arena, &works->machines, plan->pump_count, sizeof *works->machines, failure) &&
           take(arena, &works->floats, links, sizeof *works->floats, failure) &&
           take(arena, &works->timers, plan->timer_count, sizeof *works->timers, failure) &&
           take(arena, &works->gates, links, sizeof *works->gates, failure) &&
           take(arena, &works->gated, links, sizeof *works->gated, failure) &&
           take(arena, &works->draws, plan->draw_count, sizeof *works->draws, failure) &&
           take(arena, &works->edges, points, sizeof *works->edges, failure) &&
           take(arena, &works->edge_of, points, sizeof *works->edge_of, failure) &&
           take(arena, &works->sum, points, sizeof *works->sum, failure) &&
           take(arena, is_known, links, sizeof **is_known, failure) &&
           steady_init(&works->steady, network, arena, failure);
}

bool works_init(struct works *works, const struct site *site, struct arena *arena,
                struct failure *failure)
{
    bool *is_known = NULL;
    memset(works, 0, sizeof *works);
    works->site = site;
    works->plan = &site->filling;
    works->network = network_copy(site->network, arena);
    if (!works->network) {
        return fail_memory(failure, "the filling run");
    }
    if (!take_all(works, arena, &is_known, failure)) {
        return false;
    }
    for (int i = 0; i < works->network->tank_count; i++) {
        if (!add_basin(works, i, failure)) {
            return false;
        }
    }
    find_mouths(works);
    add_machines(works);
    add_floats(works);
    if (!add_timers(works, failure) || !check_draws(works, failure)) {
        return false;
    }
    find_gated(works, is_known);
    find_edges(works);
    return true;
}
