/* Networks at the edge: nothing flows, everything ties, parts are cut off (all constructed). */
#include "tests/solver/kit.h"
#include "tests/solver/random_numbers.h"

static struct kit kit;

static void check_certificate(void)
{
    cr_expect_lt(kit.answer.mass_residual, 1e-13);
    cr_expect_lt(kit.answer.energy_residual, 1e-11);
    cr_expect_lt(kit.answer.complementarity, 1e-11);
    cr_expect_leq(kit.answer.steps, 40, "%d", kit.answer.steps);
}

/* A row of valves all pointing uphill: nothing flows and the points between are cut off. */
Test(steady_odd, only_shut_valves)
{
    kit_init(&kit);
    int before = kit_held(&kit, 0);
    for (int i = 0; i < 5; i++) {
        const int after = i == 4 ? kit_held(&kit, 10) : kit_free(&kit, 0);
        kit_link(&kit, before, after, kit_valve(0.1, 1e4));
        before = after;
    }
    kit_solve(&kit);
    for (int e = 0; e < 5; e++) {
        cr_expect_eq(kit.answer.flow[e], 0.0);
    }
    cr_expect_eq(kit.answer.zone_count, 4);
    check_certificate();
    kit_clear(&kit);
}

/* Valve, pipe, valve between tanks whose level difference is just both opening heads. */
Test(steady_odd, tie_at_the_opening_heads)
{
    kit_init(&kit);
    const int upper = kit_held(&kit, 0.75);
    const int lower = kit_held(&kit, 0);
    const int a = kit_free(&kit, 0);
    const int b = kit_free(&kit, 0);
    kit_link(&kit, upper, a, kit_valve(0.5, 1e4));
    kit_link(&kit, a, b, kit_resistance(1e5));
    kit_link(&kit, b, lower, kit_valve(0.25, 0));
    kit_solve(&kit);
    for (int e = 0; e < 3; e++) {
        cr_expect_float_eq(kit.answer.flow[e], 0.0, 1e-9);
    }
    check_certificate();
    kit_clear(&kit);
}

/* Equal levels, a mesh of purely quadratic pipes between: every flow is nought. */
Test(steady_odd, nothing_flows_between_equal_levels)
{
    kit_init(&kit);
    int corner[16];
    for (int i = 0; i < 16; i++) {
        corner[i] = i % 15 == 0 ? kit_held(&kit, 7) : kit_free(&kit, 0);
    }
    for (int i = 0; i < 16; i++) {
        if (i % 4 < 3) {
            kit_link(&kit, corner[i], corner[i + 1], kit_resistance(1e4 * (i + 1)));
        }
        if (i < 12) {
            kit_link(&kit, corner[i], corner[i + 4], kit_resistance(3e4));
        }
    }
    kit_solve(&kit);
    for (int e = 0; e < kit.network.link_count; e++) {
        cr_expect_float_eq(kit.answer.flow[e], 0.0, 1e-9);
    }
    check_certificate();
    kit_clear(&kit);
}

/* Three equal valves side by side share alike: 10 m = 1 m to open + 1e4 0.01^2 + 8 m of pipe. */
Test(steady_odd, equal_valves_share_alike)
{
    kit_init(&kit);
    const int upper = kit_held(&kit, 10);
    const int lower = kit_held(&kit, 0);
    const int middle = kit_free(&kit, 0);
    for (int i = 0; i < 3; i++) {
        kit_link(&kit, upper, middle, kit_valve(1, 1e4)); /* 1 + 1 m at 0.01 each */
    }
    kit_link(&kit, middle, lower, kit_resistance(8 / 0.0009));
    kit_solve(&kit);
    for (int i = 0; i < 3; i++) {
        cr_expect_float_eq(kit.answer.flow[i], 0.01, 1e-13);
    }
    check_certificate();
    kit_clear(&kit);
}

/* A ring of valves hung on one tank: no way round gains head, so nothing flows in it. */
Test(steady_odd, ring_of_valves_is_at_rest)
{
    kit_init(&kit);
    const int tank = kit_held(&kit, 3);
    const int ring[] = {kit_free(&kit, 0), kit_free(&kit, 0), kit_free(&kit, 0)};
    kit_link(&kit, tank, ring[0], kit_resistance(1e4));
    for (int i = 0; i < 3; i++) {
        kit_link(&kit, ring[i], ring[(i + 1) % 3], kit_valve(0.1, 1e3));
    }
    kit_solve(&kit);
    for (int e = 0; e < 4; e++) {
        cr_expect_float_eq(kit.answer.flow[e], 0.0, 1e-9);
    }
    check_certificate();
    kit_clear(&kit);
}

/* Resistances 12 decades apart in series and side by side; 100 m over 1e12: 1e-5 m3/s. */
Test(steady_odd, resistances_twelve_decades_apart)
{
    kit_init(&kit);
    const int upper = kit_held(&kit, 100);
    const int lower = kit_held(&kit, 0);
    int before = kit_free(&kit, 0);
    kit_link(&kit, upper, before, kit_resistance(1e12 - 6));
    for (int i = 0; i < 6; i++) {
        const int after = i == 5 ? lower : kit_free(&kit, 0);
        kit_link(&kit, before, after, kit_resistance(1));
        before = after;
    }
    kit_link(&kit, upper, lower, kit_resistance(1));
    kit_solve(&kit);
    for (int e = 0; e < 7; e++) {
        cr_expect_float_eq(kit.answer.flow[e], 1e-5, 1e-17);
    }
    cr_expect_float_eq(kit.answer.flow[7], 10, 1e-12);
    cr_expect_lt(kit.answer.mass_residual, 1e-13);
    cr_expect_lt(kit.answer.energy_residual, 1e-10);
    kit_clear(&kit);
}

/* Behind a valve that points away from it stands a branch with a draw fed by its own spring. */
Test(steady_odd, cut_off_zone_lives_on_its_own_water)
{
    kit_init(&kit);
    const int tank = kit_held(&kit, 50);
    const int near = kit_free(&kit, 0.001);
    const int spring = kit_free(&kit, -0.002);
    const int trough = kit_free(&kit, 0.002);
    kit_link(&kit, tank, near, kit_resistance(1e4));
    kit_link(&kit, spring, near, kit_valve(0.2, 1e4));
    const int branch = kit_link(&kit, spring, trough, kit_resistance(1e5));
    kit_solve(&kit);
    cr_expect_eq(kit.answer.zone_count, 1);
    cr_expect_eq(kit.answer.zone[near], NETWORK_NONE);
    cr_expect_eq(kit.answer.zone[spring], 0);
    cr_expect_eq(kit.answer.zone[trough], 0);
    cr_expect_float_eq(kit.answer.flow[branch], 0.002, 1e-17);
    cr_expect_float_eq(kit.answer.drop[branch], 0.4, 1e-12);
    check_certificate();
    kit_clear(&kit);
}

/* The same with more drawn than sprung: the valve cannot help, and it is said where. */
Test(steady_odd, draw_that_cannot_be_met_is_said)
{
    kit_init(&kit);
    const int tank = kit_held(&kit, 50);
    const int near = kit_free(&kit, 0.001);
    const int far = kit_free(&kit, 0);
    const int trough = kit_free(&kit, 0.002);
    kit_link(&kit, tank, near, kit_resistance(1e4));
    kit_link(&kit, far, near, kit_valve(0.2, 1e4));
    kit_link(&kit, far, trough, kit_resistance(1e5));
    kit_solve_with(&kit, &steady_defaults);
    cr_expect_eq(kit.answer.ending, STEADY_CUT_OFF_DRAW);
    cr_expect_eq(kit.answer.worst_point, trough);
    cr_expect_float_eq(kit.answer.mass_residual, 0.002, 1e-15);
    cr_expect_float_eq(kit.answer.flow[0], 0.001, 1e-15); /* the rest is solved */
    cr_expect_eq(kit.answer.zone[trough], 0);
    kit_clear(&kit);
}

/* Fed through two valves in a row, the zone behind must first be found to sink. */
Test(steady_odd, draw_opens_the_valves_before_it)
{
    kit_init(&kit);
    const int tank = kit_held(&kit, 1);
    const int middle = kit_free(&kit, 0);
    const int trough = kit_free(&kit, 0.002);
    kit_link(&kit, tank, middle, kit_valve(20, 1e4));
    kit_link(&kit, middle, trough, kit_valve(30, 1e4));
    kit_solve(&kit);
    cr_expect_float_eq(kit.answer.head[trough], 1 - 50 - 0.08, 1e-11);
    check_certificate();
    kit_clear(&kit);
}

/* Spans with an upper end: a limiter passes no more than 1 L/s, the rest goes the long way. */
Test(steady_odd, upper_end_of_a_span_holds)
{
    kit_init(&kit);
    const int upper = kit_held(&kit, 10);
    const int lower = kit_held(&kit, 0);
    struct kit_law limiter = kit_resistance(1e3);
    limiter.upper = 1e-3;
    const int middle = kit_free(&kit, 0.002);
    kit_link(&kit, upper, middle, limiter);
    kit_link(&kit, lower, middle, kit_resistance(1e6));
    kit_solve(&kit);
    cr_expect_eq(kit.answer.flow[0], 1e-3);
    cr_expect_float_eq(kit.answer.flow[1], 1e-3, 1e-16);
    cr_expect_float_eq(kit.answer.head[middle], -1, 1e-11);
    check_certificate();
    kit_clear(&kit);
}

static void two_ways(double level)
{
    kit_init(&kit);
    const int upper = kit_held(&kit, level);
    const int lower = kit_held(&kit, 0);
    const int middle = kit_free(&kit, 0.001);
    kit_link(&kit, upper, middle, kit_valve(0.3, 1e4));
    kit_link(&kit, lower, middle, kit_valve(0.1, 2e4));
    kit_link(&kit, middle, lower, kit_resistance(3e4));
}

/* From the answer of other levels, the same answer as from nothing, and in no more steps. */
Test(steady_odd, warm_start_gives_the_same_answer)
{
    two_ways(7);
    kit_solve(&kit);
    const int steps = kit.answer.steps;
    const double flow = kit.answer.flow[0];
    kit.points[0].held_head = 6.5;
    kit_solve(&kit);
    kit.points[0].held_head = 7;
    kit_solve_with(&kit, &(struct steady_options){.step_limit = 200, .is_warm = true});
    cr_expect_eq(kit.answer.ending, STEADY_CONVERGED);
    cr_expect_float_eq(kit.answer.flow[0], flow, 1e-15);
    cr_expect_leq(kit.answer.steps, steps);
    check_certificate();
    kit_clear(&kit);
}

/* Also from flows a hundred times too large, whose losses dwarf all heads. */
Test(steady_odd, wild_start_gives_the_same_answer)
{
    two_ways(7);
    kit_solve(&kit);
    const double flow = kit.answer.flow[0];
    kit.points[0].held_head = 7e4;
    kit_solve(&kit);
    kit.points[0].held_head = 7;
    kit_solve_with(&kit, &(struct steady_options){.step_limit = 200, .is_warm = true});
    cr_expect_eq(kit.answer.ending, STEADY_CONVERGED);
    cr_expect_float_eq(kit.answer.flow[0], flow, 1e-15);
    check_certificate();
    kit_clear(&kit);
}

/* Where every flow is too large by far, so that each law is off by more than the heads beside it:
 * 1e4 Q^2 = 9 m has Q = 0.03 m3/s (exact), wherever one begins. */
Test(steady_odd, one_link_is_found_from_a_wild_start)
{
    kit_init(&kit);
    const int upper = kit_held(&kit, 9e8);
    const int lower = kit_held(&kit, 0);
    kit_link(&kit, upper, lower, kit_resistance(1e4));
    kit_solve(&kit);
    cr_expect_float_eq(kit.answer.flow[0], 300.0, 1e-9);
    kit.points[upper].held_head = 9;
    kit_solve_with(&kit, &(struct steady_options){.step_limit = 200, .is_warm = true});
    cr_expect_eq(kit.answer.ending, STEADY_CONVERGED);
    cr_expect_float_eq(kit.answer.flow[0], 0.03, 1e-15, "%g", kit.answer.flow[0]);
    kit_clear(&kit);
}

/* Fifteen points between two tanks, joined at random by laws that rise with a high power of flow, a
 * third of them one-way. */
static void steep_network(uint64_t seed)
{
    enum { POINTS = 15 };
    struct random random;
    random_seed(&random, seed);
    kit_init(&kit);
    (void)kit_held(&kit, random_even(&random, 0, 60));
    for (int i = 1; i <= POINTS; i++) {
        (void)kit_free(&kit, i % 3 ? 0 : random_even(&random, 0, 1e-3));
    }
    (void)kit_held(&kit, random_even(&random, 0, 60));
    for (int k = 0; k < 3 * POINTS; k++) {
        const bool is_row = k <= POINTS;
        const int from = is_row ? k : random_pick(&random, POINTS + 2);
        const int to =
            is_row ? k + 1 : (from + 1 + random_pick(&random, POINTS + 1)) % (POINTS + 2);
        struct kit_law law = kit_resistance(random_spread(&random, 1e3, 1e6));
        law.exponent = random_even(&random, 3, 8);
        law.power = random_spread(&random, 0.1, 100) * pow(2e-3, -law.exponent);
        law.lower = !is_row && k % 2 ? 0 : law.lower;
        kit_link(&kit, from, to, law);
    }
}

/* Newton's method goes astray there by itself, at first and from flows of other levels; the search
 * along its steps brings it home soon. */
Test(steady_odd, steep_laws_come_quickly)
{
    enum { NETWORKS = 200 };
    int steps = 0;
    int most = 0;
    for (uint64_t seed = 1; seed <= NETWORKS; seed++) {
        steep_network(seed);
        for (int i = 0; i < 2; i++) {
            kit_solve_with(&kit, &(struct steady_options){.step_limit = 200, .is_warm = i > 0});
            cr_expect_eq(kit.answer.ending, STEADY_CONVERGED, "seed %d", (int)seed);
            cr_expect_lt(kit.answer.mass_residual, 1e-12);
            cr_expect_lt(kit.answer.energy_residual, 1e-7);
            cr_expect_lt(kit.answer.complementarity, 1e-7);
            steps += kit.answer.steps;
            most = kit.answer.steps > most ? kit.answer.steps : most;
            kit.points[0].held_head += i > 0 ? 0 : 1e4;
        }
        kit_clear(&kit);
    }
    /* 49.0 and 97 as measured; 43.0 and 106 with corrections tried after every step. */
    cr_expect_lt(0.5 * steps / NETWORKS, 50.0, "%g", 0.5 * steps / NETWORKS);
    cr_expect_leq(most, 115, "%d", most);
}

/* Meshes of real pipes from nothing: the first step's straight lines, from rest to a usual flow,
 * are what the count of steps hangs on. */
Test(steady_odd, meshes_of_pipes_come_quickly)
{
    enum { NETWORKS = 100 };
    int steps = 0;
    for (uint64_t seed = 1; seed <= NETWORKS; seed++) {
        struct random random;
        steep_network(seed);
        random_seed(&random, seed);
        for (int k = 0; k < kit.network.link_count; k++) {
            kit.pipes[k] = (struct pipe){.friction = {.length = random_spread(&random, 5, 500),
                                                      .bore = random_spread(&random, 0.02, 0.2),
                                                      .roughness = 1e-5}};
            kit.links[k].element = &pipe_element;
            kit.links[k].data = &kit.pipes[k];
            kit.links[k].area = pipe_area(&kit.pipes[k]);
        }
        kit_solve(&kit);
        steps += kit.answer.steps;
        kit_clear(&kit);
    }
    /* 5.44 as measured; 4.71 with four corrections a step for one, but more solutions; 10.4 with
     * tangents at rest, before that. */
    cr_expect_lt((double)steps / NETWORKS, 5.6, "%g", (double)steps / NETWORKS);
}

/* Two tanks joined by a link without loss have no finite answer: said, not looped over. */
Test(steady_odd, short_circuit_is_not_called_converged)
{
    kit_init(&kit);
    const int upper = kit_held(&kit, 5);
    const int lower = kit_held(&kit, 0);
    kit_link(&kit, upper, lower, kit_resistance(0));
    kit_solve_with(&kit, &steady_defaults);
    cr_expect_neq(kit.answer.ending, STEADY_CONVERGED);
    cr_expect_float_eq(kit.answer.energy_residual, 5, 1e-12);
    kit_clear(&kit);
}

/* What is no number is no answer, and leaves nothing in the solver that spoils the next one: a site
 * of which no head is held, with a draw that is infinite, or no number, the second time. */
Test(steady_odd, draw_that_is_no_number_is_no_answer_and_spoils_no_other)
{
    static const double draws[] = {1e-3, (double)INFINITY, 1e-3, (double)NAN, 1e-3};
    static const double rest[] = {1e-3, -1e-3, -1.5e-3, 5e-4};
    static const int ends[][2] = {{2, 0}, {0, 1}, {1, 3}, {3, 4}, {0, 4}};
    static const struct pipe pipe = {
        .friction = {.length = 100, .bore = 0.08, .roughness = 0.24e-3}};
    const struct water water = {.gravity = 9.81, .density = 998, .viscosity = 1.02e-6};
    struct point points[5] = {{.name = "a", .tank = NETWORK_NONE}};
    struct link links[5];
    struct failure failure;
    struct steady answer;
    for (int i = 0; i < 5; i++) {
        points[i] = (struct point){
            .name = "point", .tank = NETWORK_NONE, .draw = i > 0 ? rest[i - 1] : 0.0};
        links[i] = (struct link){.name = "pipe",
                                 .from = ends[i][0],
                                 .to = ends[i][1],
                                 .run = NETWORK_NONE,
                                 .area = pipe_area(&pipe),
                                 .element = &pipe_element,
                                 .data = &pipe};
    }
    const struct network network = {
        .point_count = 5, .link_count = 5, .points = points, .links = links};
    struct arena *arena = arena_new();
    struct steady_solver *solver = steady_solver_new(&network, &failure);
    cr_assert(solver != NULL && steady_init(&answer, &network, arena, &failure));
    for (int k = 0; k < 5; k++) {
        points[0].draw = draws[k];
        cr_assert(steady_solve(solver, &network, &water, &steady_defaults, &answer, &failure));
        cr_expect_eq(answer.ending == STEADY_CONVERGED, k % 2 == 0, "%d: %d", k, answer.ending);
        cr_expect(k % 2 != 0 || isfinite(answer.head[4]), "%d", k);
    }
    steady_solver_free(solver);
    arena_free(arena);
}
