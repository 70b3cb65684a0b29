#include "solver/filling/account.h"
#include "solver/filling/controls.h"
#include "solver/filling/filling.h"
#include "solver/filling/instants.h"
#include "solver/filling/integrator.h"
#include "solver/filling/supply.h"
#include "solver/filling/taps.h"
#include "solver/filling/ways.h"

#include <math.h>
#include <string.h>

const struct filling_options filling_defaults = {
    .accuracy = 1e-7, .series_limit = 2000, .event_limit = 5000, .step_limit = 2e8};

static const double day = 86400.0;

/* Starts an hour that a small pump stands: sump pumps 6 to 10, a note of their makers' trade on
 * short cycling (read). */
static const double usual_starts_limit = 10.0;

struct journey {
    const struct filling_plan *plan;
    const struct filling_options *options;
    struct works works;
    struct journal journal;
    struct controls controls;
    struct ways ways;
    struct supply supply;
    struct taps taps;
    struct account account;
    struct instants instants;
    struct integrator *integrator;
    struct filling *result;
    double time; /* s from the start */
    double end;
    double looked;  /* s: when the taps were last looked at */
    double *within; /* [account.count] unknowns at an instant */
    double *energy; /* [works.machine_count] J that each pump had taken as a stretch began */
    int control_roots;
    bool was_valve; /* the last stretch ended because flows said that a valve or a way changed */
    struct failure failure;
};

static double clock_at(const struct journey *journey, double time)
{
    return journey->plan->clock + time;
}

/* --- what the integrator asks --- */

static enum rates_ending evaluate(struct journey *journey, double time, const double y[])
{
    if (!works_evaluate(&journey->works, clock_at(journey, time), y, &journey->failure)) {
        return RATES_FATAL;
    }
    return works_has_answer(&journey->works) ? RATES_FOUND : RATES_NONE;
}

static enum rates_ending find_rates(void *user, double time, const double y[], double rate[])
{
    struct journey *journey = user;
    const enum rates_ending ending = evaluate(journey, time, y);
    if (ending == RATES_FOUND) {
        account_rates(&journey->account, clock_at(journey, time), y, rate);
        ways_look(&journey->ways);
    }
    return ending;
}

static void riser_roots(const struct journey *journey, const double y[], double root[])
{
    const struct works *works = &journey->works;
    for (int i = 0; i < works->machine_count; i++) {
        const struct riser *riser = &works->machines[i].riser;
        const double missing = y[account_pump(&journey->account, i, PUMP_SUM_MISSING)];
        root[i] = riser->can_drain ? riser_root(riser, works_source_level(works, i), missing) : 1.0;
    }
}

static enum rates_ending find_roots(void *user, double time, const double y[], double root[])
{
    struct journey *journey = user;
    works_set_levels(&journey->works, y);
    if (journey->ways.is_suspect) {
        const enum rates_ending ending = evaluate(journey, time, y);
        if (ending != RATES_FOUND) {
            return ending;
        }
    }
    controls_roots(&journey->controls, root);
    ways_roots(&journey->ways, y, journey->ways.is_suspect, &root[journey->control_roots]);
    riser_roots(journey, y, &root[journey->control_roots + ways_root_count(&journey->ways)]);
    return RATES_FOUND;
}

/* --- events --- */

static void end_with(struct journey *journey, enum filling_ending ending)
{
    journey->result->ending = ending;
    journey->end = journey->time; /* ends the loop */
}

/* The time at which a basin that has just come down to its lowest mouth does so to the last film:
 * moves the note of it. */
static bool settle_film(struct journey *journey, double volume[])
{
    for (int b = 0; b < journey->works.basin_count; b++) {
        struct basin *basin = &journey->works.basins[b];
        const double over = volume[b] - basin->lowest_volume;
        if (basin->way != BASIN_FREE || over > 1.001 * basin->film || !(basin->total < 0.0)) {
            continue;
        }
        double seconds = 0.0;
        if (!ways_film_time(&journey->ways, b, clock_at(journey, journey->time), volume, &seconds,
                            &journey->failure)) {
            return false;
        }
        if (journey->time + seconds < journey->end) {
            journey->time += seconds;
        }
    }
    return true;
}

static bool settle_risers(struct journey *journey)
{
    struct works *works = &journey->works;
    bool has_changed = false;
    for (int i = 0; i < works->machine_count; i++) {
        struct machine *machine = &works->machines[i];
        if (machine->riser.can_drain) {
            const double missing =
                journey->account.y[account_pump(&journey->account, i, PUMP_SUM_MISSING)];
            has_changed = riser_settle(&machine->riser, machine->is_on,
                                       works_source_level(works, i), missing) ||
                          has_changed;
        }
    }
    return has_changed;
}

/* Brings every basin, mouth and pump to where it belongs at this time. */
static bool settle(struct journey *journey)
{
    double *volume = journey->account.y;
    const int limit = 16 + 8 * (journey->works.basin_count + journey->works.machine_count);
    works_begin_stretch(&journey->works, clock_at(journey, journey->time));
    for (int round = 0;; round++) {
        const enum rates_ending ending = evaluate(journey, journey->time, volume);
        if (ending == RATES_FATAL) {
            return false;
        }
        if (ending == RATES_NONE) {
            end_with(journey, FILLING_NO_ANSWER);
            return true;
        }
        if (round == 0 && !settle_film(journey, volume)) {
            return false;
        }
        bool has_changed = ways_settle(&journey->ways, journey->time, volume);
        has_changed = controls_settle(&journey->controls, journey->time) || has_changed;
        has_changed = settle_risers(journey) || has_changed;
        if (journey->journal.is_chattering || round > limit) {
            journey->result->chattering = journey->journal.last.kind;
            journey->result->chattering_subject = journey->journal.last.subject;
            end_with(journey, FILLING_CHATTERS);
            return true;
        }
        if (!has_changed) {
            return true;
        }
    }
}

static double next_stop(const struct journey *journey)
{
    const struct filling_plan *plan = journey->plan;
    const double clock = clock_at(journey, journey->time);
    double next = fmin(journey->end, controls_next(&journey->controls, journey->time));
    for (int i = 0; i < plan->draw_count; i++) {
        next = fmin(next, course_next(&plan->draws[i].flow, clock) - plan->clock);
    }
    for (int i = 0; i < plan->timer_count; i++) {
        next = fmin(next, course_next(&plan->timers[i].setting, clock) - plan->clock);
    }
    return fmin(next, course_next(&plan->tariff, clock) - plan->clock);
}

/* --- stretches --- */

/* Instants that lie in the step just taken. */
static bool take_instants(struct journey *journey)
{
    while (instants_next(&journey->instants) < journey->time) {
        const double at = instants_next(&journey->instants);
        integrator_within(journey->integrator, at, journey->within);
        const enum rates_ending ending = evaluate(journey, at, journey->within);
        if (ending == RATES_FATAL) {
            return false;
        }
        if (ending == RATES_FOUND) {
            taps_count(&journey->taps, at - journey->looked);
            taps_look(&journey->taps, at);
            journey->looked = at;
        }
        instants_take(&journey->instants, at, journey->within);
    }
    return true;
}

static void tell(struct journey *journey)
{
    const struct filling_options *options = journey->options;
    if (options->progress && !options->progress(options->user, journey->time / journey->end)) {
        end_with(journey, FILLING_STOPPED);
    }
    if (journey->result->step_count >= options->step_limit) {
        end_with(journey, FILLING_TOO_MANY);
    }
}

static double energy_of(const struct journey *journey, int machine)
{
    return journey->account.y[account_pump(&journey->account, machine, PUMP_SUM_ENERGY)];
}

/* Adds time and energy since `before` to the pumps with air in them; ways and switches stood still.
 */
static void count_air(struct journey *journey, double before)
{
    const struct works *works = &journey->works;
    for (int i = 0; i < works->machine_count; i++) {
        const struct machine *machine = &works->machines[i];
        const bool is_dry = machine->is_primed && supply_is_dry(&journey->supply, i);
        if (machine->is_on && (is_dry || !machine->is_primed)) {
            struct filling_pump_answer *pump = &journey->result->pumps[i];
            pump->dry_run += is_dry ? journey->time - before : 0.0;
            pump->air_energy += energy_of(journey, i) - journey->energy[i];
        }
    }
}

/* From the settled state to the next event. */
static bool run_stretch(struct journey *journey)
{
    const double before = journey->time;
    const double stop = next_stop(journey);
    enum step_ending ending = STEP_TAKEN;
    ways_begin_stretch(&journey->ways, journey->time, journey->account.y, journey->was_valve);
    journey->was_valve = false;
    for (int i = 0; i < journey->works.machine_count; i++) {
        journey->energy[i] = energy_of(journey, i);
    }
    if (stop - journey->time < course_blur) {
        journey->time = fmax(stop, journey->time);
        return true;
    }
    if (!integrator_restart(journey->integrator, journey->time, journey->account.y,
                            &journey->failure)) {
        return false;
    }
    while (ending == STEP_TAKEN && journey->time < journey->end) {
        ending = integrator_step(journey->integrator, stop, &journey->time, journey->account.y);
        journey->was_valve = journey->ways.is_suspect;
        if (journey->failure.kind != FAILURE_NONE || !take_instants(journey)) {
            return false;
        }
        works_set_levels(&journey->works, journey->account.y);
        instants_levels(&journey->instants);
        journey->result->step_count += 1.0;
        tell(journey);
    }
    if (ending == STEP_NO_ANSWER || ending == STEP_FAILED) {
        end_with(journey, ending == STEP_FAILED ? FILLING_STEP_FAILED : FILLING_NO_ANSWER);
    }
    count_air(journey, before);
    return true;
}

static bool run_all(struct journey *journey)
{
    for (;;) {
        if (!settle(journey)) {
            return false;
        }
        instants_levels(&journey->instants);
        taps_count(&journey->taps, journey->time - journey->looked);
        journey->looked = journey->time;
        if (works_has_answer(&journey->works)) {
            taps_look(&journey->taps, journey->time);
        }
        const bool is_last = !(journey->time < journey->end);
        while (instants_next(&journey->instants) <= journey->time ||
               (is_last && journey->result->ending == FILLING_DONE &&
                journey->result->time_count < journey->instants.room)) {
            instants_take(&journey->instants,
                          fmin(instants_next(&journey->instants), journey->time),
                          journey->account.y);
        }
        if (is_last) {
            return true;
        }
        if (!run_stretch(journey)) {
            return false;
        }
    }
}

/* --- begin and end --- */

static bool take_answers(struct journey *journey, struct arena *arena)
{
    struct filling *result = journey->result;
    const struct works *works = &journey->works;
    result->tank_count = works->network->tank_count;
    result->pump_count = works->machine_count;
    result->edge_count = works->edge_count;
    result->run_count = works->network->run_count;
    result->runs = arena_take(arena, (size_t)result->run_count, sizeof *result->runs);
    result->tanks = arena_take(arena, (size_t)result->tank_count, sizeof *result->tanks);
    result->pumps = arena_take(arena, (size_t)result->pump_count, sizeof *result->pumps);
    result->edges = arena_take(arena, (size_t)result->edge_count, sizeof *result->edges);
    result->edge_volume =
        arena_take(arena, (size_t)result->edge_count, sizeof *result->edge_volume);
    journey->within = arena_take(arena, (size_t)journey->account.count, sizeof *journey->within);
    journey->energy = arena_take(arena, (size_t)works->machine_count, sizeof *journey->energy);
    return (result->tanks && result->runs && result->pumps && result->edges &&
            result->edge_volume && journey->within && journey->energy) ||
           fail_memory(&journey->failure, "the filling run");
}

static bool start(struct journey *journey, const struct site *site, struct arena *arena)
{
    struct failure *failure = &journey->failure;
    if (!works_init(&journey->works, site, arena, failure) ||
        !account_init(&journey->account, &journey->works, arena, failure) ||
        !take_answers(journey, arena) ||
        !journal_init(&journey->journal, site, journey->options->event_limit, arena, failure) ||
        !controls_init(&journey->controls, &journey->works, &journey->journal, arena, failure) ||
        !ways_init(&journey->ways, &journey->works, &journey->journal, arena, failure) ||
        !supply_init(&journey->supply, &journey->works, arena, failure) ||
        !taps_init(&journey->taps, &journey->works, arena, failure)) {
        return false;
    }
    works_set_levels(&journey->works, journey->account.y);
    journey->control_roots = controls_root_count(journey->plan);
    const struct integrator_system system = {
        .count = journey->account.count,
        .controlled = journey->works.basin_count,
        .root_count =
            journey->control_roots + ways_root_count(&journey->ways) + journey->works.machine_count,
        .accuracy = journey->options->accuracy,
        .scale = journey->account.scale,
        .rates = find_rates,
        .roots = find_roots,
        .user = journey,
    };
    journey->integrator = integrator_new(&system, failure);
    return journey->integrator &&
           instants_init(&journey->instants, &journey->works, &journey->account, journey->end,
                         journey->options->series_limit, journey->result, arena, failure);
}

static void finish(struct journey *journey)
{
    struct filling *result = journey->result;
    controls_end(&journey->controls, journey->time);
    ways_end(&journey->ways, journey->time);
    account_close(&journey->account, journey->time, result);
    for (int b = 0; b < journey->works.basin_count; b++) {
        result->tanks[journey->works.basins[b].tank].brim_time = journey->ways.times[b].brim;
        result->tanks[journey->works.basins[b].tank].dry_time = journey->ways.times[b].dry;
    }
    for (int i = 0; i < result->pump_count; i++) {
        struct filling_pump_answer *pump = &result->pumps[i];
        const struct control_pump *from = &journey->controls.pumps[i];
        const double limit = journey->plan->pumps[i].starts_limit;
        pump->starts = from->starts;
        pump->run_time = from->run_time;
        pump->shortest_run = from->shortest_run;
        pump->most_starts = from->most_starts;
        pump->starts_limit = isfinite(limit) && limit > 0.0 ? limit : usual_starts_limit;
        pump->primes_lost = from->primes_lost;
        pump->idle_run = from->idle_run;
    }
    result->tap_count = journey->taps.count;
    result->taps = journey->taps.answers;
    result->time_reached = journey->time;
    result->solve_count = journey->works.evaluations;
    result->switch_count = journey->journal.total;
    result->events = journey->journal.events;
    result->event_count = journey->journal.count;
    result->event_stride = journey->journal.stride;
}

bool filling_run(const struct site *site, const struct filling_options *options,
                 struct filling *result, struct arena *arena, struct failure *failure)
{
    struct journey *journey = arena_take(arena, 1, sizeof *journey);
    memset(result, 0, sizeof *result);
    if (!journey) {
        return fail_memory(failure, "the filling run");
    }
    journey->plan = &site->filling;
    journey->options = options;
    journey->result = result;
    journey->end = options->duration > 0.0 ? options->duration : journey->plan->duration;
    journey->end = journey->end > 0.0 ? journey->end : day;
    const bool is_done = start(journey, site, arena) && run_all(journey);
    if (is_done) {
        finish(journey);
    }
    integrator_free(journey->integrator);
    works_clear(&journey->works);
    if (!is_done) {
        *failure = journey->failure;
    }
    return is_done;
}
