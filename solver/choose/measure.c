#include "solver/choose/measure.h"

#include "models/circle.h"
#include "models/pipe.h"
#include "solver/rest.h"
#include "solver/steady/steady.h"
#include "solver/surge/surge.h"

#include <math.h>
#include <stdlib.h>

/* One site of the envelope with what is changed in it. */
struct stand {
    struct network *network; /* copy with the valves in question */
    struct pump_unit *units; /* [pump_place_count] */
    struct steady steady;
    struct rest *rest;
};

struct workbench {
    const struct envelope *envelope;
    int place_count;
    const int *places;
    struct arena *arena;
    struct arena *run_arena;      /* emptied after every surge run */
    struct stand *stands;         /* [site_count] */
    struct steady_solver *solver; /* all sites have the same parts */
};

static bool stand_init(struct stand *stand, const struct site *site, struct arena *arena,
                       struct failure *failure)
{
    stand->network = network_copy(site->network, arena);
    stand->units = arena_take(arena, (size_t)site->pump_place_count + 1, sizeof *stand->units);
    if (!stand->network || !stand->units) {
        return fail_memory(failure, "a worker of the choice");
    }
    for (int i = 0; i < site->pump_place_count; i++) {
        const int link = site->pump_places[i].link;
        stand->units[i] = *(const struct pump_unit *)site->network->links[link].data;
        stand->network->links[link].data = &stand->units[i];
    }
    stand->rest = rest_new(site, arena, failure);
    return stand->rest && steady_init(&stand->steady, stand->network, arena, failure);
}

struct workbench *workbench_new(const struct envelope *envelope, int place_count,
                                const int places[], struct failure *failure)
{
    struct workbench *bench = calloc(1, sizeof *bench);
    if (!bench) {
        (void)fail_memory(failure, "a worker of the choice");
        return NULL;
    }
    bench->envelope = envelope;
    bench->place_count = place_count;
    bench->places = places;
    bench->arena = arena_new();
    const size_t sites = (size_t)envelope->site_count;
    bench->stands = bench->arena ? arena_take(bench->arena, sites, sizeof *bench->stands) : NULL;
    bool is_good = bench->stands || fail_memory(failure, "a worker of the choice");
    for (int i = 0; is_good && i < envelope->site_count; i++) {
        is_good = stand_init(&bench->stands[i], envelope->sites[i].site, bench->arena, failure);
    }
    if (is_good) {
        bench->solver = steady_solver_new(bench->stands[0].network, failure);
    }
    if (!bench->solver) {
        workbench_free(bench);
        return NULL;
    }
    return bench;
}

void workbench_free(struct workbench *bench)
{
    if (bench) {
        steady_solver_free(bench->solver);
        arena_free(bench->run_arena);
        arena_free(bench->arena);
        free(bench);
    }
}

static struct measures nothing_measured(void)
{
    const double none = (double)NAN;
    return (struct measures){.flow = none,
                             .delivered = none,
                             .valve_head = none,
                             .velocity = none,
                             .opening = none,
                             .power = none,
                             .energy = none,
                             .suction_margin = none,
                             .back_head = none,
                             .reverse_velocity = none,
                             .slam_head = none,
                             .shut_time = none,
                             .allowed_head = none,
                             .highest_share = none,
                             .lowest_margin = none,
                             .highest_head = none,
                             .lowest_head = none};
}

/* The candidates at the places in question of one site. */
static void place_valves(struct workbench *bench, int site, const struct candidate *const picks[])
{
    const struct site *where = bench->envelope->sites[site].site;
    for (int i = 0; i < bench->place_count; i++) {
        struct link *link =
            &bench->stands[site].network->links[where->valves[bench->places[i]].link];
        link->data = &picks[i]->in_water[site];
        link->area = circle_area(picks[i]->in_water[site].bore);
    }
}

/* Power of the running pumps and what they deliver together. */
static void measure_pumps(const struct stand *stand, const struct site *site,
                          struct measures *measures)
{
    double power = 0.0;
    double delivered = 0.0;
    int running = 0;
    for (int i = 0; i < site->pump_place_count; i++) {
        const int link = site->pump_places[i].link;
        const struct pump_unit *unit = stand->network->links[link].data;
        if (!unit->is_running) {
            continue;
        }
        const double flow = stand->steady.flow[link];
        const double efficiency = unit->pump->motor_efficiency;
        running++;
        delivered += fmax(flow, 0.0);
        power += pump_power(unit->pump, fmax(flow, 0.0), unit->speed) /
                 (efficiency > 0.0 ? efficiency : 1.0);
    }
    measures->delivered = running > 0 ? delivered : measures->flow;
    if (running > 0) {
        measures->power = power;
        measures->energy = delivered > 0.0 ? power / delivered : (double)NAN;
    }
}

/* NPSH available less required at a pump; infinite while it does not draw. */
static double suction_margin(const struct stand *stand, const struct site *site, int pump_link)
{
    const struct link *link = &stand->network->links[pump_link];
    const struct pump_unit *unit = link->data;
    const double flow = stand->steady.flow[pump_link];
    const double available = pump_npsh_available(&site->water, stand->steady.head[link->from],
                                                 stand->network->points[link->from].elevation);
    return unit->is_running && flow > 0.0 ? available - pump_npsh(unit->pump, flow, unit->speed)
                                          : (double)INFINITY;
}

/* The least of the pumps the valve serves: that of its run, and those its suction run leads to. */
static void measure_suction(const struct stand *stand, const struct site *site,
                            const struct valve_place *place, struct measures *measures)
{
    double least = (double)INFINITY;
    for (int i = 0; i < site->pump_place_count; i++) {
        const int pump = site->pump_places[i].link;
        if (pump == place->pump_link || network_leads_to(stand->network, place->link, pump)) {
            const double margin = suction_margin(stand, site, pump);
            least = margin < least ? margin : least; /* not of one whose need is unknown */
        }
    }
    if (isfinite(least)) {
        measures->suction_margin = least;
    }
}

/* The pipe nearest to a link along its run, else one that shares a point with it; NULL: none. */
static const struct pipe *adjoining_pipe(const struct network *network, int link)
{
    const struct link *links = network->links;
    const struct pipe *best = NULL;
    int nearest = network->link_count + 1;
    for (int i = 0; i < network->link_count; i++) {
        const struct pipe *pipe =
            links[i].element->pipe ? links[i].element->pipe(links[i].data) : NULL;
        const bool touches = links[i].from == links[link].to || links[i].to == links[link].from;
        const bool same_run = links[i].run == links[link].run && links[i].run != NETWORK_NONE;
        const int distance = touches ? 0 : abs(i - link);
        if (pipe && (touches || same_run) && distance < nearest) {
            nearest = distance;
            best = pipe;
        }
    }
    return best;
}

static void measure_place(const struct stand *stand, const struct site *site,
                          const struct valve_place *where, struct measures *measures)
{
    const struct link *link = &stand->network->links[where->link];
    measures->flow = stand->steady.flow[where->link];
    measures->valve_head = /* of a shut valve it would be what stands behind it */
        measures->flow > 0.0 ? stand->steady.drop[where->link] : (double)NAN;
    measures->velocity = measures->flow / link->area;
    measures->opening = link->element->opening
                            ? link->element->opening(link->data, &site->water, measures->flow)
                            : (double)NAN;
    measure_pumps(stand, site, measures);
    measure_suction(stand, site, where, measures);
    const struct pipe *pipe = adjoining_pipe(stand->network, where->link);
    const double allowed = pipe ? pipe_allowed_pressure(pipe, &site->water) : 0.0;
    if (allowed > 0.0) {
        measures->allowed_head = water_head(&site->water, allowed);
    }
}

bool measure_steady(struct workbench *bench, int condition, const struct candidate *const picks[],
                    struct measures measures[], struct failure *failure)
{
    const struct condition *at = &bench->envelope->conditions[condition];
    const struct site *site = bench->envelope->sites[at->site].site;
    struct stand *stand = &bench->stands[at->site];
    place_valves(bench, at->site, picks);
    for (int i = 0; i < site->pump_place_count; i++) {
        stand->units[i].is_running = at->runs[i];
    }
    if (!steady_solve(bench->solver, stand->network, &site->water, &steady_defaults, &stand->steady,
                      failure)) {
        return false;
    }
    for (int i = 0; i < bench->place_count; i++) {
        measures[i] = nothing_measured();
        measures[i].is_solved = stand->steady.ending == STEADY_CONVERGED;
        if (measures[i].is_solved) {
            measure_place(stand, site, &site->valves[bench->places[i]], &measures[i]);
        }
    }
    return true;
}

bool measure_rest(struct workbench *bench, int site, const struct candidate *const picks[],
                  double back_head[], struct failure *failure)
{
    const struct site *where = bench->envelope->sites[site].site;
    struct stand *stand = &bench->stands[site];
    place_valves(bench, site, picks);
    for (int i = 0; i < bench->place_count; i++) {
        if (!rest_back_head(stand->rest, bench->solver, stand->network,
                            where->valves[bench->places[i]].link, &back_head[i], failure)) {
            return false;
        }
    }
    return true;
}

/* Highest and lowest pressure along one run against what its pipes bear. */
static void measure_run(const struct surge_run *run, double vapour_head, struct measures *measures)
{
    for (int i = 0; i < run->count; i++) {
        const double highest = run->head_max[i] - run->elevation[i];
        const double lowest = run->head_min[i] - run->elevation[i];
        const double share = highest / run->allowed[i];
        if (isfinite(share) && !(share <= measures->highest_share)) {
            measures->highest_share = share;
            measures->highest_head = highest;
        }
        if (!(lowest - vapour_head >= measures->lowest_margin)) {
            measures->lowest_margin = lowest - vapour_head;
            measures->lowest_head = lowest;
        }
    }
}

/* The slam a valve is judged by: that of its first shutting, or where its maker's curve is given
 * what that says of it; a later shutting rules only where it is harder by more than a tenth. What a
 * valve does after it has opened again hangs on all the waves before and is known less well, so a
 * difference within that does not decide. */
static void measure_slam(const struct surge_valve *valve, struct measures *measures)
{
    static const double harder = 1.1;
    const bool is_stated = valve->has_shut && isfinite(valve->stated_reverse_velocity);
    const bool is_later =
        !is_stated && valve->later_reverse_velocity > harder * valve->first_reverse_velocity;
    measures->reverse_velocity = valve->first_reverse_velocity;
    measures->slam_head = valve->first_slam_head;
    if (is_stated) {
        measures->reverse_velocity = valve->stated_reverse_velocity;
        measures->slam_head = valve->stated_slam_head;
    } else if (is_later) {
        measures->reverse_velocity = valve->later_reverse_velocity;
        measures->slam_head = valve->later_slam_head;
    }
}

/* Pressures of the whole site, the same for every place. */
static void measure_pressures(const struct surge *surge, const struct site *site,
                              struct measures *measures)
{
    for (int i = 0; i < surge->run_count; i++) {
        measure_run(&surge->runs[i], water_vapour_head(&site->water), measures);
    }
}

bool measure_surge(struct workbench *bench, int trip, int refinement,
                   const struct candidate *const picks[], struct measures measures[],
                   struct failure *failure)
{
    const struct trip *what = &bench->envelope->trips[trip];
    const int number = bench->envelope->conditions[what->condition].site;
    struct stand *stand = &bench->stands[number];
    struct site site = *bench->envelope->sites[number].site;
    struct surge_options options = surge_defaults;
    struct surge surge = {0};
    arena_free(bench->run_arena);
    bench->run_arena = arena_new();
    if (!bench->run_arena) {
        return fail_memory(failure, "a surge run");
    }
    if (!measure_steady(bench, what->condition, picks, measures, failure)) {
        return false;
    }
    if (bench->place_count == 0 || !measures[0].is_solved) {
        return true;
    }
    options.series_limit = 2; /* nothing of the course is kept */
    options.refinement = refinement;
    site.surge = what->plan;
    if (!surge_run_plan(&site, stand->network, &stand->steady, &options, &surge, bench->run_arena,
                        failure)) {
        return false;
    }
    for (int i = 0; surge.ending == SURGE_DONE && i < bench->place_count; i++) {
        const struct surge_valve *valve = &surge.valves[bench->places[i]];
        measures[i].is_surged = true;
        measure_slam(valve, &measures[i]);
        if (valve->has_shut && site.surge.event_count > 0) {
            measures[i].shut_time = valve->shut_time - site.surge.events[0].at;
        }
        measure_pressures(&surge, &site, &measures[i]);
    }
    return true;
}
