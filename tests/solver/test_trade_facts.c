/* What people who work with plastic pipe know of non-return valves must come out of the models.
 * Every fact here is common practice, no source. */
#include "solver/choose/choose.h"
#include "solver/findings/findings.h"
#include "tests/solver/small_site.h"

#include <criterion/criterion.h>

static const struct water *cold(void)
{
    static const struct water water = {.temperature_c = 15.0,
                                       .gravity = 9.80665,
                                       .density = 999.1,
                                       .viscosity = 1.14e-6,
                                       .vapour_pressure = 1706.0,
                                       .bulk_modulus = 2.147e9,
                                       .air_pressure = 101325.0};
    return &water;
}

static struct non_return make(const char *type, enum mounting mounting)
{
    struct non_return valve;
    const struct non_return_type *kind = non_return_type_find(type, NULL);
    cr_assert_not_null(kind);
    non_return_make(kind, 0.05, mounting, cold(), &valve);
    return valve;
}

static double flow_of(struct small_site *small)
{
    struct arena *arena = arena_new();
    struct failure failure = {0};
    struct steady steady;
    struct steady_solver *solver = steady_solver_new(&small->network, &failure);
    cr_assert(solver && steady_init(&steady, &small->network, arena, &failure));
    cr_assert(steady_solve(solver, &small->network, &small->site.water, &steady_defaults, &steady,
                           &failure));
    cr_assert_eq(steady.ending, STEADY_CONVERGED);
    const double flow = steady.flow[2];
    steady_solver_free(solver);
    arena_free(arena);
    return flow;
}

/* Water 0.8 m above feeds the valve; the standing pump is in the way of all alike. */
static double flow_under_80_cm(const char *type)
{
    struct small_site small;
    small_site_init(&small, type, -0.8);
    small.unit.is_running = false;
    return flow_of(&small);
}

Test(trade_facts, spring_cone_needs_one_to_one_and_a_half_metres)
{
    const double head = make("spring cone", MOUNTING_LEVEL).opening_head;
    cr_assert(head >= 1.0 && head <= 1.5);
    cr_assert_eq(flow_under_80_cm("spring cone"), 0.0);
}

Test(trade_facts, ball_and_flap_open_at_next_to_nothing)
{
    cr_assert_lt(make("ball", MOUNTING_UP).opening_head, 0.05);
    cr_assert_lt(make("swing flap", MOUNTING_UP).opening_head, 0.05);
    cr_assert_gt(flow_under_80_cm("ball"), 0.0);
    cr_assert_gt(flow_under_80_cm("swing flap"), 0.0);
}

Test(trade_facts, way_round_ball_or_cone_loses_much_more_than_through_a_flap)
{
    const double flap = make("swing flap", MOUNTING_UP).full_open_loss;
    cr_assert_gt(make("ball", MOUNTING_UP).full_open_loss, 1.5 * flap);
    cr_assert_gt(make("spring cone", MOUNTING_UP).full_open_loss, 2.0 * flap);
}

Test(trade_facts, flap_opens_two_thirds_of_the_bore_and_a_wafer_flap_far_less)
{
    const struct non_return flap = make("swing flap", MOUNTING_UP);
    const struct non_return wafer = make("wafer flap", MOUNTING_UP);
    cr_assert_float_eq(flap.port_area / circle_area(flap.bore), 2.0 / 3.0, 0.05);
    cr_assert_lt(wafer.port_area / circle_area(wafer.bore), 0.6);
}

/* A pump of a few metres of head on a 63 mm line. */
Test(trade_facts, wafer_flap_takes_a_marked_share_of_a_small_pumps_flow)
{
    struct small_site small;
    double flow[2];
    const char *const types[] = {"wafer flap", "swing flap"};
    for (int i = 0; i < 2; i++) {
        small_site_init(&small, types[i], 1.0);
        small.pipe.friction.length = 5.0;
        for (int k = 0; k < small.pump.count; k++) {
            small.pump.head[k] *= 0.15;
        }
        struct failure failure = {0};
        cr_assert(pump_init(&small.pump, &small.site.water, &failure), "%s", failure.message);
        flow[i] = flow_of(&small);
    }
    cr_assert_lt(flow[0], 0.93 * flow[1]);
}

Test(trade_facts, springs_work_anyway_balls_upright_flaps_level_only_with_head_behind)
{
    const unsigned up = 1u << MOUNTING_UP;
    const unsigned level = 1u << MOUNTING_LEVEL;
    const unsigned down = 1u << MOUNTING_DOWN;
    cr_assert_eq(make("spring cone", MOUNTING_UP).mountings, up | level | down);
    cr_assert_eq(make("ball", MOUNTING_UP).mountings, up);
    cr_assert_eq(make("swing flap", MOUNTING_UP).mountings, up | level);
    cr_assert(make("swing flap", MOUNTING_LEVEL).level_needs_back_head);
}

static const struct candidate *find(const struct choose_place *place, const char *type)
{
    for (int i = 0; i < place->candidate_count; i++) {
        if (strcmp(place->candidates[i].type, type) == 0) {
            return &place->candidates[i];
        }
    }
    return NULL;
}

/* The pipe ends right behind the valve, above the water it pours into: no head stands behind it. */
Test(trade_facts, flap_pouring_straight_into_a_tank_above_its_water_never_seats)
{
    struct small_site small;
    struct arena *arena = arena_new();
    struct failure failure = {0};
    struct choose result = {0};
    small_site_init(&small, "swing flap", 0.8);
    small.pipe.friction.length = 0.3;
    small.points[5].held_head = 0.1; /* the lip, a hand above the sump */
    small.points[0].held_head = 0.0;
    small.exit.is_one_way = true;
    const struct choose_options options = {.rule = choose_rule_default, .without_surge = true};
    cr_assert(choose_run(1, &(struct envelope_site){&small.site, ""}, &options, &result, arena,
                         &failure));
    const struct candidate *flap = find(&result.places[0], "swing flap");
    const struct candidate *cone = find(&result.places[0], "spring cone");
    cr_assert_eq(flap->judgements[REQUIREMENT_SEATS].verdict, VERDICT_FAILED);
    cr_assert_eq(cone->judgements[REQUIREMENT_SEATS].verdict, VERDICT_MET);
    arena_free(arena);
}

/* The pump stands 6.5 m above the water: with a flap it draws, with a spring cone on the suction
 * the opening head is lost lift and the margin is gone. */
Test(trade_facts, spring_on_suction_is_extra_lift_and_can_stop_the_pump)
{
    double margin[2];
    const char *const types[] = {"swing flap", "spring cone"};
    for (int i = 0; i < 2; i++) {
        struct small_site small;
        small_site_init(&small, types[i], 8.0);
        small_site_join(&small, 1, "foot", 1, &non_return_element, &small.valve);
        small_site_join(&small, 2, "lift", 2, &pump_element, &small.unit);
        struct arena *arena = arena_new();
        struct failure failure = {0};
        struct steady steady;
        struct steady_solver *solver = steady_solver_new(&small.network, &failure);
        cr_assert(steady_init(&steady, &small.network, arena, &failure));
        cr_assert(steady_solve(solver, &small.network, &small.site.water, &steady_defaults, &steady,
                               &failure));
        margin[i] = steady.head[2] - 6.5 - water_vapour_head(&small.site.water) -
                    pump_npsh(&small.pump, steady.flow[2], 1.0);
        steady_solver_free(solver);
        arena_free(arena);
    }
    cr_assert_gt(margin[0], 0.5);
    cr_assert_lt(margin[1], 0.5);
    cr_assert_gt(margin[0] - margin[1], 0.8);
}

Test(trade_facts, unions_let_a_valve_out_and_a_wafer_comes_from_between_flanges)
{
    cr_assert_eq(make("spring cone", MOUNTING_UP).service, SERVICE_UNIONS);
    cr_assert_eq(make("ball", MOUNTING_UP).service, SERVICE_UNIONS);
    cr_assert_eq(make("wafer flap", MOUNTING_UP).service, SERVICE_FLANGES);
    const struct non_return flap = make("swing flap", MOUNTING_UP);
    cr_assert(flap.service == SERVICE_COVER || flap.service == SERVICE_NONE);
}

Test(trade_facts, spring_stands_in_the_stream_where_fibres_wind_round_it)
{
    cr_assert(make("spring cone", MOUNTING_UP).spring_in_stream);
    cr_assert_not(make("ball", MOUNTING_UP).spring_in_stream);
    cr_assert_not(make("swing flap", MOUNTING_UP).spring_in_stream);
}
