#include "solver/filling/works.h"

#include <math.h>
#include <string.h>

/* Answers that stalled are good enough at a thousandth of a millilitre a second and a micrometre.
 */
static const double good_flow = 1e-9;
static const double good_head = 1e-6;

/* What is let go at lowest mouths has settled when it changes by less than this share. */
static const double settled_share = 1e-12;
static const double settled_flow = 1e-16; /* m3/s */

/* A tank is empty at so many films of water. */
static const double empty_films = 1.5;

enum { ROUND_LIMIT = 60 };

void works_clear(struct works *works)
{
    steady_solver_free(works->solver);
    works->solver = NULL;
}

double works_level(const struct works *works, int tank)
{
    const int basin = works->basin_of_tank[tank];
    return basin == NETWORK_NONE ? works->network->tanks[tank].level : works->basins[basin].level;
}

double basin_volume(const struct basin *basin, double level)
{
    return tank_shape_volume(&basin->what.shape, level - basin->floor);
}

void works_begin_stretch(struct works *works, double clock)
{
    const struct filling_plan *plan = works->plan;
    for (int i = 0; i < plan->draw_count; i++) {
        works->draws[i] = course_line_at(&plan->draws[i].flow, clock);
    }
    works->tariff = course_line_at(&plan->tariff, clock);
    for (int i = 0; i < works->machine_count; i++) {
        works->machines[i].is_allowed = true;
    }
    for (int i = 0; i < plan->timer_count; i++) {
        const struct filling_timer *timer = &plan->timers[i];
        struct timer_place *place = &works->timers[i];
        place->setting = course_line_at(&timer->setting, clock).value;
        place->valve.opening = fmin(fmax(place->setting, 0.0), 1.0);
        for (int m = 0; m < works->machine_count; m++) {
            struct machine *machine = &works->machines[m];
            if (timer->kind == FILLING_TIMER_PUMP && machine->link == timer->link) {
                machine->is_allowed = place->setting > 0.0;
            }
        }
    }
}

/* --- setting the network --- */

static void set_mouth(struct works *works, const struct mouth *mouth)
{
    const struct basin *basin = &works->basins[mouth->basin];
    struct gate *gate = &works->gates[mouth->link];
    const bool is_shut = mouth->is_lowest ? basin->way == BASIN_BELOW : mouth->is_uncovered;
    if (!is_shut) {
        return;
    }
    const double lift = fmax(mouth->elevation - basin->level, 0.0);
    if (mouth->is_start) {
        gate->is_shut_forward = true;
        gate->lift -= lift;
    } else {
        gate->is_shut_backward = true;
        gate->lift += lift;
    }
}

static void set_gates(struct works *works)
{
    const struct filling_plan *plan = works->plan;
    for (int i = 0; i < works->gated_count; i++) {
        struct gate *gate = &works->gates[works->gated[i]];
        gate->is_shut_forward = gate->is_shut_backward = false;
        gate->lift = 0.0;
    }
    for (int i = 0; i < works->mouth_count; i++) {
        set_mouth(works, &works->mouths[i]);
    }
    for (int i = 0; i < works->machine_count; i++) {
        struct machine *machine = &works->machines[i];
        struct gate *gate = &works->gates[machine->link];
        machine->unit.is_running = machine->is_on;
        gate->is_shut_forward = gate->is_shut_forward || !machine->is_primed;
        gate->is_shut_backward = gate->is_shut_backward || !machine->is_primed;
    }
    for (int i = 0; i < plan->timer_count; i++) {
        if (plan->timers[i].kind == FILLING_TIMER_PASSAGE && !(works->timers[i].setting > 0.0)) {
            struct gate *gate = &works->gates[plan->timers[i].link];
            gate->is_shut_forward = gate->is_shut_backward = true;
        }
    }
    for (int i = 0; i < works->gated_count; i++) {
        struct gate *gate = &works->gates[works->gated[i]];
        struct link *link = &works->network->links[works->gated[i]];
        const bool is_needed = gate_is_needed(gate);
        link->element = is_needed ? &gate_element : gate->element;
        link->data = is_needed ? gate : gate->data;
    }
}

double works_source_level(const struct works *works, int machine)
{
    const int source = works->machines[machine].riser.source;
    return works_level(works, works->network->points[source].tank);
}

void works_set_levels(struct works *works, const double volume[])
{
    for (int b = 0; b < works->basin_count; b++) {
        struct basin *basin = &works->basins[b];
        basin->level = basin->floor + tank_shape_depth(&basin->what.shape, volume[b]);
    }
}

static void hold_levels(struct works *works)
{
    struct network *network = works->network;
    for (int b = 0; b < works->basin_count; b++) {
        const struct basin *basin = &works->basins[b];
        network->tanks[basin->tank].level = basin->level;
        struct point *point = &network->points[basin->point];
        point->is_held = basin->way != BASIN_LOWEST;
        point->held_head = basin->level;
        point->draw = 0.0;
    }
    for (int i = 0; i < network->point_count; i++) {
        struct point *point = &network->points[i];
        const int basin =
            point->tank == NETWORK_NONE ? NETWORK_NONE : works->basin_of_tank[point->tank];
        if (basin != NETWORK_NONE && i != works->basins[basin].point) {
            /* A mouth above the water keeps its height until it is drowned. */
            const double own = works->site->network->points[i].held_head;
            point->held_head = fmax(own, works->basins[basin].level);
        }
    }
    for (int i = 0; i < works->float_count; i++) {
        struct float_place *place = &works->floats[i];
        if (place->tank != NETWORK_NONE) {
            place->valve.level = works_level(works, place->tank);
        }
    }
}

static void set_draws(struct works *works, double clock)
{
    const struct filling_plan *plan = works->plan;
    for (int b = 0; b < works->basin_count; b++) {
        works->basins[b].wanted = 0.0;
    }
    for (int i = 0; i < plan->draw_count; i++) {
        const double flow = course_line_value(&works->draws[i], clock);
        const struct filling_draw *draw = &plan->draws[i];
        if (draw->point != NETWORK_NONE) {
            works->network->points[draw->point].draw = flow;
        } else if (works->basin_of_tank[draw->tank] != NETWORK_NONE) {
            works->basins[works->basin_of_tank[draw->tank]].wanted += flow;
        }
    }
}

/* --- solving --- */

bool works_has_answer(const struct works *works)
{
    const struct steady *steady = &works->steady;
    switch (steady->ending) {
    case STEADY_CONVERGED:
    case STEADY_CUT_OFF_DRAW: /* what is missing is told by the sums */
        return true;
    case STEADY_STALLED:
    case STEADY_TOO_MANY:
    case STEADY_NO_COUPLED_ANSWER:
        break;
    }
    return steady->mass_residual <= good_flow && steady->energy_residual <= good_head &&
           steady->complementarity <= good_head;
}

/* A solver for the present pattern of held points; the symbolic analysis is done anew only when a
 * basin was let go or taken up. */
static bool renew_solver(struct works *works, struct failure *failure)
{
    const struct network *network = works->network;
    bool is_same = works->solver != NULL;
    for (int i = 0; i < network->point_count; i++) {
        is_same = is_same && works->was_held[i] == network->points[i].is_held;
        works->was_held[i] = network->points[i].is_held;
    }
    if (!is_same) {
        steady_solver_free(works->solver);
        works->solver = steady_solver_new(network, failure);
    }
    return works->solver != NULL;
}

static bool solve(struct works *works, struct failure *failure)
{
    struct steady_options options = steady_defaults;
    options.is_warm = works->is_warm;
    works->evaluations++;
    if (!steady_solve(works->solver, works->network, &works->site->water, &options, &works->steady,
                      failure)) {
        return false;
    }
    if (!works_has_answer(works) && works->is_warm) {
        options.is_warm = false;
        if (!steady_solve(works->solver, works->network, &works->site->water, &options,
                          &works->steady, failure)) {
            return false;
        }
    }
    works->is_warm = works_has_answer(works);
    return true;
}

/* What flows by runs into and out of the basins, and the net flow into every point. */
static void sum_runs(struct works *works)
{
    const struct network *network = works->network;
    for (int i = 0; i < network->point_count; i++) {
        works->sum[i] = 0.0;
    }
    for (int b = 0; b < works->basin_count; b++) {
        works->basins[b].by_runs_in = works->basins[b].by_runs_out = 0.0;
        works->basins[b].run_back = 0.0;
    }
    for (int e = 0; e < network->link_count; e++) {
        const double flow = works->steady.flow[e];
        const int ends[2] = {network->links[e].from, network->links[e].to};
        for (int k = 0; k < 2; k++) {
            const double into = k == 0 ? -flow : flow;
            const int tank = network->points[ends[k]].tank;
            works->sum[ends[k]] += into;
            if (tank != NETWORK_NONE && works->basin_of_tank[tank] != NETWORK_NONE) {
                struct basin *basin = &works->basins[works->basin_of_tank[tank]];
                basin->by_runs_in += fmax(into, 0.0);
                basin->by_runs_out += fmax(-into, 0.0);
            }
        }
    }
}

static void add_run_back(struct works *works, int point, double flow)
{
    const int tank = works->network->points[point].tank;
    const int b = tank == NETWORK_NONE ? NETWORK_NONE : works->basin_of_tank[tank];
    if (b != NETWORK_NONE) {
        works->basins[b].run_back += flow;
    } else {
        works->sum[point] += flow;
    }
}

/* Water between a pump's tank, its pipe, and the mouth that it reaches once the pipe is full. */
static void sum_risers(struct works *works)
{
    for (int i = 0; i < works->machine_count; i++) {
        struct riser *riser = &works->machines[i].riser;
        riser->rate = 0.0;
        if (riser->way == RISER_DRAINS) {
            riser->rate = riser->drain;
            add_run_back(works, riser->source, riser->drain);
        } else if (riser->way == RISER_FILLS) {
            const double flow = fmax(works->steady.flow[riser->pump_link], 0.0);
            riser->rate = -flow;
            add_run_back(works, riser->end, -flow);
        }
    }
}

/* What the weather, leaks and draws take; an empty tank gives no more than it gets. */
static void find_losses(struct basin *basin, double volume)
{
    const struct filling_tank *what = &basin->what;
    basin->fed = what->inflow + what->rain * what->catchment;
    basin->evaporation =
        what->evaporation * tank_shape_area(&what->shape, basin->level - basin->floor);
    basin->leak = what->leak;
    basin->draw = fmax(basin->wanted, 0.0);
    basin->fed += fmax(-basin->wanted, 0.0);
    const double lost = basin->evaporation + basin->leak + basin->draw;
    const double got =
        basin->by_runs_in - basin->by_runs_out + basin->run_back + basin->fed + basin->received;
    if (basin->way == BASIN_BELOW && volume <= empty_films * basin->film && lost > fmax(got, 0.0) &&
        lost > 0.0) {
        const double share = fmax(got, 0.0) / lost;
        basin->evaporation *= share;
        basin->leak *= share;
        basin->draw *= share;
    }
    basin->total = got - basin->evaporation - basin->leak - basin->draw;
    basin->overflow = basin->way == BASIN_BRIM ? basin->total : 0.0;
}

/* Overflows may feed one another in a chain: as many passes as the longest can have. */
static void sum_basins(struct works *works, const double volume[])
{
    for (int b = 0; b < works->basin_count; b++) {
        works->basins[b].overflow = 0.0;
    }
    bool has_changed = true;
    for (int pass = 0; has_changed && pass <= works->basin_count; pass++) {
        has_changed = false;
        for (int b = 0; b < works->basin_count; b++) {
            struct basin *basin = &works->basins[b];
            const double before = basin->overflow;
            basin->received = 0.0;
            for (int other = 0; other < works->basin_count; other++) {
                if (other != b && works->basins[other].what.overflow_to == basin->tank) {
                    basin->received += works->basins[other].overflow;
                }
            }
            find_losses(basin, volume[b]);
            has_changed = has_changed || fabs(basin->overflow - before) > 0.0;
        }
    }
}

/* Gives every let-go point what its basin gets beside it; true: nothing changed any more. */
static bool let_go(struct works *works)
{
    bool is_settled = true;
    for (int b = 0; b < works->basin_count; b++) {
        struct basin *basin = &works->basins[b];
        if (basin->way != BASIN_LOWEST) {
            continue;
        }
        const double beside = basin->total - works->sum[basin->point];
        const double change = fabs(beside - basin->let_go);
        is_settled = is_settled && change <= settled_share * fabs(beside) + settled_flow;
        basin->let_go = beside;
        works->network->points[basin->point].draw = -beside;
    }
    return is_settled;
}

static void find_power(struct works *works)
{
    for (int i = 0; i < works->machine_count; i++) {
        struct machine *machine = &works->machines[i];
        const struct pump *pump = machine->unit.pump;
        machine->power = 0.0;
        if (machine->is_on && pump->power_count > 0) {
            const double flow = fmax(works->steady.flow[machine->link], 0.0);
            machine->power = pump_power(pump, flow, machine->unit.speed) /
                             (pump->motor_efficiency > 0.0 ? pump->motor_efficiency : 1.0);
        }
    }
}

bool works_evaluate(struct works *works, double clock, const double volume[],
                    struct failure *failure)
{
    works_set_levels(works, volume);
    hold_levels(works);
    set_gates(works);
    if (!renew_solver(works, failure)) {
        return false;
    }
    for (int b = 0; b < works->basin_count; b++) {
        const struct basin *basin = &works->basins[b];
        if (basin->way == BASIN_LOWEST) {
            works->network->points[basin->point].draw = -basin->let_go;
        }
    }
    for (int round = 0; round < ROUND_LIMIT; round++) {
        set_draws(works, clock);
        if (!solve(works, failure)) {
            return false;
        }
        sum_runs(works);
        sum_risers(works);
        sum_basins(works, volume);
        if (let_go(works) || !works_has_answer(works)) {
            break;
        }
    }
    find_power(works);
    return true;
}
