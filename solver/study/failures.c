#include "solver/study/failures.h"

#include "solver/steady/steady.h"
#include "solver/study/measures.h"
#include "solver/workers.h"

#include <math.h>
#include <stdlib.h>

static const double FLOW_SEEN = 1e-6;   /* m3/s; less is a drip */
static const double SPEED_SEEN = -0.01; /* share of rated */
static const double TIME_SOONER = 0.9;  /* of the time of the sound site */

const char *failed_kind_text(enum failed_kind kind)
{
    static const char *const texts[FAILED_KIND_COUNT] = {
        "nothing fails", "stuck open",      "stuck shut", "leaking",
        "debris in it",  "its spring gone", "fails",      "all power fails"};
    return texts[kind];
}

/* Flow into each tank of the sound site, m3/s, with the pumps running and with all stopped: what
 * happens as soon without a failure is none of its doing. */
struct reference {
    double *running; /* [tank_count] */
    double *at_rest;
};

/* What is shared while the failures are worked on. */
struct work {
    const struct site *site;
    const struct failures_options *options;
    struct failures *result;
    struct reference reference;
    struct workers_lock lock; /* for what stands below */
    int done;
    bool is_failed;
    struct failure failure;
};

/* One failure at work. */
struct trial {
    struct failed_site failed;
    struct steady_solver *solver;
    struct steady steady;
    struct arena *arena;
    const struct site *site;
    const struct reference *reference;
    struct failed *item;
};

static double net_inflow(const struct network *network, const struct steady *steady, int point)
{
    double inflow = 0.0;
    for (int i = 0; i < network->link_count; i++) {
        inflow += network->links[i].to == point ? steady->flow[i] : 0.0;
        inflow -= network->links[i].from == point ? steady->flow[i] : 0.0;
    }
    return inflow;
}

/* Seconds until a tank is at its brim (inflow > 0) or its floor; infinite: never. */
static double time_left(const struct tank *tank, double inflow)
{
    const double room = inflow > 0.0 ? tank->brim - tank->level : tank->level - tank->floor;
    const double time = room * tank->area / fabs(inflow);
    return fabs(inflow) > FLOW_SEEN && isfinite(time) ? time : (double)INFINITY;
}

/* The first tank at its brim and the first at its floor, but for those as soon there with the
 * flows `sound` (NULL: told whatever else). */
static void note_tanks(struct trial *trial, const double *sound)
{
    const struct network *network = trial->failed.network;
    struct failed *item = trial->item;
    for (int i = 0; i < network->tank_count; i++) {
        const struct tank *tank = &network->tanks[i];
        const double inflow = net_inflow(network, &trial->steady, tank->point);
        const double time = time_left(tank, inflow);
        const bool is_alike = sound && (sound[i] > 0.0) == (inflow > 0.0) &&
                              time > TIME_SOONER * time_left(tank, sound[i]);
        if (tank->is_fixed || !(tank->area > 0.0) || !isfinite(time) || is_alike) {
            continue;
        }
        if (inflow > 0.0 && !(time >= item->overflow_time)) {
            item->overflow_time = time;
            item->overflow_tank = i;
        }
        if (inflow < 0.0 && !(time >= item->dry_time)) {
            item->dry_time = time;
            item->dry_tank = i;
        }
    }
}

/* Of the sound site: what the others are measured by. */
static void keep_reference(const struct trial *trial, double *inflow)
{
    const struct network *network = trial->failed.network;
    for (int i = 0; i < network->tank_count; i++) {
        inflow[i] = net_inflow(network, &trial->steady, network->tanks[i].point);
    }
}

static void note_back(struct trial *trial, int link)
{
    const double back = -trial->steady.flow[link];
    if (back > FLOW_SEEN && back > trial->item->flow_back) {
        trial->item->flow_back = back;
        trial->item->back_link = link;
    }
}

static void note_flows(struct trial *trial, const double *sound)
{
    const struct site *site = &trial->failed.site;
    for (int i = 0; i < site->pump_place_count; i++) {
        note_back(trial, site->pump_places[i].link);
    }
    if (failed_is_valve(trial->item)) {
        note_back(trial, trial->item->link);
    }
    note_tanks(trial, sound);
}

static void note_delivered(struct trial *trial)
{
    const struct site *site = &trial->failed.site;
    trial->item->delivered = 0.0;
    for (int i = 0; i < site->pump_place_count; i++) {
        if (trial->failed.units[i].is_running) {
            trial->item->delivered += fmax(trial->steady.flow[site->pump_places[i].link], 0.0);
        }
    }
}

/* False: memory ended. */
static bool solve_steady(struct trial *trial, bool *is_solved, struct failure *failure)
{
    if (!steady_solve(trial->solver, trial->failed.network, &trial->site->water, &steady_defaults,
                      &trial->steady, failure)) {
        return false;
    }
    *is_solved = trial->steady.ending == STEADY_CONVERGED;
    trial->item->is_solved = trial->item->is_solved && *is_solved;
    return true;
}

static double measured(const char *words, const struct measure_view *view, int index)
{
    const char *rest = NULL;
    return measure_kind_find(words, &rest)->value(view, index);
}

/* From the running site, before anything stands. */
static bool solve_surge(struct trial *trial, struct failure *failure)
{
    struct surge surge = {0};
    struct failure reason = {0};
    const struct site *site = &trial->failed.site;
    if (!surge_run_plan(site, trial->failed.network, &trial->steady, &surge_defaults, &surge,
                        trial->arena, &reason)) {
        *failure = reason;
        return reason.kind != FAILURE_MEMORY; /* a plan that cannot be run: not surged */
    }
    trial->item->is_surged = surge.ending == SURGE_DONE;
    if (!trial->item->is_surged) {
        return true;
    }
    const struct measure_view view = {site, &trial->steady, &surge, NULL};
    trial->item->highest_share = measured("highest share", &view, 0);
    trial->item->lowest_margin = measured("lowest margin", &view, 0);
    for (int i = 0; i < site->pump_place_count; i++) {
        const double speed = measured("lowest speed", &view, i);
        if (speed < SPEED_SEEN && !(speed >= trial->item->lowest_speed)) {
            trial->item->lowest_speed = speed;
            trial->item->backward_pump = site->pump_places[i].link;
        }
    }
    return true;
}

/* A foot valve that no longer holds, under a pump above the water it draws. */
static bool loses_prime(const struct site *site, const struct failed *item)
{
    if (item->kind != FAILED_STUCK_OPEN && item->kind != FAILED_LEAKING &&
        item->kind != FAILED_DEBRIS) {
        return false;
    }
    for (int i = 0; i < site->valve_count; i++) {
        const struct valve_place *place = &site->valves[i];
        for (int k = 0;
             place->link == item->link && place->is_on_suction && k < site->pump_place_count; k++) {
            const struct pump_place *pump = &site->pump_places[k];
            if (pump->from_tank != NETWORK_NONE &&
                network_leads_to(site->network, place->link, pump->link) &&
                pump->axis > site->network->tanks[pump->from_tank].level) {
                return true;
            }
        }
    }
    return false;
}

/* With the pumps as they run, but for one that has failed; then the surge from there. */
static bool solve_running(struct trial *trial, struct failure *failure)
{
    struct failed *item = trial->item;
    bool is_solved = false;
    item->is_solved = true;
    if (!solve_steady(trial, &is_solved, failure) || (is_solved && !solve_surge(trial, failure))) {
        return false;
    }
    if (item->kind == FAILED_PUMP) {
        failed_site_run_pumps(&trial->failed, trial->site, item->link);
        if (!solve_steady(trial, &is_solved, failure)) {
            return false;
        }
    }
    if (!is_solved || item->kind == FAILED_POWER) {
        return true;
    }
    note_delivered(trial);
    note_flows(trial, item->kind == FAILED_NOTHING ? NULL : trial->reference->running);
    if (item->kind == FAILED_NOTHING) {
        keep_reference(trial, trial->reference->running);
    }
    return true;
}

/* With all pumps stopped. When the power fails, that is measured by how things ran before. */
static bool solve_at_rest(struct trial *trial, struct failure *failure)
{
    struct failed *item = trial->item;
    bool is_solved = false;
    failed_site_rest(&trial->failed);
    if (!solve_steady(trial, &is_solved, failure)) {
        return false;
    }
    if (!is_solved) {
        return true;
    }
    const double *sound = item->kind == FAILED_NOTHING ? NULL
                          : item->kind == FAILED_POWER ? trial->reference->running
                                                       : trial->reference->at_rest;
    note_flows(trial, sound);
    if (item->kind == FAILED_NOTHING) {
        keep_reference(trial, trial->reference->at_rest);
    }
    if (item->kind == FAILED_POWER) {
        item->delivered = 0.0;
    }
    return true;
}

static bool solve_trial(struct trial *trial, struct failure *failure)
{
    if (!solve_running(trial, failure)) {
        return false;
    }
    if (trial->item->kind == FAILED_PUMP) {
        return true;
    }
    trial->item->loses_prime = loses_prime(trial->site, trial->item);
    return solve_at_rest(trial, failure);
}

static bool try_failure(const struct work *work, struct failed *item, struct failure *failure)
{
    const struct site *site = work->site;
    struct trial trial = {
        .site = site, .reference = &work->reference, .item = item, .arena = arena_new()};
    bool is_good = trial.arena ? failed_site_init(&trial.failed, site, item->kind, item->link,
                                                  trial.arena, failure)
                               : fail_memory(failure, "the failures of a site");
    if (is_good) {
        trial.solver = steady_solver_new(trial.failed.network, failure);
        is_good = trial.solver &&
                  steady_init(&trial.steady, trial.failed.network, trial.arena, failure) &&
                  solve_trial(&trial, failure);
    }
    steady_solver_free(trial.solver);
    arena_free(trial.arena);
    return is_good;
}

/* --- all of them --- */

static void add(struct failures *result, enum failed_kind kind, int link)
{
    const double none = (double)NAN;
    result->items[result->count++] = (struct failed){.kind = kind,
                                                     .link = link,
                                                     .delivered = none,
                                                     .back_link = NETWORK_NONE,
                                                     .overflow_tank = NETWORK_NONE,
                                                     .overflow_time = none,
                                                     .dry_tank = NETWORK_NONE,
                                                     .dry_time = none,
                                                     .highest_share = none,
                                                     .lowest_margin = none,
                                                     .lowest_speed = none,
                                                     .backward_pump = NETWORK_NONE};
}

/* The sound site first. */
static bool list(const struct site *site, struct failures *result, struct arena *arena)
{
    const int ways = FAILED_SPRING_GONE - FAILED_STUCK_OPEN + 1;
    const int most = 2 + site->valve_count * ways + site->pump_place_count;
    result->items = arena_take(arena, (size_t)most, sizeof *result->items);
    if (!result->items) {
        return false;
    }
    add(result, FAILED_NOTHING, NETWORK_NONE);
    for (int i = 0; i < site->valve_count; i++) {
        for (int kind = FAILED_STUCK_OPEN; kind <= FAILED_SPRING_GONE; kind++) {
            if (failed_site_can(site, (enum failed_kind)kind, site->valves[i].link)) {
                add(result, (enum failed_kind)kind, site->valves[i].link);
            }
        }
    }
    int running = 0;
    for (int i = 0; i < site->pump_place_count; i++) {
        const struct pump_unit *unit = site->network->links[site->pump_places[i].link].data;
        running += unit->is_running;
        if (unit->is_running) {
            add(result, FAILED_PUMP, site->pump_places[i].link);
        }
    }
    if (running > 0) {
        add(result, FAILED_POWER, NETWORK_NONE);
    }
    return true;
}

static void work_item(struct work *work, int index)
{
    struct failure failure = {0};
    workers_lock_take(&work->lock);
    const bool goes_on = !work->is_failed && !work->result->is_stopped;
    workers_lock_give(&work->lock);
    if (!goes_on) {
        return;
    }
    const bool is_done = try_failure(work, &work->result->items[index], &failure);
    workers_lock_take(&work->lock);
    if (!is_done && !work->is_failed) {
        work->is_failed = true;
        work->failure = failure;
    }
    work->done++;
    if (work->options->progress &&
        !work->options->progress(work->options->user,
                                 (double)work->done / (double)work->result->count)) {
        work->result->is_stopped = true;
    }
    workers_lock_give(&work->lock);
}

bool failures_run(const struct site *site, const struct failures_options *options,
                  struct failures *result, struct arena *arena, struct failure *failure)
{
    *result = (struct failures){0};
    if (!list(site, result, arena)) {
        return fail_memory(failure, "the failures of a site");
    }
    const size_t tanks = (size_t)site->network->tank_count;
    struct work work = {.site = site, .options = options, .result = result};
    work.reference.running = arena_take(arena, tanks, sizeof(double));
    work.reference.at_rest = arena_take(arena, tanks, sizeof(double));
    if (!work.reference.running || !work.reference.at_rest) {
        return fail_memory(failure, "the failures of a site");
    }
    workers_lock_init(&work.lock);
    work_item(&work, 0); /* the sound site, by which the others are measured */
#pragma omp parallel for schedule(dynamic, 1) num_threads(workers_count())
    for (int i = 1; i < result->count; i++) {
        work_item(&work, i);
    }
    workers_lock_clear(&work.lock);
    if (work.is_failed) {
        *failure = work.failure;
        return false;
    }
    result->sound = result->items[0];
    result->items++;
    result->count--;
    for (int i = 0; i < result->count; i++) {
        failed_grade(&result->items[i], &result->sound);
    }
    qsort(result->items, (size_t)result->count, sizeof *result->items, failed_compare);
    return true;
}
