#include "solver/choose/bands.h"

#include <math.h>

enum { FINER = 2 };

static const double CHANGES = 2.5;      /* bands by changes: 2 x 1.25, see the header */
static const double POOLED_SHARE = 0.5; /* of the root mean square change */

/* The runs of all sets, one for each trip that is hardest on a valve of a set. */
struct work {
    struct team *team;
    int job_count;
    struct team_job *jobs;
};

static struct team_job *find_job(const struct work *work, const struct valve_set *set, int trip)
{
    for (int i = 0; i < work->job_count; i++) {
        if (work->jobs[i].set == set && work->jobs[i].trip == trip) {
            return &work->jobs[i];
        }
    }
    return NULL;
}

static bool add_jobs(struct work *work, struct valve_set *set, struct arena *arena)
{
    for (int i = 0; i < set->place_count; i++) {
        const int trip = set->places[i].slam_at;
        if (trip == NETWORK_NONE || find_job(work, set, trip)) {
            continue;
        }
        struct measures *found = arena_take(arena, (size_t)set->place_count, sizeof *found);
        if (!found) {
            return fail_memory(&work->team->failure, "the error bands of the choice");
        }
        work->jobs[work->job_count++] = (struct team_job){set, trip, found};
    }
    return true;
}

/* Of the slam head at one place, m; NAN: no answer. */
static double change_at(const struct work *work, const struct valve_set *set, int place)
{
    const struct set_place *here = &set->places[place];
    const struct team_job *job = find_job(work, set, here->slam_at);
    return job && job->found[place].is_surged
               ? fabs(job->found[place].slam_head - here->measures.slam_head)
               : (double)NAN;
}

static double least_change(const struct work *work, int set_count, const struct valve_set sets[])
{
    double squares = 0.0;
    int count = 0;
    for (int i = 0; i < set_count; i++) {
        for (int k = 0; k < sets[i].place_count; k++) {
            const double change = change_at(work, &sets[i], k);
            squares += isfinite(change) ? change * change : 0.0;
            count += isfinite(change);
        }
    }
    return count > 0 ? POOLED_SHARE * sqrt(squares / count) : 0.0;
}

/* The places' bands add up, as nothing says that they are off in different ways. */
static void put_bands(const struct work *work, double least, struct valve_set *set)
{
    double sum = 0.0;
    for (int i = 0; i < set->place_count; i++) {
        struct set_place *place = &set->places[i];
        if (place->slam_at == NETWORK_NONE) {
            continue; /* nothing slams here: its share of the handicap is exact */
        }
        place->slam_band = CHANGES * fmax(change_at(work, set, i), least);
        if (isnan(change_at(work, set, i))) {
            place->slam_band = (double)NAN; /* fmax would hide it */
        }
        sum +=
            100.0 * work->team->rule->slam_weight * place->slam_band / place->measures.allowed_head;
    }
    set->handicap_band = sum;
}

bool bands_make(struct team *team, int set_count, struct valve_set sets[], int *run_count,
                struct arena *arena)
{
    struct work work = {.team = team};
    *run_count = 0;
    if (team->envelope->trip_count == 0) {
        return true;
    }
    const size_t room = (size_t)set_count * (size_t)team->place_count + 1;
    work.jobs = arena_take(arena, room, sizeof *work.jobs);
    if (!work.jobs) {
        return fail_memory(&team->failure, "the error bands of the choice");
    }
    for (int i = 0; i < set_count; i++) {
        if (sets[i].rank > 0 && !sets[i].is_unjudged && !add_jobs(&work, &sets[i], arena)) {
            return false;
        }
    }
    if (!team_refine(team, FINER, work.job_count, work.jobs)) {
        return false;
    }
    const double least = least_change(&work, set_count, sets);
    for (int i = 0; i < set_count; i++) {
        if (sets[i].rank > 0 && !sets[i].is_unjudged) {
            put_bands(&work, least, &sets[i]);
        }
    }
    *run_count = work.job_count;
    return true;
}
