#include "solver/choose/choose.h"

#include "solver/choose/bands.h"
#include "solver/choose/judge.h"

#include <math.h>
#include <stdlib.h>

/* What is shared while a choice is made. */
struct choice {
    const struct site *site;
    const struct choose_options *options;
    struct choose *result;
    struct arena *arena;
    struct team team;
    struct search search;
    struct search_place *places; /* [place_count] the candidates in the order they were listed */
    struct candidate **listed;   /* [place_count] the same, not const */
    const struct site **waters;  /* [site_count] */
};

static bool is_asked(const struct site *site, int valve)
{
    for (int i = 0; i < site->choose.valve_count; i++) {
        if (site->choose.valves[i] == valve) {
            return true;
        }
    }
    return site->choose.valve_count == 0;
}

/* Puts each candidate into every water. */
static bool make_candidate(const struct choice *choice, int valve, struct candidate *candidate)
{
    const int sites = choice->result->envelope.site_count;
    struct non_return *in_water = arena_take(choice->arena, (size_t)sites, sizeof *in_water);
    if (in_water) {
        candidate_in_waters(candidate, valve, sites, choice->waters, in_water);
        candidate->in_water = in_water;
        candidate->fixed = valve_set_fixed(&choice->options->rule, &candidate->valve);
    }
    return in_water != NULL;
}

static bool list_place(struct choice *choice, int index, int valve)
{
    const struct site *site = choice->site;
    const int room = candidate_list_max();
    const struct non_return *present = site->network->links[site->valves[valve].link].data;
    struct candidate *list = arena_take(choice->arena, (size_t)room, sizeof *list);
    struct candidate *sorted = arena_take(choice->arena, (size_t)room, sizeof *sorted);
    if (!list || !sorted) {
        return false;
    }
    const int count = candidate_list(site, &site->valves[valve], present, room, list);
    for (int i = 0; i < count; i++) {
        if (!make_candidate(choice, valve, &list[i])) {
            return false;
        }
    }
    choice->result->places[index] =
        (struct choose_place){.valve = valve, .candidate_count = count, .candidates = sorted};
    choice->places[index] = (struct search_place){count, list};
    choice->listed[index] = list;
    return true;
}

/* The valve without loss at a place, in each water. */
static const struct candidate *make_ideal(struct choice *choice, int index)
{
    const int sites = choice->result->envelope.site_count;
    struct candidate *ideal = arena_take(choice->arena, 1, sizeof *ideal);
    struct non_return *in_water = arena_take(choice->arena, (size_t)sites, sizeof *in_water);
    if (!ideal || !in_water) {
        return NULL;
    }
    for (int i = 0; i < sites; i++) {
        in_water[i] = candidate_reference(&choice->listed[index][0].in_water[i]);
    }
    *ideal = (struct candidate){.type = "reference", .valve = in_water[0], .in_water = in_water};
    return ideal;
}

static bool list_places(struct choice *choice)
{
    const struct site *site = choice->site;
    const size_t room = (size_t)site->valve_count + 1;
    struct choose *result = choice->result;
    int *valves = arena_take(choice->arena, room, sizeof *valves);
    const struct candidate **ideal =
        arena_take(choice->arena, room, sizeof(const struct candidate *));
    result->places = arena_take(choice->arena, room, sizeof *result->places);
    choice->places = arena_take(choice->arena, room, sizeof *choice->places);
    choice->listed = arena_take(choice->arena, room, sizeof(struct candidate *));
    if (!valves || !ideal || !result->places || !choice->places || !choice->listed) {
        return false;
    }
    for (int i = 0; i < site->valve_count; i++) {
        if (!is_asked(site, i)) {
            continue;
        }
        const int index = result->place_count++;
        valves[index] = i;
        if (!list_place(choice, index, i) || !(ideal[index] = make_ideal(choice, index))) {
            return false;
        }
    }
    choice->team = (struct team){.envelope = &result->envelope,
                                 .rule = &choice->options->rule,
                                 .site = site,
                                 .place_count = result->place_count,
                                 .places = valves,
                                 .ideal = ideal};
    return true;
}

/* --- what energy costs --- */

/* Water a year, m3: what the present valves deliver in the hours said. */
static double water_a_year(const struct choice *choice)
{
    const double hours = choice->site->circumstances.hours_a_year;
    return hours > 0.0 ? hours * choice->result->present.delivered : (double)NAN;
}

static void price_set(const struct choice *choice, struct valve_set *set)
{
    const double price = choice->site->circumstances.energy_price;
    set->energy_year = set->power / set->delivered * water_a_year(choice);
    set->cost_year = price > 0.0 ? price * set->energy_year : (double)NAN;
}

/* --- each valve in the best set --- */

static void show(const struct choice *choice, int place, struct valve_set *set,
                 struct candidate *candidate)
{
    const struct set_place *found = &set->places[place];
    price_set(choice, set);
    candidate->measures = found->measures;
    for (int i = 0; i < REQUIREMENT_COUNT; i++) {
        candidate->judgements[i] = found->judgements[i];
    }
    candidate->is_unjudged = set->is_unjudged;
    candidate->trip_count = set->trip_count;
    const struct valve_set *best = &choice->search.sets[0];
    const int here = judge_failures(found->judgements, true);
    const int before = best->failed_count - judge_failures(best->places[place].judgements, true);
    const int more = set->failed_count - here - before;
    candidate->failed_elsewhere = more > 0 ? more : 0;
    candidate->failed_count = here + candidate->failed_elsewhere;
    candidate->is_open =
        candidate->failed_count == 0 && set->trip_count < choice->result->envelope.trip_count;
    candidate->handicap = set->handicap;
    candidate->flow_lost = set->flow_lost;
    candidate->flow_lost_at = set->flow_lost_at;
    candidate->slam_at = found->slam_at;
    candidate->energy_cost = set->cost_year;
}

static int compare(const void *left, const void *right)
{
    const struct candidate *a = left;
    const struct candidate *b = right;
    if (a->failed_count == 0 && b->failed_count == 0 && a->is_open != b->is_open) {
        return a->is_open ? 1 : -1;
    }
    const struct valve_set of_a = {.place_count = 1,
                                   .picks = &(const struct candidate *){a},
                                   .failed_count = a->failed_count,
                                   .is_unjudged = a->is_unjudged,
                                   .handicap = a->handicap};
    const struct valve_set of_b = {.place_count = 1,
                                   .picks = &(const struct candidate *){b},
                                   .failed_count = b->failed_count,
                                   .is_unjudged = b->is_unjudged,
                                   .handicap = b->handicap};
    return valve_set_compare(&of_a, &of_b);
}

static void rank(struct choose_place *place)
{
    qsort(place->candidates, (size_t)place->candidate_count, sizeof *place->candidates, compare);
    place->accepted_count = place->open_count = 0;
    for (int i = 0; i < place->candidate_count; i++) {
        struct candidate *candidate = &place->candidates[i];
        if (candidate->failed_count > 0) {
            continue;
        }
        if (candidate->is_open) {
            place->open_count++;
        } else {
            candidate->rank = ++place->accepted_count;
        }
    }
}

/* What a surge run can still say something of. */
static bool is_worth_a_run(const struct valve_set *set, int place)
{
    const struct judgement *judgements = set->places[place].judgements;
    return judgements[REQUIREMENT_OPENS].verdict != VERDICT_FAILED &&
           judgements[REQUIREMENT_MOUNTING].verdict != VERDICT_FAILED &&
           judgements[REQUIREMENT_DEBRIS].verdict != VERDICT_FAILED;
}

static const struct valve_set *find_tried(const struct search *search, const struct valve_set *set)
{
    const int at = valve_set_find(search->tried_count, search->tried, set);
    return at == NETWORK_NONE ? NULL : &search->tried[at];
}

/* The rows of one place: those the search did not run through surge go through the trip that is
 * hardest on the best set's valve there. */
static bool show_place(struct choice *choice, int index)
{
    struct choose_place *place = &choice->result->places[index];
    const struct valve_set *best = &choice->search.sets[0];
    const size_t count = (size_t)place->candidate_count;
    const int places = choice->result->place_count;
    struct valve_set *sets = arena_take(choice->arena, count, sizeof *sets);
    struct team_job *jobs = arena_take(choice->arena, count, sizeof *jobs);
    struct measures *found = arena_take(choice->arena, count * (size_t)places, sizeof *found);
    int job_count = 0;
    if (!sets || !jobs || !found) {
        return fail_memory(&choice->team.failure, "the candidates of the choice");
    }
    for (int i = 0; i < place->candidate_count; i++) {
        if (!valve_set_take(&sets[i], places, choice->arena, &choice->team.failure)) {
            return false;
        }
        valve_set_copy(&sets[i], best);
        sets[i].picks[index] = &choice->listed[index][i];
    }
    if (!team_steady(&choice->team, place->candidate_count, sets, NULL, NULL)) {
        return false;
    }
    const int hardest = best->places[index].slam_at;
    for (int i = 0; i < place->candidate_count; i++) {
        const struct valve_set *tried = find_tried(&choice->search, &sets[i]);
        if (tried) {
            valve_set_copy(&sets[i], tried);
        } else if (choice->result->envelope.trip_count > 0 && is_worth_a_run(&sets[i], index)) {
            jobs[job_count++] = (struct team_job){&sets[i], hardest == NETWORK_NONE ? 0 : hardest,
                                                  found + (ptrdiff_t)i * places};
        }
    }
    if (!team_trips(&choice->team, job_count, jobs)) {
        return false;
    }
    choice->result->tally.surge_runs += job_count;
    for (int i = 0; i < place->candidate_count; i++) {
        place->candidates[i] = choice->listed[index][i];
        show(choice, index, &sets[i], &place->candidates[i]);
    }
    rank(place);
    return true;
}

/* --- the whole --- */

/* The valves that stand there now, through the steady cases: the measure of what energy costs. */
static bool measure_present(struct choice *choice)
{
    struct valve_set *present = &choice->result->present;
    struct team *team = &choice->team;
    if (!valve_set_take(present, team->place_count, choice->arena, &team->failure)) {
        return false;
    }
    for (int i = 0; i < team->place_count; i++) {
        present->picks[i] = &choice->listed[i][0]; /* the present one is listed first */
        choice->result->places[i].reference = team->reference[i];
    }
    if (!team_steady(team, 1, present, NULL, NULL)) {
        return false;
    }
    price_set(choice, present);
    return true;
}

static bool search_and_show(struct choice *choice)
{
    const struct choose_options *options = choice->options;
    struct choose *result = choice->result;
    const int wanted = choice->site->choose.finalists;
    struct team *team = &choice->team;
    if (!measure_present(choice) ||
        !search_run(team, choice->places, &options->effort, wanted > 0 ? wanted : CHOOSE_FINALISTS,
                    options->progress, options->user, &choice->search, choice->arena)) {
        return false;
    }
    result->tally = choice->search.tally;
    result->set_count = choice->search.set_count;
    result->sets = choice->search.sets;
    result->is_stopped = choice->search.is_stopped;
    if (!result->is_stopped &&
        !bands_make(team, result->set_count, result->sets, &result->band_runs, choice->arena)) {
        return false;
    }
    for (int i = 0; i < result->place_count && !result->is_stopped; i++) {
        if (!show_place(choice, i)) {
            return false;
        }
        result->is_stopped =
            options->progress &&
            !options->progress(options->user, 0.9 + 0.1 * (i + 1.0) / result->place_count);
    }
    if (result->is_stopped) {
        result->set_count = 0;
        for (int i = 0; i < result->place_count; i++) {
            result->places[i].candidate_count = result->places[i].accepted_count = 0;
        }
    }
    for (int i = 0; i < result->set_count; i++) {
        price_set(choice, &result->sets[i]);
    }
    const struct valve_set *tried = find_tried(&choice->search, &result->present);
    if (tried) {
        valve_set_copy(&result->present, tried);
        price_set(choice, &result->present);
    }
    return true;
}

bool choose_run(int site_count, const struct envelope_site sites[],
                const struct choose_options *options, struct choose *result, struct arena *arena,
                struct failure *failure)
{
    struct choice choice = {
        .site = sites[0].site, .options = options, .result = result, .arena = arena};
    *result = (struct choose){0};
    if (!envelope_init(&result->envelope, site_count, sites, options->without_surge, arena,
                       failure)) {
        return false;
    }
    choice.waters = arena_take(arena, (size_t)site_count, sizeof(const struct site *));
    for (int i = 0; choice.waters && i < site_count; i++) {
        choice.waters[i] = sites[i].site;
    }
    if (!choice.waters || !list_places(&choice)) {
        return fail_memory(failure, "the places of the choice");
    }
    if (result->place_count > CHOOSE_PLACES_MOST) {
        return fail(failure, FAILURE_INPUT, (struct place){0},
                    "choose: at most %d valves at once; name those in question in choose: valves",
                    CHOOSE_PLACES_MOST);
    }
    const bool is_done = team_init(&choice.team, arena) && search_and_show(&choice);
    if (!is_done) {
        *failure = choice.team.failure;
    }
    team_clear(&choice.team);
    return is_done;
}
