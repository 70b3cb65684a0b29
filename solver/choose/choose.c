#include "solver/choose/choose.h"

#include "solver/choose/judge.h"
#include "solver/choose/measure.h"
#include "solver/workers.h"

#include <math.h>
#include <stdlib.h>

const struct choose_rule choose_rule_default = {
    .slam_weight = 0.5, .debris_grade = 2.0, .service_grade = 2.0, .part_open = 10.0};

/* Without a plan of its own a site is tried by the failure every pump meets: the power fails. */
static const double DEFAULT_STOP_AT = 0.5; /* s */
static const double DEFAULT_DURATION =
    20.0; /* s, several reflections of any site of plastic pipe */
static const double FULLY_OPEN = 0.999;

static bool default_plan(const struct site *site, struct surge_plan *plan, struct arena *arena)
{
    struct surge_event *events = arena_take(arena, (size_t)site->pump_place_count, sizeof *events);
    if (!events) {
        return false;
    }
    int count = 0;
    for (int i = 0; i < site->pump_place_count; i++) {
        const int link = site->pump_places[i].link;
        const struct pump_unit *unit = site->network->links[link].data;
        if (unit->is_running) {
            events[count++] =
                (struct surge_event){.kind = SURGE_EVENT_STOP, .at = DEFAULT_STOP_AT, .link = link};
        }
    }
    *plan = (struct surge_plan){
        .is_given = true, .duration = DEFAULT_DURATION, .event_count = count, .events = events};
    return true;
}

static int service_steps(enum non_return_service service)
{
    switch (service) {
    case SERVICE_UNIONS:
        return 0;
    case SERVICE_COVER:
    case SERVICE_FLANGES:
        return 1;
    case SERVICE_LIFT_OUT:
        return 2;
    case SERVICE_NONE:
        break;
    }
    return 3;
}

static double handicap(const struct choose_rule *rule, const struct candidate *candidate)
{
    const struct measures *found = &candidate->measures;
    const double slam = found->slam_head / found->allowed_head;
    double sum = 100.0 * fmax(candidate->flow_lost, 0.0);
    sum += isfinite(slam) ? 100.0 * rule->slam_weight * slam : 0.0;
    sum += rule->debris_grade * (double)(candidate->valve.debris - 1);
    sum += rule->service_grade * (double)service_steps(candidate->valve.service);
    sum += found->opening < FULLY_OPEN ? rule->part_open : 0.0;
    return sum;
}

/* Fewest failures first, then those whose slam is known, then by handicap; form and size settle
 * ties, so that the order never depends on how the work was shared out. */
static int compare(const void *left, const void *right)
{
    const struct candidate *a = left;
    const struct candidate *b = right;
    if (a->failed_count != b->failed_count) {
        return a->failed_count < b->failed_count ? -1 : 1;
    }
    if (a->is_unjudged != b->is_unjudged) {
        return a->is_unjudged ? 1 : -1;
    }
    if (a->handicap < b->handicap || a->handicap > b->handicap) {
        return a->handicap < b->handicap ? -1 : 1;
    }
    if (a->valve.form != b->valve.form) {
        return a->valve.form < b->valve.form ? -1 : 1;
    }
    if (a->valve.bore < b->valve.bore || a->valve.bore > b->valve.bore) {
        return a->valve.bore < b->valve.bore ? -1 : 1;
    }
    return (int)b->is_present - (int)a->is_present;
}

static bool try_candidate(struct workbench *bench, const struct site *site, int place,
                          bool without_surge, const struct measures *reference,
                          struct candidate *candidate, struct failure *failure)
{
    if (!measure_steady(bench, place, &candidate->valve, &candidate->measures, failure)) {
        return false;
    }
    judge_steady(site, &site->valves[place], reference, candidate);
    const bool is_hopeless = candidate->judgements[REQUIREMENT_OPENS].verdict == VERDICT_FAILED ||
                             candidate->judgements[REQUIREMENT_MOUNTING].verdict == VERDICT_FAILED;
    if (without_surge || is_hopeless) {
        return true;
    }
    if (!measure_surge(bench, place, &candidate->measures, failure)) {
        return false;
    }
    candidate->is_unjudged = !candidate->measures.is_surged;
    judge_surge(site, reference, candidate);
    return true;
}

/* The same place with a valve that takes nothing, shuts at zero flow and weighs nothing. */
static bool measure_reference(struct workbench *bench, int place, bool without_surge,
                              const struct non_return *present, struct measures *reference,
                              struct failure *failure)
{
    struct non_return ideal = *present;
    ideal.form = NON_RETURN_IDEAL;
    ideal.type = "reference";
    ideal.opening_head = 0.0;
    ideal.full_open_velocity = 0.0;
    ideal.full_open_loss = 1e-6;
    ideal.extra_loss = 0.0;
    ideal.leak_area = 0.0;
    ideal.closing_force = 0.0;
    ideal.seating_head = 0.0;
    if (!measure_steady(bench, place, &ideal, reference, failure)) {
        return false;
    }
    return without_surge || !reference->is_solved ||
           measure_surge(bench, place, reference, failure);
}

static void rank(const struct choose_rule *rule, struct choose_place *place)
{
    for (int i = 0; i < place->candidate_count; i++) {
        place->candidates[i].handicap = handicap(rule, &place->candidates[i]);
    }
    qsort(place->candidates, (size_t)place->candidate_count, sizeof *place->candidates, compare);
    place->accepted_count = 0;
    for (int i = 0; i < place->candidate_count; i++) {
        if (place->candidates[i].failed_count == 0) {
            place->candidates[i].rank = ++place->accepted_count;
        }
    }
}

static bool list_places(const struct site *site, struct choose *result, struct arena *arena,
                        struct failure *failure)
{
    const int room = candidate_list_max();
    result->place_count = site->valve_count;
    result->places = arena_take(arena, (size_t)site->valve_count, sizeof *result->places);
    if (!result->places) {
        return fail_memory(failure, "the places of the choice");
    }
    for (int i = 0; i < site->valve_count; i++) {
        struct choose_place *place = &result->places[i];
        const struct non_return *present = site->network->links[site->valves[i].link].data;
        place->valve = i;
        place->candidates = arena_take(arena, (size_t)room, sizeof *place->candidates);
        if (!place->candidates) {
            return fail_memory(failure, "the candidates of the choice");
        }
        place->candidate_count =
            candidate_list(site, &site->valves[i], present, room, place->candidates);
    }
    return true;
}

/* What is shared while the candidates of all places are worked on. Each candidate is one job; every
 * worker has a bench of its own, so an answer does not depend on who worked it out. */
struct work {
    const struct site *site;
    const struct choose_options *options;
    struct choose *result;
    int worker_count;
    struct workbench **benches; /* [worker_count] */
    int total;                  /* runs in all, references too */
    struct workers_lock lock;   /* for what stands below */
    int done;
    bool is_failed;
    struct failure failure; /* the first */
};

/* Counts one more run done; the callback is called by one worker at a time. */
static void tell(struct work *work)
{
    const struct choose_options *options = work->options;
    work->done++;
    if (options->progress &&
        !options->progress(options->user, (double)work->done / (double)work->total)) {
        work->result->is_stopped = true;
    }
}

static void work_candidate(struct work *work, const struct choose_place *place,
                           struct candidate *candidate)
{
    struct failure failure = {0};
    struct workbench *bench = work->benches[workers_mine()];
    workers_lock_take(&work->lock);
    const bool goes_on = !work->is_failed && !work->result->is_stopped;
    workers_lock_give(&work->lock);
    if (!goes_on) {
        return;
    }
    const bool is_done =
        try_candidate(bench, work->site, place->valve, work->options->without_surge,
                      &place->reference, candidate, &failure);
    workers_lock_take(&work->lock);
    if (!is_done && !work->is_failed) {
        work->is_failed = true;
        work->failure = failure;
    }
    tell(work);
    workers_lock_give(&work->lock);
}

static void work_place(struct work *work, int index)
{
    const struct site *site = work->site;
    struct choose_place *place = &work->result->places[index];
    const bool without_surge = work->options->without_surge;
    const struct non_return *present = site->network->links[site->valves[index].link].data;
    work->is_failed = !measure_reference(work->benches[0], index, without_surge, present,
                                         &place->reference, &work->failure);
    tell(work);
#pragma omp parallel for schedule(dynamic, 1) num_threads(work->worker_count)
    for (int i = 0; i < place->candidate_count; i++) {
        work_candidate(work, place, &place->candidates[i]);
    }
    if (work->result->is_stopped) {
        place->candidate_count = 0;
    }
    rank(&work->options->rule, place);
}

static bool set_up(struct work *work, struct arena *arena, struct failure *failure)
{
    work->worker_count = workers_count();
    work->benches = arena_take(arena, (size_t)work->worker_count, sizeof(struct workbench *));
    if (!work->benches) {
        return fail_memory(failure, "the workers of the choice");
    }
    work->total = 0;
    for (int i = 0; i < work->result->place_count; i++) {
        work->total += work->result->places[i].candidate_count + 1;
    }
    for (int i = 0; i < work->worker_count; i++) {
        work->benches[i] = workbench_new(work->site, &work->result->plan, failure);
        if (!work->benches[i]) {
            return false;
        }
    }
    return true;
}

static void clear(struct work *work)
{
    for (int i = 0; work->benches && i < work->worker_count; i++) {
        workbench_free(work->benches[i]);
    }
    workers_lock_clear(&work->lock);
}

bool choose_run(const struct site *site, const struct choose_options *options,
                struct choose *result, struct arena *arena, struct failure *failure)
{
    *result = (struct choose){.plan = site->surge, .plan_is_default = !site->surge.is_given};
    if (result->plan_is_default && !default_plan(site, &result->plan, arena)) {
        return fail_memory(failure, "the plan of the choice");
    }
    struct work work = {.site = site, .options = options, .result = result};
    workers_lock_init(&work.lock);
    bool is_done = list_places(site, result, arena, failure) && set_up(&work, arena, failure);
    for (int i = 0; is_done && i < result->place_count; i++) {
        if (result->is_stopped) {
            result->places[i].candidate_count = 0;
            continue;
        }
        work_place(&work, i);
        if (work.is_failed) {
            *failure = work.failure;
            is_done = false;
        }
    }
    clear(&work);
    return is_done;
}
