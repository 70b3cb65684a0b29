/* Networks with regulators and tees whose answers are exact on paper (constructed): pipes lose
 * r Q|Q|, a regulator fully open loses 100 Q|Q|. */
#include "solver/steady/drops.h"
#include "tests/solver/coupled_kit.h"

static struct kit kit;
static struct regulator regulators[4];

static int put_regulator(int from, int to, int which, double most_behind, double least_before)
{
    regulators[which] = kit_regulator(most_behind, least_before);
    return kit_put(&kit, from, to, &regulator_element, &regulators[which]);
}

/* 100 m, pipe 1e4, regulator, pipe 1e4, 0 m. Fully open: Q = sqrt(100/2.01e4), 50.25 m before the
 * regulator and 49.75 m behind it. */
static int between_two_tanks(double most_behind, double least_before)
{
    kit_init(&kit);
    const int upper = kit_held(&kit, 100);
    const int before = kit_free(&kit, 0);
    const int behind = kit_free(&kit, 0);
    const int lower = kit_held(&kit, 0);
    kit_link(&kit, upper, before, kit_resistance(1e4));
    const int link = put_regulator(before, behind, 0, most_behind, least_before);
    kit_link(&kit, behind, lower, kit_resistance(1e4));
    kit_solve(&kit);
    kit_is_exact(&kit);
    return link;
}

static const double none_behind = INFINITY;
static const double none_before = -(double)INFINITY;

Test(coupled, regulator_holds_the_head_behind_it)
{
    const int link = between_two_tanks(25, none_before);
    cr_assert_float_eq(kit.answer.flow[link], 0.05, 1e-14); /* 25 = 1e4 Q^2 */
    cr_assert_float_eq(kit.answer.head[2], 25, 1e-12);
    cr_assert_float_eq(kit.answer.head[1], 75, 1e-11);
    kit_clear(&kit);
}

Test(coupled, regulator_sustains_the_head_before_it)
{
    const int link = between_two_tanks(none_behind, 64);
    cr_assert_float_eq(kit.answer.flow[link], 0.06, 1e-14); /* 36 = 1e4 Q^2 */
    cr_assert_float_eq(kit.answer.head[1], 64, 1e-12);
    cr_assert_float_eq(kit.answer.head[2], 36, 1e-11);
    kit_clear(&kit);
}

Test(coupled, regulator_out_of_its_range_stands_open)
{
    const int link = between_two_tanks(80, 10);
    cr_assert_float_eq(kit.answer.flow[link], sqrt(100 / 2.01e4), 1e-14);
    kit_clear(&kit);
}

Test(coupled, of_two_claims_the_stronger_rules)
{
    const int link = between_two_tanks(25, 84);
    cr_assert_float_eq(kit.answer.flow[link], 0.04, 1e-14); /* 16 = 1e4 Q^2 */
    kit_clear(&kit);
}

/* The set head is just what stands there when fully open. */
Test(coupled, regulator_at_its_very_set_head_is_a_tie)
{
    const double square = 100 / 2.01e4;
    const int link = between_two_tanks(1e4 * square, none_before);
    cr_assert_float_eq(kit.answer.flow[link], sqrt(square), 1e-13);
    kit_clear(&kit);
}

Test(coupled, sustaining_regulator_above_its_source_lets_nothing_through)
{
    const int link = between_two_tanks(none_behind, 120);
    cr_assert_eq(kit.answer.flow[link], 0.0, "%g", kit.answer.flow[link]);
    cr_assert_float_eq(kit.answer.head[1], 100, 1e-12);
    cr_assert_float_eq(kit.answer.head[2], 0, 1e-12);
    kit_clear(&kit);
}

Test(coupled, regulator_set_below_the_lower_tank_shuts)
{
    kit_init(&kit);
    const int upper = kit_held(&kit, 100);
    const int lower = kit_held(&kit, 50);
    const int link = put_regulator(upper, lower, 0, 30, none_before);
    kit_solve(&kit);
    cr_assert_eq(kit.answer.flow[link], 0.0, "%g", kit.answer.flow[link]);
    kit_is_exact(&kit);
    kit_clear(&kit);
}

/* 100 m, R(60), pipe 1e3, R(30), pipe 1e4, R(10), pipe 1e4, 0 m: the last one's 10 = 1e4 Q^2. */
Test(coupled, regulators_in_a_row_each_hold_their_head)
{
    kit_init(&kit);
    const double set[] = {60, 30, 10};
    const double pipe[] = {1e3, 1e4, 1e4};
    int point = kit_held(&kit, 100);
    for (int i = 0; i < 3; i++) {
        const int behind = kit_free(&kit, 0);
        const int next = i < 2 ? kit_free(&kit, 0) : kit_held(&kit, 0);
        put_regulator(point, behind, i, set[i], none_before);
        kit_link(&kit, behind, next, kit_resistance(pipe[i]));
        point = next;
    }
    kit_solve(&kit);
    kit_is_exact(&kit);
    const double flow = sqrt(1e-3);
    for (int e = 0; e < 6; e++) {
        cr_assert_float_eq(kit.answer.flow[e], flow, 1e-14);
    }
    cr_assert_float_eq(kit.answer.head[1], 60, 1e-12);
    cr_assert_float_eq(kit.answer.head[3], 30, 1e-12);
    cr_assert_float_eq(kit.answer.head[5], 10, 1e-12);
    kit_clear(&kit);
}

/* Two regulators from 100 m to one point, pipe 1e4 to 0 m. Returns the point. */
static int side_by_side(double set_a, double set_b)
{
    kit_init(&kit);
    const int upper = kit_held(&kit, 100);
    const int point = kit_free(&kit, 0);
    const int lower = kit_held(&kit, 0);
    put_regulator(upper, point, 0, set_a, none_before);
    put_regulator(upper, point, 1, set_b, none_before);
    kit_link(&kit, point, lower, kit_resistance(1e4));
    kit_solve(&kit);
    kit_is_exact(&kit);
    return point;
}

Test(coupled, of_regulators_side_by_side_the_higher_set_one_works)
{
    const int point = side_by_side(36, 25);
    cr_assert_float_eq(kit.answer.head[point], 36, 1e-12);
    cr_assert_float_eq(kit.answer.flow[0], 0.06, 1e-14);
    cr_assert_eq(kit.answer.flow[1], 0.0);
    kit_clear(&kit);
}

/* Any split would do; like valves share. */
Test(coupled, like_regulators_side_by_side_share_the_flow)
{
    const int point = side_by_side(36, 36);
    cr_assert_float_eq(kit.answer.head[point], 36, 1e-12);
    cr_assert_float_eq(kit.answer.flow[0], 0.03, 1e-9);
    cr_assert_float_eq(kit.answer.flow[1], 0.03, 1e-9);
    kit_clear(&kit);
}

/* A loop of pipes behind the regulator: 1e4 and 4e4 side by side carry as one of 1e4 4/9. */
Test(coupled, regulator_feeds_a_closed_loop)
{
    kit_init(&kit);
    const int upper = kit_held(&kit, 100);
    const int behind = kit_free(&kit, 0);
    const int far = kit_free(&kit, 0.03);
    put_regulator(upper, behind, 0, 20, none_before);
    const int wide = kit_link(&kit, behind, far, kit_resistance(1e4));
    const int narrow = kit_link(&kit, behind, far, kit_resistance(4e4));
    kit_solve(&kit);
    kit_is_exact(&kit);
    cr_assert_float_eq(kit.answer.flow[wide], 0.02, 1e-14);
    cr_assert_float_eq(kit.answer.flow[narrow], 0.01, 1e-14);
    cr_assert_float_eq(kit.answer.head[far], 16, 1e-12);
    kit_clear(&kit);
}

/* The regulator must stay shut, and nothing else feeds the draw. */
Test(coupled, what_cannot_be_met_is_told)
{
    kit_init(&kit);
    const int upper = kit_held(&kit, 100);
    const int behind = kit_free(&kit, 0.01);
    put_regulator(upper, behind, 0, none_behind, 120);
    kit_solve_with(&kit, &steady_defaults);
    cr_assert_eq(kit.answer.ending, STEADY_NO_COUPLED_ANSWER);
    cr_assert(kit.answer.mass_residual > 1e-6 || kit.answer.energy_residual > 1e-6);
    cr_assert(isfinite(kit.answer.head[behind]));
    kit_clear(&kit);
}

/* --- tees --- */

static struct tee tee;
static struct tee_leg legs[TEE_LEGS];

/* A square tee of 0.01 m2 between three points, all its links towards the middle. */
static void put_tee(const int points[TEE_LEGS])
{
    struct failure failure;
    const struct place nowhere = {0};
    tee = (struct tee){.run_area = 0.01, .branch_area = 0.01, .angle = acos(0.0)};
    const int middle = kit_free(&kit, 0);
    for (int i = 0; i < TEE_LEGS; i++) {
        legs[i] = (struct tee_leg){.tee = &tee, .leg = i};
        tee.link[i] = kit_put(&kit, points[i], middle, &tee_element, &legs[i]);
    }
    cr_assert(tee_init(&tee, nowhere, &failure));
}

/* 20 m through pipe 1e4, run of the tee, pipe 1e4 to 0 m, branch to a valve that stays shut: with
 * no branch flow the law of the run gives 1 - 1.5 + 0.5 = 0, so Q = sqrt(20/2e4). The branch's
 * total head is one velocity head of the run below leg 1. */
Test(coupled, tee_with_its_branch_shut_loses_nothing_along_the_run)
{
    kit_init(&kit);
    const int upper = kit_held(&kit, 20);
    const int lower = kit_held(&kit, 0);
    const int shut = kit_held(&kit, 30);
    const int points[] = {kit_free(&kit, 0), kit_free(&kit, 0), kit_free(&kit, 0)};
    put_tee(points);
    const int pipe = kit_link(&kit, upper, points[0], kit_resistance(1e4));
    kit_link(&kit, points[1], lower, kit_resistance(1e4));
    kit_link(&kit, points[2], shut, kit_valve(0, 1e4));
    kit_solve(&kit);
    kit_is_exact(&kit);
    const double flow = sqrt(20 / 2e4);
    const double velocity_head = flow * flow / 1e-4 / (2 * 9.81);
    cr_assert_float_eq(kit.answer.flow[pipe], flow, 1e-14);
    cr_assert_float_eq(kit.answer.head[points[0]] - kit.answer.head[points[2]], velocity_head,
                       1e-12);
    kit_clear(&kit);
}

/* Two like streams of 0.02 m3/s meet: 0.02 into leg 1 and 0.02 into the branch, out of leg 2.
 * H1 - H2 = 1 - 1/4 and H1 - H3 = 1/4 - 1/4 velocity heads of the 0.04 m3/s. */
Test(coupled, tee_joins_two_streams_by_momentum)
{
    kit_init(&kit);
    const int lower = kit_held(&kit, 0);
    const int points[] = {kit_free(&kit, -0.02), lower, kit_free(&kit, -0.02)};
    put_tee(points);
    kit_solve(&kit);
    kit_is_exact(&kit);
    const double velocity_head = 16 / (2 * 9.81);
    cr_assert_float_eq(kit.answer.head[points[0]], 0.75 * velocity_head, 1e-12);
    cr_assert_float_eq(kit.answer.head[points[2]], 0.75 * velocity_head, 1e-12);
    kit_clear(&kit);
}

static struct drop never_asked(const void *data, const struct water *water, double flow)
{
    (void)data;
    (void)water;
    cr_assert_fail("asked for the drop of a law that hangs on more than its flow");
    return (struct drop){.head = flow};
}

/* Who asks many links for their drops at once gets none of a coupled one. */
Test(coupled, links_are_not_asked_for_a_drop_of_their_own)
{
    struct element element = regulator_element;
    element.drop = never_asked;
    const struct link coupled = {.element = &element};
    const struct link *const links[] = {&coupled};
    const struct water water = {.gravity = 9.81, .density = 1000.0, .viscosity = 1e-6};
    double drop = 0.0;
    drops_find(1, links, &water, (double[]){0.001}, &drop);
    cr_expect(isnan(drop));
}
