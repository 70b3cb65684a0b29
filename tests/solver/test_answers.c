/* Duty points of pumps with a rising part, against roots of quadratics (constructed):
 * pump 20 + 400 q - 1e4 q^2 (top 24 m at 0.02), system h + 1e4 q^2. */
#include "models/pump_curve.h"
#include "solver/steady/answers.h"
#include "tests/solver/coupled_kit.h"

static struct kit kit;
static struct arena *arena;
static struct steady_answers answers;

/* Nearest monotone law: level at the top, then the curve. */
static struct drop level_drop(const void *data, const struct water *water, double flow)
{
    (void)data;
    (void)water;
    if (flow < 0.02) {
        return (struct drop){.head = -24};
    }
    return (struct drop){.head = -(20 + 400 * flow - 1e4 * flow * flow), .slope = 2e4 * flow - 400};
}

static struct coupled_law rising_law(const void *data, const struct water *water,
                                     const struct coupled_at *at)
{
    (void)data;
    (void)water;
    return (struct coupled_law){.value = at->head_from - at->head_to + 20 + 400 * at->flow -
                                         1e4 * at->flow * fabs(at->flow),
                                .by_flow = 400 - 2e4 * fabs(at->flow),
                                .by_head_from = 1,
                                .by_head_to = -1};
}

static const struct coupling rising_coupling = {.law = rising_law};
static const struct element rising = {
    .kind = "pump", .drop = level_drop, .span = kit_span, .coupling = &rising_coupling};
static const struct kit_law free_span = {.lower = -HUGE_VAL, .upper = HUGE_VAL};

/* Sump at 0 m, pump, valve or lossless way, pipe 1e4, tank at h. */
static void find(double height, struct kit_law way)
{
    struct failure failure;
    kit_init(&kit);
    const int sump = kit_held(&kit, 0);
    const int tank = kit_held(&kit, height);
    const int behind = kit_free(&kit, 0);
    const int before = kit_free(&kit, 0);
    const int pump = kit_put(&kit, sump, behind, &rising, &free_span);
    kit_link(&kit, behind, before, way);
    kit_link(&kit, before, tank, kit_resistance(1e4));
    arena = arena_new();
    cr_assert(steady_may_have_several(&kit.network, &kit_water, pump));
    cr_assert(steady_answers_find(&kit.network, &kit_water, pump, &answers, arena, &failure));
    for (int i = 0; i < answers.count; i++) {
        cr_assert_eq(answers.items[i].steady.ending, STEADY_CONVERGED);
        cr_assert_lt(answers.items[i].steady.mass_residual, 1e-13);
        cr_assert_lt(answers.items[i].steady.energy_residual, 1e-11);
    }
}

/* 2e4 q^2 - 400 q + (h - 20) = 0; only the larger root may stand. */
Test(answers, both_duty_points_of_a_rising_pump_are_found)
{
    find(21.5, kit_valve(0, 0));
    const double root = sqrt(400.0 * 400 - 4 * 2e4 * 1.5);
    cr_assert_eq(answers.count, 3);
    cr_assert_float_eq(answers.items[0].flow, 0.0, 1e-18);
    cr_assert(answers.items[0].is_stable); /* held shut by the tank */
    cr_assert_float_eq(answers.items[1].flow, (400 - root) / 4e4, 1e-13);
    cr_assert_not(answers.items[1].is_stable);
    cr_assert_float_eq(answers.items[2].flow, (400 + root) / 4e4, 1e-13);
    cr_assert(answers.items[2].is_stable);
    arena_free(arena);
}

/* Without a valve the tank may also drive water back: 20 + 400 q + 1e4 q^2 = 21.5 - 1e4 q^2. */
Test(answers, without_a_valve_water_may_also_run_back)
{
    find(21.5, kit_resistance(0));
    cr_assert_eq(answers.count, 3);
    cr_assert_float_eq(answers.items[0].flow, (-400 - sqrt(400.0 * 400 + 4 * 2e4 * 1.5)) / 4e4,
                       1e-13);
    cr_assert(answers.items[0].is_stable);
    cr_assert_not(answers.items[1].is_stable);
    cr_assert(answers.items[2].is_stable);
    arena_free(arena);
}

/* h below the shut-off head: one root. */
Test(answers, a_low_tank_leaves_one_duty_point)
{
    find(18, kit_valve(0, 0));
    cr_assert_eq(answers.count, 1);
    cr_assert_float_eq(answers.items[0].flow, (400 + sqrt(400.0 * 400 + 4 * 2e4 * 2)) / 4e4, 1e-13);
    cr_assert(answers.items[0].is_stable);
    arena_free(arena);
}

/* h above what the pump can overcome anywhere (22 m and the pipe): it stands still. */
Test(answers, a_high_tank_leaves_none_but_rest)
{
    find(22.5, kit_valve(0, 0));
    cr_assert_eq(answers.count, 1);
    cr_assert_float_eq(answers.items[0].flow, 0.0, 1e-18);
    arena_free(arena);
}
