#include "solver/choose/search.h"

#include "solver/choose/judge.h"
#include "solver/choose/walk.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

enum {
    BATCH = 64,     /* sets solved between two looks at the clock */
    RUNS = 8,       /* most surge runs between two looks at the order */
    RUNS_WANTED = 4 /* and about so many, whatever the workers */
};

const struct search_effort search_effort_default = {4000, SEARCH_SETS_MOST};

/* The candidates of a place that the search may take, and how far it has come. */
struct work {
    struct team *team;
    const struct search_place *places;
    struct search_effort effort;
    int finalists;
    choose_progress progress;
    void *user;
    struct search *search;
    struct arena *arena;
    struct walk_list *allowed; /* [place_count] */
    int *trip_order;           /* [trip_count] the hardest of the first judged set first */
    struct valve_set *seen;    /* [finalists] the best by steady flow that were met on the way */
    int seen_count;
    struct valve_set *batch; /* [BATCH] room */
    struct measures *found;  /* [RUNS][place_count] room */
    struct valve_set *queue; /* [queue_count] sets that may be among the best */
    int queue_count;
    int queue_room;
};

static bool short_of_memory(struct work *work)
{
    return fail_memory(&work->team->failure, "the search for sets of valves");
}

static bool tell(struct work *work, double share)
{
    struct search *search = work->search;
    if (work->progress && !search->is_stopped && !work->progress(work->user, share)) {
        search->is_stopped = true;
    }
    return !search->is_stopped;
}

/* --- 1: candidates alone --- */

static int alone_failures(const struct work *work, const struct candidate *candidate)
{
    struct judgement judgements[REQUIREMENT_COUNT] = {{0}};
    judge_alone(work->team->site, &candidate->valve, judgements);
    return judge_failures(judgements, true);
}

static void sort_allowed(const struct search_place *place, struct walk_list *list)
{
    for (int i = 0; i < list->count; i++) {
        const int candidate = list->candidate[i];
        const double fixed = place->candidates[candidate].fixed;
        int k = i;
        for (; k > 0 && list->fixed[k - 1] > fixed; k--) {
            list->candidate[k] = list->candidate[k - 1];
            list->fixed[k] = list->fixed[k - 1];
        }
        list->candidate[k] = candidate;
        list->fixed[k] = fixed;
    }
}

/* Those that fail nothing alone; where every one fails something, those that fail least. */
static bool allow_place(struct work *work, int place)
{
    const struct search_place *here = &work->places[place];
    struct walk_list *list = &work->allowed[place];
    const size_t room = (size_t)here->candidate_count;
    int fewest = REQUIREMENT_COUNT;
    list->candidate = arena_take(work->arena, room, sizeof *list->candidate);
    list->fixed = arena_take(work->arena, room, sizeof *list->fixed);
    if (!list->candidate || !list->fixed) {
        return short_of_memory(work);
    }
    for (int i = 0; i < here->candidate_count; i++) {
        const int failures = alone_failures(work, &here->candidates[i]);
        if (failures < fewest) {
            fewest = failures;
            list->count = 0;
        }
        if (failures == fewest) {
            list->candidate[list->count++] = i;
        }
    }
    sort_allowed(here, list);
    work->search->tally.all *= here->candidate_count;
    work->search->tally.after_alone *= list->count;
    return true;
}

static bool take_sets(struct work *work, int count, struct valve_set **sets)
{
    *sets = arena_take(work->arena, (size_t)count, sizeof **sets);
    if (!*sets) {
        return short_of_memory(work);
    }
    for (int i = 0; i < count; i++) {
        if (!valve_set_take(&(*sets)[i], work->team->place_count, work->arena,
                            &work->team->failure)) {
            return false;
        }
    }
    return true;
}

static bool take_room(struct work *work)
{
    struct team *team = work->team;
    const size_t places = (size_t)team->place_count;
    const size_t trips = (size_t)team->envelope->trip_count;
    work->allowed = arena_take(work->arena, places, sizeof *work->allowed);
    work->trip_order = arena_take(work->arena, trips + 1, sizeof(int));
    work->found = arena_take(work->arena, RUNS * places, sizeof *work->found);
    if (!work->allowed || !work->trip_order || !work->found) {
        return short_of_memory(work);
    }
    for (size_t i = 0; i < trips; i++) {
        work->trip_order[i] = (int)i;
    }
    return take_sets(work, work->finalists, &work->seen) &&
           take_sets(work, work->finalists, &work->search->sets) &&
           take_sets(work, BATCH, &work->batch);
}

/* Puts a set among the best `most`; false: it is one of them already, or behind them all. */
static bool insert(struct valve_set list[], int *count, int most, const struct valve_set *set)
{
    int at = 0;
    if (valve_set_find(*count, list, set) != NETWORK_NONE) {
        return false;
    }
    while (at < *count && valve_set_compare(&list[at], set) <= 0) {
        at++;
    }
    if (at >= most) {
        return false;
    }
    *count += *count < most;
    const struct valve_set spare = list[*count - 1];
    for (int i = *count - 1; i > at; i--) {
        list[i] = list[i - 1];
    }
    list[at] = spare;
    valve_set_copy(&list[at], set);
    return true;
}

/* What a set must not rank behind; NULL: there are not yet enough. */
static const struct valve_set *mark(const struct work *work)
{
    const struct search *search = work->search;
    return search->set_count == work->finalists ? &search->sets[search->set_count - 1] : NULL;
}

static bool improve_place(struct work *work, struct valve_set *now, int place)
{
    const struct walk_list *list = &work->allowed[place];
    const int count = list->count;
    for (int first = 0; first < count; first += BATCH) {
        const int batch = count - first < BATCH ? count - first : BATCH;
        for (int i = 0; i < batch; i++) {
            valve_set_copy(&work->batch[i], now);
            work->batch[i].picks[place] =
                &work->places[place].candidates[list->candidate[first + i]];
        }
        if (!team_steady(work->team, batch, work->batch, NULL, NULL)) {
            return false;
        }
        for (int i = 0; i < batch; i++) {
            (void)insert(work->seen, &work->seen_count, work->finalists, &work->batch[i]);
        }
    }
    valve_set_copy(now, &work->seen[0]);
    return true;
}

static bool find_some(struct work *work)
{
    enum { SWEEPS = 3 };
    struct valve_set now;
    if (!valve_set_take(&now, work->team->place_count, work->arena, &work->team->failure)) {
        return false;
    }
    for (int i = 0; i < work->team->place_count; i++) {
        now.picks[i] = &work->places[i].candidates[work->allowed[i].candidate[0]];
    }
    for (int sweep = 0; sweep < SWEEPS; sweep++) {
        for (int i = 0; i < work->team->place_count; i++) {
            if (!improve_place(work, &now, i)) {
                return false;
            }
        }
    }
    return true;
}

static bool keep_in_queue(struct work *work, const struct valve_set *set)
{
    if (work->queue_count == work->queue_room) {
        const int room = work->queue_room > 0 ? 2 * work->queue_room : 64;
        struct valve_set *queue = arena_take(work->arena, (size_t)room, sizeof *queue);
        if (!queue) {
            return short_of_memory(work);
        }
        if (work->queue_count > 0) {
            memcpy(queue, work->queue, (size_t)work->queue_count * sizeof *queue);
        }
        work->queue = queue;
        work->queue_room = room;
    }
    struct valve_set *kept = &work->queue[work->queue_count++];
    if (!valve_set_take(kept, set->place_count, work->arena, &work->team->failure)) {
        return false;
    }
    valve_set_copy(kept, set);
    return true;
}

/* --- 5: surge --- */

/* The trips in the order of how hard the set's valves slam in them, so that sets that are too bad
 * are found out early. */
static void order_trips(struct work *work, const double hardness[])
{
    int *order = work->trip_order;
    for (int i = 1; i < work->team->envelope->trip_count; i++) {
        const int moved = order[i];
        int k = i;
        for (; k > 0 && hardness[order[k - 1]] < hardness[moved]; k--) {
            order[k] = order[k - 1];
        }
        order[k] = moved;
    }
}

static double hardness_of(const struct work *work, const struct measures found[])
{
    double sum = 0.0;
    for (int i = 0; i < work->team->place_count; i++) {
        const double share = found[i].slam_head / found[i].allowed_head;
        sum += isfinite(share) ? share : 0.0;
    }
    return sum;
}

/* Runs `count` jobs and counts them. */
static bool run_jobs(struct work *work, int count, struct team_job jobs[])
{
    for (int i = 0; i < count; i++) {
        jobs[i].found = work->found + (ptrdiff_t)i * work->team->place_count;
    }
    work->search->tally.surge_runs += count;
    if (!team_trips(work->team, count, jobs)) {
        return false;
    }
    (void)tell(work, 0.2 + 0.7 * (1.0 - exp(-work->search->tally.surge_runs / 100.0)));
    return true;
}

/* A set through all trips that it has not been run through. */
static bool judge_whole(struct work *work, struct valve_set *set, double hardness[])
{
    const int trips = work->team->envelope->trip_count;
    while (set->trip_count < trips && !work->search->is_stopped) {
        struct team_job jobs[RUNS];
        const int first = set->trip_count;
        const int count = trips - first < RUNS_WANTED ? trips - first : RUNS_WANTED;
        for (int i = 0; i < count; i++) {
            jobs[i] = (struct team_job){.set = set, .trip = work->trip_order[first + i]};
        }
        if (!run_jobs(work, count, jobs)) {
            return false;
        }
        for (int i = 0; hardness && i < count; i++) {
            hardness[jobs[i].trip] = hardness_of(work, jobs[i].found);
        }
    }
    return true;
}

/* Before any set was run: the first through all trips, which then are tried in the order of how
 * hard they were on it. */
static bool judge_first(struct work *work, struct valve_set *set)
{
    double *hardness =
        arena_take(work->arena, (size_t)work->team->envelope->trip_count + 1, sizeof *hardness);
    if (!hardness) {
        return short_of_memory(work);
    }
    const bool is_good = judge_whole(work, set, hardness);
    order_trips(work, hardness);
    return is_good;
}

/* The good sets that were met, in every case: the last of them is the mark. */
static bool judge_seen(struct work *work)
{
    struct search *search = work->search;
    for (int i = 0; i < work->seen_count && !search->is_stopped; i++) {
        if (i == 0 ? !judge_first(work, &work->seen[0])
                   : !judge_whole(work, &work->seen[i], NULL)) {
            return false;
        }
        (void)insert(search->sets, &search->set_count, work->finalists, &work->seen[i]);
        if (!keep_in_queue(work, &work->seen[i])) {
            return false;
        }
    }
    return true;
}

/* The next sets to run: of the first `finalists` in the queue, which is sorted, those not yet
 * judged in every case. */
static int pick_unjudged(const struct work *work, int room, struct valve_set *picked[])
{
    const int trips = work->team->envelope->trip_count;
    int count = 0;
    for (int i = 0; i < work->queue_count && i < work->finalists && count < room; i++) {
        if (work->queue[i].trip_count < trips) {
            picked[count++] = &work->queue[i];
        }
    }
    return count;
}

static int compare_sets(const void *left, const void *right)
{
    return valve_set_compare(left, right);
}

/* Whatever stands first is run further until what stands first has been through every case: as
 * a case only adds to a set, none behind can come before. */
static bool judge_queue(struct work *work)
{
    const int trips = work->team->envelope->trip_count;
    while (!work->search->is_stopped) {
        struct valve_set *picked[RUNS];
        struct team_job jobs[RUNS];
        int job_count = 0;
        qsort(work->queue, (size_t)work->queue_count, sizeof *work->queue, compare_sets);
        const int count = pick_unjudged(work, RUNS, picked);
        const int each = count > 0 && count < RUNS_WANTED ? RUNS_WANTED / count : 1;
        for (int i = 0; i < count; i++) {
            const int done = picked[i]->trip_count;
            for (int k = 0; k < each && done + k < trips; k++) {
                jobs[job_count++] =
                    (struct team_job){.set = picked[i], .trip = work->trip_order[done + k]};
            }
        }
        if (count == 0) {
            break;
        }
        if (!run_jobs(work, job_count, jobs)) {
            return false;
        }
    }
    return true;
}

/* --- 3 and 4: all others --- */

static bool list_within(struct work *work, struct walk *walk)
{
    const struct valve_set *at = mark(work);
    struct search_tally *tally = &work->search->tally;
    /* Where the mark fails something, a set with more handicap and fewer failures is before it. */
    const bool is_bound = at && at->failed_count == 0 && !at->is_unjudged;
    if (!walk_within(work->team->place_count, work->allowed,
                     is_bound ? at->handicap : (double)INFINITY, work->effort.sets_most, walk,
                     work->arena)) {
        return short_of_memory(work);
    }
    tally->least_left = walk->least_left;
    double *others = isfinite(tally->least_left) ? &tally->by_count : &tally->by_fixed;
    *others = tally->after_alone - walk->count;
    return true;
}

static bool solve_steady(struct work *work, const struct walk *walk)
{
    const int places = work->team->place_count;
    const int judged = work->queue_count; /* while some good ones were sought */
    const struct valve_set *limit = mark(work);
    bool dropped[BATCH];
    for (int first = 0; first < walk->count; first += BATCH) {
        const int batch = walk->count - first < BATCH ? walk->count - first : BATCH;
        for (int i = 0; i < batch; i++) {
            const uint16_t *chosen = walk->chosen + (ptrdiff_t)(first + i) * places;
            for (int k = 0; k < places; k++) {
                work->batch[i].picks[k] = &work->places[k].candidates[chosen[k]];
            }
        }
        if (!team_steady(work->team, batch, work->batch, limit, dropped)) {
            return false;
        }
        for (int i = 0; i < batch; i++) {
            struct valve_set *set = &work->batch[i];
            const bool is_new = valve_set_find(judged, work->queue, set) == NETWORK_NONE;
            work->search->tally.by_steady += is_new && dropped[i];
            if (is_new && !dropped[i] && !keep_in_queue(work, set)) {
                return false;
            }
        }
        if (!tell(work, 0.1 + 0.1 * (double)first / (double)walk->count)) {
            break;
        }
    }
    return true;
}

static bool judge_others(struct work *work)
{
    struct walk walk;
    if (!list_within(work, &walk) || !solve_steady(work, &walk)) {
        return false;
    }
    if (work->queue_count == 0 || work->search->is_stopped) {
        return true;
    }
    qsort(work->queue, (size_t)work->queue_count, sizeof *work->queue, compare_sets);
    return (work->search->set_count > 0 || judge_first(work, &work->queue[0])) && judge_queue(work);
}

/* What comes of it: those judged in every case stand first in the queue where they rank first. */
static bool collect(struct work *work)
{
    struct search *search = work->search;
    const int trips = work->team->envelope->trip_count;
    search->tried = arena_take(work->arena, (size_t)work->queue_count + 1, sizeof *search->tried);
    if (!search->tried) {
        return short_of_memory(work);
    }
    search->set_count = 0;
    for (int i = 0; i < work->queue_count; i++) {
        struct valve_set *set = &work->queue[i];
        const bool is_tried = set->trip_count > 0 || (trips == 0 && i < work->finalists);
        if (is_tried) {
            search->tried[search->tried_count++] = *set;
        }
        search->tally.judged += is_tried && set->trip_count == trips;
        search->tally.by_surge += is_tried && set->trip_count < trips;
        search->tally.by_steady += !is_tried;
        if (i < work->finalists) {
            valve_set_copy(&search->sets[search->set_count++], set);
        }
    }
    for (int i = 0, rank = 0; i < search->set_count; i++) {
        search->sets[i].rank = search->sets[i].failed_count == 0 ? ++rank : 0;
    }
    return true;
}

static struct search_effort effort_of(struct search_effort asked)
{
    const struct search_effort usual = search_effort_default;
    asked.solved_at_once = asked.solved_at_once ? asked.solved_at_once : usual.solved_at_once;
    asked.sets_most = asked.sets_most ? asked.sets_most : usual.sets_most;
    return asked;
}

bool search_run(struct team *team, const struct search_place places[],
                const struct search_effort *effort, int finalists, choose_progress progress,
                void *user, struct search *search, struct arena *arena)
{
    struct work work = {.team = team,
                        .places = places,
                        .effort = effort_of(*effort),
                        .finalists = finalists,
                        .progress = progress,
                        .user = user,
                        .search = search,
                        .arena = arena};
    *search = (struct search){.tally = {.all = 1.0, .after_alone = 1.0, .least_left = (double)NAN}};
    bool is_good = take_room(&work);
    for (int i = 0; is_good && i < team->place_count; i++) {
        is_good = allow_place(&work, i);
    }
    if (is_good && search->tally.after_alone > work.effort.solved_at_once && tell(&work, 0.0)) {
        is_good = find_some(&work) && judge_seen(&work);
    }
    if (is_good && tell(&work, 0.1)) {
        is_good = judge_others(&work);
    }
    return is_good && !search->is_stopped ? collect(&work) : is_good;
}
