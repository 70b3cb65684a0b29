#include "solver/filling/account.h"

#include "models/draw_off.h"
#include "models/pipe.h"

#include <math.h>
#include <string.h>

/* A draw that asks for its flow and no more; NULL: the link is none. */
static const struct draw_off *draw_of(const struct works *works, int link)
{
    const struct gate *gate = &works->gates[link];
    const struct draw_off *draw = gate->element == &draw_off_element ? gate->data : NULL;
    return draw && isfinite(draw->most) ? draw : NULL;
}

static bool find_draws(struct account *account, struct arena *arena, struct failure *failure)
{
    const struct works *works = account->works;
    account->draws = arena_take(arena, (size_t)works->network->link_count, sizeof *account->draws);
    if (!account->draws) {
        return fail_memory(failure, "the filling run");
    }
    for (int i = 0; i < works->network->link_count; i++) {
        if (draw_of(works, i)) {
            account->draws[account->draw_count++] = i;
        }
    }
    return true;
}

bool account_init(struct account *account, const struct works *works, struct arena *arena,
                  struct failure *failure)
{
    account->works = works;
    account->pump_start = works->basin_count * (1 + BASIN_SUMS);
    account->point_start = account->pump_start + works->machine_count * PUMP_SUMS;
    account->edge_start = account->point_start + POINT_SUMS;
    account->run_start = account->edge_start + works->edge_count;
    account->run_count =
        works->network->run_count <= FILLING_RUNS_MAX ? works->network->run_count : 0;
    account->draw_start = account->run_start + account->run_count;
    account->draw_count = 0;
    if (!find_draws(account, arena, failure)) {
        return false;
    }
    account->count = account->draw_start + (account->draw_count > 0 ? DRAW_SUMS : 0);
    account->y = arena_take(arena, (size_t)account->count, sizeof *account->y);
    account->start = arena_take(arena, (size_t)works->basin_count, sizeof *account->start);
    account->scale = arena_take(arena, (size_t)account->count, sizeof *account->scale);
    account->missing = arena_take(arena, (size_t)works->machine_count, sizeof *account->missing);
    if (!account->y || !account->start || !account->missing || !account->scale) {
        return fail_memory(failure, "the filling run");
    }
    for (int i = 0; i < account->count; i++) {
        account->scale[i] = 1.0;
    }
    for (int i = 0; i < works->machine_count; i++) {
        account->scale[account_pump(account, i, PUMP_SUM_ENERGY)] = 1e6;
        account->scale[account_pump(account, i, PUMP_SUM_COST)] = INFINITY; /* as energy */
        const struct riser *riser = &works->machines[i].riser;
        if (riser->way == RISER_DRAINED) {
            account->missing[i] = riser_capacity(riser, works_source_level(works, i));
            account->y[account_pump(account, i, PUMP_SUM_MISSING)] = account->missing[i];
        }
    }
    for (int b = 0; b < works->basin_count; b++) {
        const struct basin *basin = &works->basins[b];
        account->y[b] = fmin(basin_volume(basin, basin->level), basin->brim_volume);
        account->start[b] = account->y[b];
        /* Deep in an emptying tank the error must stay small beside the last film. */
        account->scale[b] = 1e-3 * basin->brim_volume;
        account->scale[account_basin(account, b, BASIN_SUM_VOLUME_TIME)] =
            3600.0 * basin->brim_volume;
    }
    return true;
}

static void basin_rates(const struct account *account, int b, const double y[], double rate[])
{
    const struct basin *basin = &account->works->basins[b];
    const bool stands = basin->way == BASIN_BRIM || basin->way == BASIN_LOWEST;
    const int away = basin->what.overflow_to;
    const bool stays = away != NETWORK_NONE && account->works->basin_of_tank[away] != NETWORK_NONE;
    rate[b] = stands ? 0.0 : basin->total;
    double *sum = &rate[account_basin(account, b, BASIN_SUM_IN)];
    sum[BASIN_SUM_IN] = basin->by_runs_in + basin->run_back;
    sum[BASIN_SUM_OUT] = basin->by_runs_out;
    sum[BASIN_SUM_OVERFLOW] = basin->overflow;
    sum[BASIN_SUM_OVERFLOW_AWAY] = stays ? 0.0 : basin->overflow;
    sum[BASIN_SUM_FED] = basin->fed;
    sum[BASIN_SUM_EVAPORATION] = basin->evaporation;
    sum[BASIN_SUM_LEAK] = basin->leak;
    sum[BASIN_SUM_DRAW] = basin->draw;
    sum[BASIN_SUM_WANTED] = fmax(basin->wanted, 0.0);
    sum[BASIN_SUM_VOLUME_TIME] = y[b];
}

/* Net flow into points that are neither a basin's nor an edge, as far as it is drawn there. */
static void point_rates(const struct account *account, double rate[])
{
    const struct works *works = account->works;
    double *sum = &rate[account->point_start];
    memset(sum, 0, POINT_SUMS * sizeof *sum);
    for (int i = 0; i < works->network->point_count; i++) {
        const struct point *point = &works->network->points[i];
        const bool is_basin =
            point->tank != NETWORK_NONE && works->basin_of_tank[point->tank] != NETWORK_NONE;
        if (!is_basin && works->edge_of[i] == NETWORK_NONE) {
            sum[POINT_SUM_DRAWN] += fmax(works->sum[i], 0.0);
            sum[POINT_SUM_FED] += fmax(-works->sum[i], 0.0);
            sum[POINT_SUM_WANTED] += fmax(point->draw, 0.0);
        }
    }
}

/* What a timer has shut wants nothing. */
static void draw_rates(const struct account *account, double rate[])
{
    const struct works *works = account->works;
    if (account->draw_count == 0) {
        return;
    }
    double *sum = &rate[account->draw_start];
    memset(sum, 0, DRAW_SUMS * sizeof *sum);
    for (int i = 0; i < account->draw_count; i++) {
        const int link = account->draws[i];
        if (!works->gates[link].is_shut_forward) {
            sum[DRAW_SUM_WANTED] += draw_of(works, link)->most;
            sum[DRAW_SUM_GIVEN] += fmax(works->steady.flow[link], 0.0);
        }
    }
}

void account_rates(const struct account *account, double clock, const double y[], double rate[])
{
    const struct works *works = account->works;
    for (int b = 0; b < works->basin_count; b++) {
        basin_rates(account, b, y, rate);
    }
    for (int i = 0; i < works->machine_count; i++) {
        const struct machine *machine = &works->machines[i];
        const double flow = works->steady.flow[machine->link];
        double *sum = &rate[account_pump(account, i, PUMP_SUM_VOLUME)];
        sum[PUMP_SUM_VOLUME] = fmax(flow, 0.0);
        sum[PUMP_SUM_BACK] = fmax(-flow, 0.0) + fmax(machine->riser.rate, 0.0);
        sum[PUMP_SUM_MISSING] = machine->riser.rate;
        sum[PUMP_SUM_ENERGY] = machine->power;
        sum[PUMP_SUM_COST] = machine->power * course_line_value(&works->tariff, clock);
    }
    point_rates(account, rate);
    draw_rates(account, rate);
    for (int i = 0; i < works->edge_count; i++) {
        rate[account->edge_start + i] = works->sum[works->edges[i]];
    }
    for (int i = 0; i < account->run_count; i++) {
        const struct run *run = &works->network->runs[i];
        rate[account->run_start + i] =
            run->link_count > 0 ? fabs(works->steady.flow[run->first_link]) : 0.0;
    }
}

/* --- the end --- */

/* m3/s that count as none. */
static const double no_flow = 1e-12;

static void close_tank(const struct account *account, int b, double duration,
                       struct filling_tank_answer *tank)
{
    const double *sum = &account->y[account_basin(account, b, BASIN_SUM_IN)];
    tank->in = sum[BASIN_SUM_IN];
    tank->out = sum[BASIN_SUM_OUT];
    tank->overflow = sum[BASIN_SUM_OVERFLOW];
    tank->fed = sum[BASIN_SUM_FED];
    tank->evaporation = sum[BASIN_SUM_EVAPORATION];
    tank->leak = sum[BASIN_SUM_LEAK];
    tank->draw = sum[BASIN_SUM_DRAW];
    const double gone = tank->out + tank->overflow + tank->evaporation + tank->leak + tank->draw;
    tank->residence = gone > no_flow * duration ? sum[BASIN_SUM_VOLUME_TIME] / gone : (double)NAN;
}

/* What crossed the site's edges: into tanks from the sky and points, out by all other ways. */
static void close_balance(const struct account *account, struct filling *result)
{
    const struct works *works = account->works;
    double in = account->y[account->point_start + POINT_SUM_FED];
    double out = account->y[account->point_start + POINT_SUM_DRAWN];
    double changed = 0.0;
    result->stored = 0.0;
    result->draws_wanted = account->y[account->point_start + POINT_SUM_WANTED];
    result->draws_given = out;
    for (int b = 0; b < works->basin_count; b++) {
        const double *sum = &account->y[account_basin(account, b, BASIN_SUM_IN)];
        const double change = account->y[b] - account->start[b];
        in += sum[BASIN_SUM_FED];
        out += sum[BASIN_SUM_EVAPORATION] + sum[BASIN_SUM_LEAK] + sum[BASIN_SUM_DRAW] +
               sum[BASIN_SUM_OVERFLOW_AWAY];
        result->stored += change;
        changed += fabs(change);
        result->draws_wanted += sum[BASIN_SUM_WANTED];
        result->draws_given += sum[BASIN_SUM_DRAW];
    }
    for (int i = 0; i < works->machine_count; i++) {
        const double missing = account->y[account_pump(account, i, PUMP_SUM_MISSING)];
        result->stored -= missing - account->missing[i];
        changed += fabs(missing - account->missing[i]);
    }
    for (int i = 0; i < works->edge_count; i++) {
        const double volume = account->y[account->edge_start + i];
        result->edge_volume[i] = volume;
        result->edges[i] = works->edges[i];
        in += fmax(-volume, 0.0);
        out += fmax(volume, 0.0);
    }
    if (account->draw_count > 0) {
        result->draws_wanted += account->y[account->draw_start + DRAW_SUM_WANTED];
        result->draws_given += account->y[account->draw_start + DRAW_SUM_GIVEN];
    }
    result->residual = result->stored - (in - out);
    result->moved = in + out + changed;
}

/* Water in the pipes of a run, m3. */
static double run_content(const struct network *network, const struct run *run)
{
    double content = 0.0;
    for (int e = run->first_link; e < run->first_link + run->link_count; e++) {
        const struct link *link = &network->links[e];
        const struct pipe *pipe = link->element->pipe ? link->element->pipe(link->data) : NULL;
        content += pipe ? pipe->friction.length * pipe_area(pipe) : 0.0;
    }
    return content;
}

static void close_runs(const struct account *account, double duration, struct filling *result)
{
    const struct network *network = account->works->site->network;
    for (int i = 0; i < result->run_count; i++) {
        struct filling_run_answer *run = &result->runs[i];
        run->content = run_content(network, &network->runs[i]);
        run->passed = i < account->run_count ? account->y[account->run_start + i] : (double)NAN;
        run->residence =
            run->passed > no_flow * duration ? run->content * duration / run->passed : (double)NAN;
    }
}

void account_close(const struct account *account, double duration, struct filling *result)
{
    const struct works *works = account->works;
    close_runs(account, duration, result);
    for (int b = 0; b < works->basin_count; b++) {
        close_tank(account, b, duration, &result->tanks[works->basins[b].tank]);
    }
    for (int i = 0; i < works->machine_count; i++) {
        struct filling_pump_answer *pump = &result->pumps[i];
        const double *sum = &account->y[account_pump(account, i, PUMP_SUM_VOLUME)];
        const bool has_power = works->machines[i].unit.pump->power_count > 0;
        pump->volume = sum[PUMP_SUM_VOLUME];
        pump->volume_back = sum[PUMP_SUM_BACK];
        pump->is_back_unknown = works->machines[i].riser.is_unknown;
        pump->energy = has_power ? sum[PUMP_SUM_ENERGY] : (double)NAN;
        pump->air_energy = has_power ? pump->air_energy : (double)NAN;
        pump->cost = has_power && works->plan->tariff.count > 0 ? sum[PUMP_SUM_COST] : (double)NAN;
    }
    close_balance(account, result);
}
