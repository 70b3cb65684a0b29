/* The choice of valves on a small pumped site: what is asked of a candidate, and who ranks where.
 */
#include "solver/choose/choose.h"
#include "solver/choose/judge.h"
#include "tests/solver/small_site.h"

#include <criterion/criterion.h>

static const struct candidate *find(const struct choose_place *place, const char *type, double bore)
{
    for (int i = 0; i < place->candidate_count; i++) {
        const struct candidate *candidate = &place->candidates[i];
        if (strcmp(candidate->type, type) == 0 && fabs(candidate->valve.bore - bore) < 1e-6) {
            return candidate;
        }
    }
    return NULL;
}

static struct choose choose_on(struct small_site *small, bool without_surge, struct arena *arena)
{
    struct choose result = {0};
    struct failure failure = {0};
    const struct choose_options options = {.rule = choose_rule_default,
                                           .without_surge = without_surge};
    cr_assert(choose_run(1, &(struct envelope_site){&small->site, ""}, &options, &result, arena,
                         &failure),
              "%s", failure.message);
    cr_assert_eq(result.place_count, 1);
    return result;
}

Test(choose, ranks_by_handicap_and_leaves_the_refused_last)
{
    struct small_site small;
    struct arena *arena = arena_new();
    small_site_init(&small, "swing flap", 12.0);
    const struct choose result = choose_on(&small, true, arena);
    const struct choose_place *place = &result.places[0];
    cr_assert_geq(place->accepted_count, 2);
    for (int i = 1; i < place->candidate_count; i++) {
        const struct candidate *before = &place->candidates[i - 1];
        const struct candidate *here = &place->candidates[i];
        cr_assert_leq(before->failed_count, here->failed_count);
        if (i < place->accepted_count) {
            cr_assert_leq(before->handicap, here->handicap);
            cr_assert_eq(here->rank, i + 1);
        }
    }
    arena_free(arena);
}

Test(choose, reference_takes_no_head_and_passes_the_most_water)
{
    struct small_site small;
    struct arena *arena = arena_new();
    small_site_init(&small, "swing flap", 12.0);
    const struct choose result = choose_on(&small, true, arena);
    const struct choose_place *place = &result.places[0];
    cr_assert_lt(place->reference.valve_head, 1e-6);
    for (int i = 0; i < place->candidate_count; i++) {
        cr_assert_leq(place->candidates[i].measures.flow, place->reference.flow + 1e-12);
        cr_assert_geq(place->candidates[i].flow_lost, -1e-9);
    }
    arena_free(arena);
}

Test(choose, back_head_at_rest_is_the_static_lift)
{
    struct small_site small;
    struct arena *arena = arena_new();
    small_site_init(&small, "swing flap", 12.0);
    const struct choose result = choose_on(&small, true, arena);
    const struct candidate *flap = find(&result.places[0], "swing flap", 0.05);
    cr_assert_not_null(flap);
    cr_assert_float_eq(flap->measures.back_head, 12.0, 1e-9);
    cr_assert_eq(flap->judgements[REQUIREMENT_SEATS].verdict, VERDICT_MET);
    arena_free(arena);
}

/* Common practice, no source: pouring into a tank above its water with no standing head behind it,
 * a flap never seats. Here the water spills at the height of the valve itself. */
Test(choose, flap_without_standing_head_behind_it_does_not_seat)
{
    struct small_site small;
    struct arena *arena = arena_new();
    small_site_init(&small, "swing flap", 0.3);
    small.points[5].held_head = 0.3; /* lip just above the sump's level, inlet above water */
    small.exit.is_one_way = true;
    const struct choose result = choose_on(&small, true, arena);
    const struct candidate *flap = find(&result.places[0], "swing flap", 0.05);
    cr_assert_float_eq(flap->measures.back_head, 0.3, 1e-9);
    const struct candidate *ball = find(&result.places[0], "ball", 0.05);
    cr_assert_eq(ball->judgements[REQUIREMENT_SEATS].verdict, VERDICT_FAILED);
    arena_free(arena);
}

/* Common practice, no source: a spring valve takes more of a small pump's flow than a flap. */
Test(choose, spring_cone_loses_more_flow_than_swing_flap)
{
    struct small_site small;
    struct arena *arena = arena_new();
    small_site_init(&small, "swing flap", 12.0);
    const struct choose result = choose_on(&small, true, arena);
    const struct candidate *flap = find(&result.places[0], "swing flap", 0.05);
    const struct candidate *cone = find(&result.places[0], "spring cone", 0.05);
    cr_assert_gt(cone->flow_lost, 2.0 * flap->flow_lost);
    arena_free(arena);
}

Test(choose, fibres_refuse_every_spring_in_the_stream)
{
    struct small_site small;
    struct arena *arena = arena_new();
    small_site_init(&small, "swing flap", 12.0);
    small.site.circumstances.has_fibres = true;
    const struct choose result = choose_on(&small, true, arena);
    for (int i = 0; i < result.places[0].candidate_count; i++) {
        const struct candidate *candidate = &result.places[0].candidates[i];
        if (candidate->valve.spring_in_stream) {
            cr_assert_eq(candidate->judgements[REQUIREMENT_DEBRIS].verdict, VERDICT_FAILED);
            cr_assert_eq(candidate->rank, 0);
        }
    }
    arena_free(arena);
}

Test(choose, surge_run_gives_every_opened_candidate_its_slam)
{
    struct small_site small;
    struct arena *arena = arena_new();
    small_site_init(&small, "swing flap", 12.0);
    const struct choose result = choose_on(&small, false, arena);
    const struct choose_place *place = &result.places[0];
    cr_assert(result.envelope.plan_is_default);
    for (int i = 0; i < place->accepted_count; i++) {
        cr_assert(place->candidates[i].measures.is_surged);
        cr_assert_geq(place->candidates[i].measures.reverse_velocity, 0.0);
        cr_assert_gt(place->candidates[i].measures.highest_head, 0.0);
    }
    arena_free(arena);
}

/* The reference shuts at no flow, so nothing runs backward through it. */
Test(choose, reference_lets_nothing_run_backward)
{
    struct small_site small;
    struct arena *arena = arena_new();
    struct failure failure = {0};
    struct measures measures;
    const int place = 0;
    small_site_init(&small, "swing flap", 12.0);
    const struct envelope_site site = {&small.site, ""};
    struct envelope envelope;
    cr_assert(envelope_init(&envelope, 1, &site, false, arena, &failure));
    const struct non_return ideal = candidate_reference(&small.valve);
    const struct candidate *pick = &(struct candidate){.valve = ideal, .in_water = &ideal};
    struct workbench *bench = workbench_new(&envelope, 1, &place, &failure);
    cr_assert_not_null(bench);
    cr_assert(measure_surge(bench, 0, 1, &pick, &measures, &failure));
    cr_assert(measures.is_surged);
    cr_assert_float_eq(measures.reverse_velocity, 0.0, 1e-3);
    workbench_free(bench);
    arena_free(arena);
}

static bool stop_at_once(void *user, double share_done)
{
    (void)user;
    return share_done < 0.0;
}

Test(choose, stops_when_told_and_says_so)
{
    struct small_site small;
    struct arena *arena = arena_new();
    struct failure failure = {0};
    struct choose result = {0};
    small_site_init(&small, "swing flap", 12.0);
    const struct choose_options options = {
        .rule = choose_rule_default, .without_surge = true, .progress = stop_at_once};
    cr_assert(choose_run(1, &(struct envelope_site){&small.site, ""}, &options, &result, arena,
                         &failure));
    cr_assert(result.is_stopped);
    cr_assert_eq(result.places[0].candidate_count, 0);
    arena_free(arena);
}

/* Of conditions that differ by round-off alone the first is told, as what decides between them (a
 * level that a mouth above the water does not feel) is nothing that the value knows. */
Test(choose, round_off_does_not_say_which_condition_is_hardest)
{
    cr_expect(judge_is_more(-7.0, (double)NAN));
    cr_expect(judge_is_more(INFINITY, 1.0));
    cr_expect_not(judge_is_more(INFINITY, INFINITY));
    cr_expect(judge_is_more(1.0, -INFINITY));
    cr_expect_not(judge_is_more(-INFINITY, 1.0));
    cr_expect_not(judge_is_more((double)NAN, 1.0));
    cr_expect_not(judge_is_more((double)NAN, (double)NAN));
    cr_expect_not(judge_is_more(4e-13, 0.0)); /* slams of valves that come down with no flow */
    cr_expect_not(judge_is_more(2.0 * (1.0 + 1e-12), 2.0));
    cr_expect(judge_is_more(2.0 * (1.0 + 1e-8), 2.0));
    cr_expect_not(judge_is_more(-2.0, -2.0 * (1.0 - 1e-12)));
    struct judgement judgements[REQUIREMENT_COUNT] = {0};
    const struct non_return valve = {.seating_head = 0.1};
    const double heads[] = {3.0, 3.0 * (1.0 - 1e-12), 2.9};
    for (int i = 0; i < 3; i++) {
        judge_rest(&valve, heads[i], i, judgements);
        cr_expect_eq(judgements[REQUIREMENT_SEATS].at, i < 2 ? 0 : 2, "%d", i);
    }
}

/* Ten per cent of handicap for a valve that stands part open where water flows, none for one that
 * counts as fully open, as 99.5 % open does. */
Test(choose, handicap_of_a_part_open_valve_ends_where_it_counts_as_open)
{
    static const double openings[] = {0.94, 0.949, 0.951, 0.995};
    struct small_site small;
    small_site_init(&small, "swing flap", 12.0);
    double handicap[4];
    for (int i = 0; i < 4; i++) {
        struct arena *arena = arena_new();
        struct failure failure = {0};
        struct valve_set set;
        const struct candidate candidate = {.valve = small.valve};
        const struct measures measures = {.is_solved = true, .flow = 1e-3, .opening = openings[i]};
        const int place = 0;
        cr_assert(valve_set_take(&set, 1, arena, &failure));
        set.picks[0] = &candidate;
        valve_set_start(&set, &small.site, &choose_rule_default);
        valve_set_add_steady(&set, &small.site, &place, 0, &measures, &measures);
        valve_set_settle(&set, &choose_rule_default);
        handicap[i] = set.handicap;
        arena_free(arena);
    }
    cr_expect_float_eq(handicap[0] - handicap[3], choose_rule_default.part_open, 1e-12);
    cr_expect_eq(handicap[0], handicap[1]);
    cr_expect_eq(handicap[2], handicap[3]);
}

/* Where water runs on by itself at rest, no valve shuts: the site's doing, and fails none. Level
 * waters, or too little behind it in another case, do fail. */
Test(choose, valve_that_nothing_presses_shut_as_water_runs_on)
{
    const struct non_return valve = {
        .seating_head = 0.5, .mounting = MOUNTING_LEVEL, .level_needs_back_head = true};
    struct judgement judgements[REQUIREMENT_COUNT] = {0};
    judge_rest(&valve, -0.06, 0, judgements);
    cr_expect_eq(judgements[REQUIREMENT_SEATS].verdict, VERDICT_SITE);
    cr_expect_eq(judgements[REQUIREMENT_MOUNTING].verdict, VERDICT_NOT_ASKED);
    judge_rest(&valve, 0.2, 1, judgements);
    cr_expect(judgements[REQUIREMENT_SEATS].verdict == VERDICT_FAILED &&
              judgements[REQUIREMENT_SEATS].at == 1);
    struct judgement level[REQUIREMENT_COUNT] = {0};
    judge_rest(&valve, 0.0, 0, level);
    cr_expect(level[REQUIREMENT_SEATS].verdict == VERDICT_FAILED &&
              level[REQUIREMENT_MOUNTING].verdict == VERDICT_FAILED);
}

/* Lips that hold 10 m fail with more behind them, in the case with most of it; 0 is no limit. */
Test(choose, valve_that_holds_so_much_fails_with_more_behind_it)
{
    const double heads[] = {4.0, 10.0, 28.0, 12.0};
    struct non_return valve = {.holding_head = 10.0};
    struct judgement judgements[REQUIREMENT_COUNT] = {0};
    for (int i = 0; i < 2; i++) {
        judge_rest(&valve, heads[i], i, judgements);
    }
    cr_expect_eq(judgements[REQUIREMENT_HOLDS].verdict, VERDICT_MET);
    for (int i = 2; i < 4; i++) {
        judge_rest(&valve, heads[i], i, judgements);
    }
    cr_expect_eq(judgements[REQUIREMENT_HOLDS].verdict, VERDICT_FAILED);
    cr_expect_eq(judgements[REQUIREMENT_HOLDS].at, 2);
    cr_expect_float_eq(judgements[REQUIREMENT_HOLDS].value, 28.0, 0.0);
    struct judgement others[REQUIREMENT_COUNT] = {0};
    valve.holding_head = 0.0;
    judge_rest(&valve, 500.0, 0, others);
    cr_expect_eq(others[REQUIREMENT_HOLDS].verdict, VERDICT_NOT_ASKED);
}

/* Of conditions without a solution the first is told too, though they have no values to compare. */
Test(choose, first_condition_without_a_solution_is_told)
{
    const struct site site = {.limits = {.least_flow_share = (double)NAN}};
    const struct valve_place place = {0};
    const struct measures reference = {.is_solved = true, .flow = 1e-3};
    const struct measures found = {.flow = (double)NAN};
    struct judgement judgements[REQUIREMENT_COUNT] = {0};
    for (int i = 0; i < 3; i++) {
        judge_flow(&site, &place, &reference, &found, i, judgements);
    }
    cr_expect_eq(judgements[REQUIREMENT_OPENS].verdict, VERDICT_FAILED);
    cr_expect_eq(judgements[REQUIREMENT_OPENS].at, 0, "%d", judgements[REQUIREMENT_OPENS].at);
}
