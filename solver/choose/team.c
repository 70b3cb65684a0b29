#include "solver/choose/team.h"

#include "solver/choose/judge.h"

#include <math.h>
#include <string.h>

static void note_failure(struct team *team, const struct failure *failure)
{
    workers_lock_take(&team->lock);
    if (!team->is_failed) {
        team->is_failed = true;
        team->failure = *failure;
    }
    workers_lock_give(&team->lock);
}

static bool take_room(struct team *team, struct arena *arena)
{
    const size_t places = (size_t)team->place_count;
    const size_t workers = (size_t)team->worker_count;
    const size_t trips = (size_t)team->envelope->trip_count;
    team->reference = arena_take(arena, (size_t)team->envelope->condition_count * places,
                                 sizeof *team->reference);
    team->trip_reference = arena_take(arena, trips * places + 1, sizeof *team->trip_reference);
    team->has_reference = arena_take(arena, trips + 1, sizeof *team->has_reference);
    team->benches = arena_take(arena, workers, sizeof(struct workbench *));
    team->scratch = arena_take(arena, workers, sizeof(struct measures *));
    if (!team->reference || !team->trip_reference || !team->has_reference || !team->benches ||
        !team->scratch) {
        return fail_memory(&team->failure, "the workers of the choice");
    }
    for (int i = 0; i < team->worker_count; i++) {
        team->scratch[i] = arena_take(arena, places, sizeof **team->scratch);
        team->benches[i] =
            workbench_new(team->envelope, team->place_count, team->places, &team->failure);
        if (!team->scratch[i] || !team->benches[i]) {
            return team->benches[i] ? fail_memory(&team->failure, "the workers of the choice")
                                    : false;
        }
    }
    return true;
}

bool team_init(struct team *team, struct arena *arena)
{
    team->worker_count = workers_count();
    team->is_failed = false;
    workers_lock_init(&team->lock);
    if (!take_room(team, arena)) {
        return false;
    }
    for (int i = 0; i < team->envelope->condition_count; i++) {
        if (!measure_steady(team->benches[0], i, team->ideal,
                            team->reference + (ptrdiff_t)i * team->place_count, &team->failure)) {
            return false;
        }
    }
    return true;
}

void team_clear(struct team *team)
{
    for (int i = 0; team->benches && i < team->worker_count; i++) {
        workbench_free(team->benches[i]);
    }
    workers_lock_clear(&team->lock);
}

/* --- steady --- */

static int first_condition_of(const struct envelope *envelope, int site)
{
    int i = 0;
    while (i < envelope->condition_count - 1 && envelope->conditions[i].site != site) {
        i++;
    }
    return i;
}

static bool is_behind(const struct valve_set *set, const struct valve_set *limit)
{
    return limit && valve_set_compare(set, limit) > 0;
}

static bool add_rests(struct team *team, struct workbench *bench, struct valve_set *set,
                      struct failure *failure)
{
    double back_head[CHOOSE_PLACES_MOST];
    for (int i = 0; i < team->envelope->site_count; i++) {
        if (!measure_rest(bench, i, set->picks, back_head, failure)) {
            return false;
        }
        valve_set_add_rest(set, i, first_condition_of(team->envelope, i), back_head);
    }
    return true;
}

/* One set through all conditions; true in `is_dropped` when it fell behind the limit. */
static bool add_all(struct team *team, int worker, struct valve_set *set,
                    const struct valve_set *limit, bool *is_dropped, struct failure *failure)
{
    const struct envelope *envelope = team->envelope;
    struct measures *found = team->scratch[worker];
    valve_set_start(set, team->site, team->rule);
    for (int i = 0; i < envelope->condition_count; i++) {
        const struct site *site = envelope->sites[envelope->conditions[i].site].site;
        if (!measure_steady(team->benches[worker], i, set->picks, found, failure)) {
            return false;
        }
        valve_set_add_steady(set, site, team->places, i,
                             team->reference + (ptrdiff_t)i * team->place_count, found);
        valve_set_settle(set, team->rule);
        *is_dropped = is_behind(set, limit);
        if (*is_dropped) {
            return true;
        }
    }
    if (!add_rests(team, team->benches[worker], set, failure)) {
        return false;
    }
    valve_set_settle(set, team->rule);
    *is_dropped = is_behind(set, limit);
    return true;
}

bool team_steady(struct team *team, int count, struct valve_set sets[],
                 const struct valve_set *limit, bool dropped[])
{
#pragma omp parallel for schedule(dynamic, 1) num_threads(team->worker_count)
    for (int i = 0; i < count; i++) {
        struct failure failure = {0};
        bool is_dropped = false;
        if (!add_all(team, workers_mine(), &sets[i], limit, &is_dropped, &failure)) {
            note_failure(team, &failure);
        }
        if (dropped) {
            dropped[i] = is_dropped;
        }
    }
    return !team->is_failed;
}

/* --- surge --- */

/* References that the jobs' judgement needs and that are not there yet. */
static bool add_references(struct team *team, int count, const struct team_job jobs[])
{
    for (int i = 0; i < count; i++) {
        enum team_reference *state = &team->has_reference[jobs[i].trip];
        if (*state == TEAM_REFERENCE_NONE && judge_needs_reference(&jobs[i].found[0])) {
            *state = TEAM_REFERENCE_WANTED;
        }
    }
#pragma omp parallel for schedule(dynamic, 1) num_threads(team->worker_count)
    for (int trip = 0; trip < team->envelope->trip_count; trip++) {
        struct failure failure = {0};
        if (team->has_reference[trip] != TEAM_REFERENCE_WANTED) {
            continue;
        }
        team->has_reference[trip] = TEAM_REFERENCE_MADE;
        if (!measure_surge(team->benches[workers_mine()], trip, 1, team->ideal,
                           team->trip_reference + (ptrdiff_t)trip * team->place_count, &failure)) {
            note_failure(team, &failure);
        }
    }
    return !team->is_failed;
}

bool team_refine(struct team *team, int refinement, int count, struct team_job jobs[])
{
#pragma omp parallel for schedule(dynamic, 1) num_threads(team->worker_count)
    for (int i = 0; i < count; i++) {
        struct failure failure = {0};
        if (!measure_surge(team->benches[workers_mine()], jobs[i].trip, refinement,
                           jobs[i].set->picks, jobs[i].found, &failure)) {
            note_failure(team, &failure);
        }
    }
    return !team->is_failed;
}

bool team_trips(struct team *team, int count, struct team_job jobs[])
{
    if (!team_refine(team, 1, count, jobs) || !add_references(team, count, jobs)) {
        return false;
    }
    for (int i = 0; i < count; i++) {
        const int trip = jobs[i].trip;
        const int at = team->envelope->conditions[team->envelope->trips[trip].condition].site;
        const struct measures *reference =
            team->has_reference[trip] == TEAM_REFERENCE_MADE
                ? team->trip_reference + (ptrdiff_t)trip * team->place_count
                : NULL;
        valve_set_add_surge(jobs[i].set, team->envelope->sites[at].site, trip, reference,
                            jobs[i].found);
        valve_set_settle(jobs[i].set, team->rule);
    }
    return true;
}
