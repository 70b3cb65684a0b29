/* Cases whose answers are exact on paper (constructed), or computed to the digits shown. */
#include "tests/solver/kit.h"

static struct kit kit;

static double two_tanks(double difference, struct kit_law valve)
{
    kit_init(&kit);
    const int upper = kit_held(&kit, difference);
    const int lower = kit_held(&kit, 0);
    const int link = kit_link(&kit, upper, lower, valve);
    kit_solve(&kit);
    const double flow = kit.answer.flow[link];
    cr_assert_float_eq(kit.answer.drop[link], difference, 1e-15);
    kit_clear(&kit);
    return flow;
}

/* (constructed) opening head 0.30 m, then 1e4 Q^2. */
Test(steady_exact, valve_stays_shut_up_to_its_opening_head)
{
    cr_assert_eq(two_tanks(0.25, kit_valve(0.30, 1e4)), 0.0);
    cr_assert_eq(two_tanks(0.30, kit_valve(0.30, 1e4)), 0.0);
}

/* (constructed) 1.30 - 0.30 = 1e4 Q^2. */
Test(steady_exact, valve_opens_beyond_its_opening_head)
{
    cr_assert_float_eq(two_tanks(1.30, kit_valve(0.30, 1e4)), 0.01, 1e-12);
}

/* (constructed) the same valve the other way round. */
Test(steady_exact, reversed_valve_passes_nothing)
{
    cr_assert_eq(two_tanks(-0.25, kit_valve(0.30, 1e4)), 0.0);
    cr_assert_eq(two_tanks(-100.0, kit_valve(0.30, 1e4)), 0.0);
}

/* Two pumps, each with its valve, from one sump into one riser. Links: 0 pump a, 1 valve a, 2 pump
 * b, 3 valve b, 4 riser. */
static int pump_pair(double a, double b, double static_head, double riser)
{
    kit_init(&kit);
    const int sump = kit_held(&kit, 0);
    const int tank = kit_held(&kit, static_head);
    const int after_a = kit_free(&kit, 0);
    const int after_b = kit_free(&kit, 0);
    const int header = kit_free(&kit, 0);
    kit_link(&kit, sump, after_a, kit_pump(a, 2e4));
    kit_link(&kit, after_a, header, kit_valve(0, 0));
    kit_link(&kit, sump, after_b, kit_pump(b, 2e4));
    kit_link(&kit, after_b, header, kit_valve(0, 0));
    kit_link(&kit, header, tank, kit_resistance(riser));
    kit_solve(&kit);
    return header;
}

/* (constructed) A 30 - 2e4 Q^2, B 18 - 2e4 Q^2, system 10 + 3e4 Q^2: 22 m, B held by 4 m. */
Test(steady_exact, weaker_pump_is_held_shut)
{
    const int header = pump_pair(30, 18, 10, 3e4);
    cr_assert_float_eq(kit.answer.flow[0], 0.02, 1e-12);
    cr_assert_float_eq(kit.answer.head[header], 22, 1e-9);
    cr_assert_eq(kit.answer.flow[3], 0.0);
    cr_assert_float_eq(kit.answer.drop[3], -4, 1e-9);
    kit_clear(&kit);
}

/* (computed, 1e-12) A 30 - 2e4 Q^2, B 26 - 2e4 Q^2, system 4 + 1e4 Q^2. */
Test(steady_exact, unequal_pumps_share)
{
    const int header = pump_pair(30, 26, 4, 1e4);
    cr_assert_float_eq(kit.answer.head[header], 19.91622805802528, 1e-9);
    cr_assert_float_eq(kit.answer.flow[0], 0.022454144319, 1e-12);
    cr_assert_float_eq(kit.answer.flow[2], 0.017441003328, 1e-12);
    cr_assert_float_eq(kit.answer.flow[4], 0.039895147647, 2e-12);
    kit_clear(&kit);
}

/* (constructed) loops; Q in L/s, r in m/(L/s)^2. AB 60, AD 40, BD 10, BC 35, DC 30. */
Test(steady_exact, two_loops_meet_their_answer)
{
    kit_init(&kit);
    const int a = kit_held(&kit, 100);
    const int b = kit_free(&kit, 15);
    const int c = kit_free(&kit, 65);
    const int d = kit_free(&kit, 20);
    kit_link(&kit, a, b, kit_resistance(0.002));
    kit_link(&kit, a, d, kit_resistance(0.005));
    kit_link(&kit, b, d, kit_resistance(0.008));
    kit_link(&kit, b, c, kit_resistance(0.002));
    kit_link(&kit, d, c, kit_resistance(11.0 / 6000));
    kit_solve(&kit);
    const double flow[] = {60, 40, 10, 35, 30};
    const double drop[] = {7.2, 8.0, 0.8, 2.45, 1.65};
    for (int e = 0; e < 5; e++) {
        cr_assert_float_eq(kit.answer.flow[e], flow[e], 1e-10);
        cr_assert_float_eq(kit.answer.drop[e], drop[e], 1e-10);
    }
    cr_assert_float_eq(kit.answer.head[a] - kit.answer.head[c], 9.65, 1e-10);
    kit_clear(&kit);
}

/* The same fed at A with no held head at all: heads are defined up to a constant, flows are not. */
Test(steady_exact, loops_without_a_held_head_are_one_zone)
{
    kit_init(&kit);
    const int a = kit_free(&kit, -100);
    const int b = kit_free(&kit, 15);
    const int c = kit_free(&kit, 65);
    const int d = kit_free(&kit, 20);
    kit_link(&kit, a, b, kit_resistance(0.002));
    kit_link(&kit, a, d, kit_resistance(0.005));
    kit_link(&kit, b, d, kit_resistance(0.008));
    kit_link(&kit, b, c, kit_resistance(0.002));
    kit_link(&kit, d, c, kit_resistance(11.0 / 6000));
    kit_solve(&kit);
    cr_assert_eq(kit.answer.zone_count, 1);
    cr_assert_eq(kit.answer.zone[c], 0);
    cr_assert_float_eq(kit.answer.flow[0], 60, 1e-10);
    cr_assert_float_eq(kit.answer.head[a] - kit.answer.head[c], 9.65, 1e-10);
    kit_clear(&kit);
}
