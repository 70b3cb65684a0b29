#include "solver/filling/controls.h"

#include <math.h>
#include <string.h>

/* m: a level so near a switch's counts as there. Far above the round-off of a level, far below what
 * a float can tell. */
static const double touch = 1e-8;

static double level_at(const struct controls *controls, int tank)
{
    return works_level(controls->works, tank);
}

/* --- start --- */

static bool starts_called(const struct filling_switch *what, int stage, double level)
{
    const double on = what->on_level[stage];
    const double off = what->off_level[stage];
    if (what->is_emptying ? level >= on : level <= on) {
        return true;
    }
    return what->is_on_at_start && (what->is_emptying ? level > off : level < off);
}

static bool init_switch(struct controls *controls, int index, struct arena *arena,
                        struct failure *failure)
{
    const struct filling_switch *what = &controls->works->plan->switches[index];
    struct control_switch *mine = &controls->switches[index];
    mine->is_called = arena_take(arena, (size_t)what->stage_count, sizeof *mine->is_called);
    mine->turn_level = arena_take(arena, (size_t)what->stage_count, sizeof *mine->turn_level);
    if (!mine->is_called || !mine->turn_level) {
        return fail_memory(failure, "the float switches");
    }
    for (int i = 0; i < what->stage_count; i++) {
        mine->is_called[i] = starts_called(what, i, level_at(controls, what->tank));
    }
    for (int i = 0; i < what->pump_count; i++) {
        controls->pumps[what->pumps[i]].has_switch = true;
        controls->works->machines[what->pumps[i]].is_on = false;
    }
    return true;
}

bool controls_init(struct controls *controls, struct works *works, struct journal *journal,
                   struct arena *arena, struct failure *failure)
{
    const struct filling_plan *plan = works->plan;
    *controls = (struct controls){.works = works, .journal = journal};
    controls->pumps = arena_take(arena, (size_t)plan->pump_count, sizeof *controls->pumps);
    controls->switches = arena_take(arena, (size_t)plan->switch_count, sizeof *controls->switches);
    if (!controls->pumps || !controls->switches) {
        return fail_memory(failure, "the float switches");
    }
    for (int i = 0; i < plan->pump_count; i++) {
        struct control_pump *pump = &controls->pumps[i];
        pump->rest_until = -(double)INFINITY;
        pump->is_wanted = works->machines[i].is_on;
        pump->prime_left = plan->pumps[i].prime_volume;
        pump->idle_since = pump->shortest_run = NAN;
    }
    for (int i = 0; i < plan->switch_count; i++) {
        if (!init_switch(controls, i, arena, failure)) {
            return false;
        }
    }
    return true;
}

/* --- one pump --- */

static void note(struct controls *controls, double time, enum filling_event_kind kind, int pump,
                 int tank)
{
    journal_note(controls->journal, time, kind, pump,
                 tank == NETWORK_NONE ? (double)NAN : level_at(controls, tank));
}

static void count_start(struct control_pump *pump, double time)
{
    static const double hour = 3600.0;
    pump->recent[pump->starts % CONTROL_STARTS_KEPT] = time;
    pump->starts++;
    int in_hour = 0;
    const int kept = pump->starts < CONTROL_STARTS_KEPT ? pump->starts : CONTROL_STARTS_KEPT;
    while (in_hour < kept &&
           time - pump->recent[(pump->starts - 1 - in_hour) % CONTROL_STARTS_KEPT] < hour) {
        in_hour++;
    }
    pump->most_starts = in_hour > pump->most_starts ? in_hour : pump->most_starts;
}

static void stop_idling(struct control_pump *pump, double time)
{
    if (isfinite(pump->idle_since)) {
        pump->idle_run += time - pump->idle_since;
        pump->idle_since = NAN;
    }
}

static void turn(struct controls *controls, int index, bool on, double time, int tank)
{
    struct control_pump *pump = &controls->pumps[index];
    struct machine *machine = &controls->works->machines[index];
    machine->is_on = on;
    note(controls, time, on ? FILLING_PUMP_ON : FILLING_PUMP_OFF, index, tank);
    if (on) {
        pump->started = time;
        count_start(pump, time);
        pump->idle_since = machine->is_primed ? (double)NAN : time;
        return;
    }
    const double ran = time - pump->started;
    pump->run_time += ran;
    pump->shortest_run = fmin(ran, pump->shortest_run); /* fmin passes over NAN */
    pump->rest_until = time + controls->works->plan->pumps[index].least_rest;
    stop_idling(pump, time);
}

static bool settle_protection(struct controls *controls, int index, double time)
{
    const struct filling_pump *plan = &controls->works->plan->pumps[index];
    struct control_pump *pump = &controls->pumps[index];
    if (plan->protect_tank == NETWORK_NONE) {
        return false;
    }
    const double level = level_at(controls, plan->protect_tank);
    if (!pump->is_protected && level <= plan->protect_level + touch) {
        pump->is_protected = true;
        note(controls, time, FILLING_PROTECTED, index, plan->protect_tank);
        return true;
    }
    if (pump->is_protected && level >= plan->restart_level - touch) {
        pump->is_protected = false;
        note(controls, time, FILLING_UNPROTECTED, index, plan->protect_tank);
        return true;
    }
    return false;
}

/* Its suction pipe drains only while it stands above the water before it. */
static bool is_draining(const struct controls *controls, int index)
{
    const struct filling_pump *plan = &controls->works->plan->pumps[index];
    const struct machine *machine = &controls->works->machines[index];
    return plan->prime_volume > 0.0 && plan->prime_leak > 0.0 && machine->is_primed &&
           !machine->is_on && level_at(controls, plan->prime_tank) < plan->prime_axis - touch;
}

static void prime(struct controls *controls, int index, double time)
{
    controls->works->machines[index].is_primed = true;
    controls->pumps[index].prime_left = controls->works->plan->pumps[index].prime_volume;
    stop_idling(&controls->pumps[index], time);
    note(controls, time, FILLING_PRIMED, index, controls->works->plan->pumps[index].prime_tank);
}

/* Follows what is left in the suction pipe; called before the pump is turned, so that the time
 * since the last call was spent as it stands now. */
static bool settle_prime(struct controls *controls, int index, double time)
{
    const struct filling_pump *plan = &controls->works->plan->pumps[index];
    struct control_pump *pump = &controls->pumps[index];
    struct machine *machine = &controls->works->machines[index];
    if (!(plan->prime_volume > 0.0)) {
        return false;
    }
    const double elapsed = time - pump->prime_noted;
    pump->prime_noted = time;
    const bool is_flooded = level_at(controls, plan->prime_tank) >= plan->prime_axis - touch;
    pump->flood_level = is_flooded ? plan->prime_axis - 2.0 * touch : plan->prime_axis;
    if (!machine->is_primed) {
        const bool has_run = isfinite(pump->idle_since) && isfinite(plan->prime_time) &&
                             time >= pump->idle_since + plan->prime_time - course_blur;
        if (is_flooded || has_run) {
            prime(controls, index, time);
            return true;
        }
        return false;
    }
    if (machine->is_on || is_flooded) {
        pump->prime_left = plan->prime_volume;
        return false;
    }
    pump->prime_left -= plan->prime_leak * elapsed;
    if (pump->prime_left > plan->prime_leak * course_blur) {
        return false;
    }
    machine->is_primed = false;
    pump->primes_lost++;
    note(controls, time, FILLING_PRIME_LOST, index, plan->prime_tank);
    return true;
}

/* --- one switch --- */

static int count_calls(struct controls *controls, int index)
{
    const struct filling_switch *what = &controls->works->plan->switches[index];
    struct control_switch *mine = &controls->switches[index];
    const double level = level_at(controls, what->tank);
    int calls = 0;
    for (int i = 0; i < what->stage_count; i++) {
        const double sign = what->is_emptying ? -1.0 : 1.0; /* of filling: on is below */
        const double over_on = sign * (level - what->on_level[i]);
        const double over_off = sign * (level - what->off_level[i]);
        if (mine->is_called[i] ? over_off >= -touch : over_on <= touch) {
            mine->is_called[i] = !mine->is_called[i];
        }
        calls += mine->is_called[i];
        /* A level that already stands where the next turn is would never be seen to pass it. */
        const bool is_there = mine->is_called[i] ? over_off >= -touch : over_on <= touch;
        const double beyond = is_there ? 2.0 * touch * sign : 0.0;
        mine->turn_level[i] =
            mine->is_called[i] ? what->off_level[i] + beyond : what->on_level[i] - beyond;
    }
    return calls;
}

static bool may_run(const struct controls *controls, int index, double time)
{
    const struct control_pump *pump = &controls->pumps[index];
    return controls->works->machines[index].is_allowed && !pump->is_protected &&
           time >= pump->rest_until - course_blur;
}

/* Stops those that may not run, then the longest running beyond the call. */
static bool stop_surplus(struct controls *controls, const struct filling_switch *what, int calls,
                         double time)
{
    bool has_changed = false;
    int running = 0;
    for (int i = 0; i < what->pump_count; i++) {
        const int index = what->pumps[i];
        if (controls->works->machines[index].is_on && !may_run(controls, index, time)) {
            turn(controls, index, false, time, what->tank);
            has_changed = true;
        }
        running += controls->works->machines[index].is_on;
    }
    for (; running > calls; running--) {
        int worst = NETWORK_NONE;
        for (int i = what->pump_count - 1; i >= 0; i--) {
            const int index = what->pumps[i];
            const bool is_older = worst == NETWORK_NONE ||
                                  (what->alternates &&
                                   controls->pumps[index].started < controls->pumps[worst].started);
            if (controls->works->machines[index].is_on && is_older) {
                worst = index;
            }
        }
        turn(controls, worst, false, time, what->tank);
        has_changed = true;
    }
    return has_changed;
}

static bool start_called(struct controls *controls, int index, int calls, double time)
{
    const struct filling_switch *what = &controls->works->plan->switches[index];
    struct control_switch *mine = &controls->switches[index];
    bool has_changed = false;
    int running = 0;
    for (int i = 0; i < what->pump_count; i++) {
        running += controls->works->machines[what->pumps[i]].is_on;
    }
    const int first = what->alternates ? mine->next : 0;
    for (int k = 0; k < what->pump_count && running < calls; k++) {
        const int place = (first + k) % what->pump_count;
        const int pump = what->pumps[place];
        if (!controls->works->machines[pump].is_on && may_run(controls, pump, time)) {
            turn(controls, pump, true, time, what->tank);
            mine->next = (place + 1) % what->pump_count;
            running++;
            has_changed = true;
        }
    }
    return has_changed;
}

/* Pumps without a switch run as the case says, as far as timers and protection let them. */
static bool settle_free_pump(struct controls *controls, int index, double time)
{
    const struct control_pump *pump = &controls->pumps[index];
    const bool is_on = controls->works->machines[index].is_on;
    const bool should = pump->is_wanted && may_run(controls, index, time);
    if (pump->has_switch || is_on == should) {
        return false;
    }
    turn(controls, index, should, time, controls->works->plan->pumps[index].protect_tank);
    return true;
}

bool controls_settle(struct controls *controls, double time)
{
    const struct filling_plan *plan = controls->works->plan;
    bool has_changed = false;
    for (int i = 0; i < plan->pump_count; i++) {
        has_changed = settle_prime(controls, i, time) || has_changed;
        has_changed = settle_protection(controls, i, time) || has_changed;
        has_changed = settle_free_pump(controls, i, time) || has_changed;
    }
    for (int i = 0; i < plan->switch_count; i++) {
        const int calls = count_calls(controls, i);
        has_changed = stop_surplus(controls, &plan->switches[i], calls, time) || has_changed;
        has_changed = start_called(controls, i, calls, time) || has_changed;
    }
    return has_changed;
}

/* --- what comes next --- */

static double sooner(double next, double candidate, double time)
{
    return candidate > time + course_blur ? fmin(next, candidate) : next;
}

double controls_next(const struct controls *controls, double time)
{
    const struct filling_plan *plan = controls->works->plan;
    double next = INFINITY;
    for (int i = 0; i < plan->pump_count; i++) {
        const struct control_pump *pump = &controls->pumps[i];
        next = sooner(next, pump->rest_until, time);
        if (is_draining(controls, i)) {
            next = sooner(next, pump->prime_noted + pump->prime_left / plan->pumps[i].prime_leak,
                          time);
        }
        if (isfinite(pump->idle_since) && isfinite(plan->pumps[i].prime_time)) {
            next = sooner(next, pump->idle_since + plan->pumps[i].prime_time, time);
        }
    }
    return next;
}

int controls_root_count(const struct filling_plan *plan)
{
    int count = 2 * plan->pump_count;
    for (int i = 0; i < plan->switch_count; i++) {
        count += plan->switches[i].stage_count;
    }
    return count;
}

void controls_roots(const struct controls *controls, double root[])
{
    const struct filling_plan *plan = controls->works->plan;
    int at = 0;
    for (int i = 0; i < plan->pump_count; i++) {
        const struct filling_pump *pump = &plan->pumps[i];
        root[at] = root[at + 1] = 1.0;
        if (pump->protect_tank != NETWORK_NONE) {
            root[at] =
                level_at(controls, pump->protect_tank) -
                (controls->pumps[i].is_protected ? pump->restart_level : pump->protect_level);
        }
        if (pump->prime_volume > 0.0) {
            root[at + 1] = level_at(controls, pump->prime_tank) - controls->pumps[i].flood_level;
        }
        at += 2;
    }
    for (int i = 0; i < plan->switch_count; i++) {
        const struct filling_switch *what = &plan->switches[i];
        const double level = level_at(controls, what->tank);
        for (int stage = 0; stage < what->stage_count; stage++) {
            root[at++] = level - controls->switches[i].turn_level[stage];
        }
    }
}

void controls_end(struct controls *controls, double time)
{
    for (int i = 0; i < controls->works->plan->pump_count; i++) {
        struct control_pump *pump = &controls->pumps[i];
        if (controls->works->machines[i].is_on) {
            pump->run_time += time - pump->started;
            stop_idling(pump, time);
        }
    }
}
