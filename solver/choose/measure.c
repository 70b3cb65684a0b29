#include "solver/choose/measure.h"

#include "models/circle.h"
#include "models/pipe.h"
#include "solver/rest.h"
#include "solver/steady/steady.h"
#include "solver/surge/surge.h"

#include <math.h>
#include <stdlib.h>

struct workbench {
    struct site site; /* the caller's, with the plan to run */
    struct arena *arena;
    struct arena *run_arena; /* emptied after every surge run */
    struct network *network; /* copy with the valve in question */
    struct non_return valve;
    struct steady_solver *solver;
    struct steady steady;
    struct rest *rest;
};

struct workbench *workbench_new(const struct site *site, const struct surge_plan *plan,
                                struct failure *failure)
{
    struct workbench *bench = calloc(1, sizeof *bench);
    if (!bench) {
        (void)fail_memory(failure, "a worker of the choice");
        return NULL;
    }
    bench->site = *site;
    bench->site.surge = *plan;
    bench->arena = arena_new();
    bench->network = bench->arena ? network_copy(site->network, bench->arena) : NULL;
    if (!bench->network) {
        (void)fail_memory(failure, "a worker of the choice");
        goto refused;
    }
    bench->solver = steady_solver_new(bench->network, failure);
    if (!bench->solver || !steady_init(&bench->steady, bench->network, bench->arena, failure)) {
        goto refused;
    }
    bench->rest = rest_new(site, bench->arena, failure);
    if (bench->rest) {
        return bench;
    }
refused:
    workbench_free(bench);
    return NULL;
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

/* The present valve of every place, and the one in question at `place`. */
static void place_valve(struct workbench *bench, int place, const struct non_return *valve)
{
    for (int i = 0; i < bench->site.valve_count; i++) {
        const int link = bench->site.valves[i].link;
        bench->network->links[link] = bench->site.network->links[link];
    }
    struct link *link = &bench->network->links[bench->site.valves[place].link];
    bench->valve = *valve;
    link->data = &bench->valve;
    link->area = circle_area(valve->bore);
}

/* Power of the running pumps and what they deliver together. */
static void measure_pumps(const struct workbench *bench, struct measures *measures)
{
    double power = 0.0;
    double delivered = 0.0;
    int running = 0;
    for (int i = 0; i < bench->site.pump_place_count; i++) {
        const int link = bench->site.pump_places[i].link;
        const struct pump_unit *unit = bench->network->links[link].data;
        if (!unit->is_running) {
            continue;
        }
        const double flow = bench->steady.flow[link];
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

/* NPSH available less required at the pump the valve serves (Hydraulic Institute's definition:
 * absolute pressure head at the pump's axis above the vapour pressure head). */
static void measure_suction(const struct workbench *bench, const struct valve_place *place,
                            struct measures *measures)
{
    if (place->pump_link == NETWORK_NONE) {
        return;
    }
    const struct link *link = &bench->network->links[place->pump_link];
    const struct pump_unit *unit = link->data;
    const double flow = bench->steady.flow[place->pump_link];
    const double gauge =
        bench->steady.head[link->from] - bench->network->points[link->from].elevation;
    const double available = gauge - water_vapour_head(&bench->site.water);
    if (unit->is_running && flow > 0.0) {
        measures->suction_margin = available - pump_npsh(unit->pump, flow, unit->speed);
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

bool measure_steady(struct workbench *bench, int place, const struct non_return *valve,
                    struct measures *measures, struct failure *failure)
{
    const struct valve_place *where = &bench->site.valves[place];
    *measures = nothing_measured();
    place_valve(bench, place, valve);
    if (!steady_solve(bench->solver, bench->network, &bench->site.water, &steady_defaults,
                      &bench->steady, failure)) {
        return false;
    }
    measures->is_solved = bench->steady.ending == STEADY_CONVERGED;
    if (!measures->is_solved) {
        return true;
    }
    const struct link *link = &bench->network->links[where->link];
    measures->flow = bench->steady.flow[where->link];
    measures->valve_head = bench->steady.drop[where->link];
    measures->velocity = measures->flow / link->area;
    measures->opening = link->element->opening
                            ? link->element->opening(link->data, &bench->site.water, measures->flow)
                            : (double)NAN;
    measure_pumps(bench, measures);
    measure_suction(bench, where, measures);
    const struct pipe *pipe = adjoining_pipe(bench->network, where->link);
    const double allowed = pipe ? pipe_allowed_pressure(pipe, &bench->site.water) : 0.0;
    if (allowed > 0.0) {
        measures->allowed_head = water_head(&bench->site.water, allowed);
    }
    return rest_back_head(bench->rest, bench->solver, bench->network, where->link,
                          &measures->back_head, failure);
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

bool measure_surge(struct workbench *bench, int place, struct measures *measures,
                   struct failure *failure)
{
    struct surge surge = {0};
    arena_free(bench->run_arena);
    bench->run_arena = arena_new();
    if (!bench->run_arena) {
        return fail_memory(failure, "a surge run");
    }
    if (!surge_run_plan(&bench->site, bench->network, &bench->steady, &surge_defaults, &surge,
                        bench->run_arena, failure)) {
        return false;
    }
    measures->is_surged = surge.ending == SURGE_DONE;
    if (!measures->is_surged) {
        return true;
    }
    const struct surge_valve *valve = &surge.valves[place];
    measure_slam(valve, measures);
    if (valve->has_shut && bench->site.surge.event_count > 0) {
        measures->shut_time = valve->shut_time - bench->site.surge.events[0].at;
    }
    for (int i = 0; i < surge.run_count; i++) {
        measure_run(&surge.runs[i], water_vapour_head(&bench->site.water), measures);
    }
    return true;
}
