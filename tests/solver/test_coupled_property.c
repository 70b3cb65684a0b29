/* Random networks of pipes, non-return valves and regulators between tanks, nothing drawn off: each
 * has an answer (heads and flows follow continuously from the regulators' resistances, so that
 * Kakutani's fixed point exists). Each must be found, to the certificate. */
#include "tests/solver/coupled_kit.h"

#include <stdint.h>
#include <stdio.h>

enum { NETWORKS = SHORT_RUNS ? 1300 : 2000, POINTS = 40, TANKS = 3 };

static struct kit kit;
static struct regulator regulators[KIT_MAX];

/* splitmix64 (Steele, Lea & Flood 2014). */
static double uniform(uint64_t *seed, double low, double high)
{
    uint64_t z = *seed += 0x9e3779b97f4a7c15u;
    z = (z ^ (z >> 30)) * 0xbf58476d1ce4e5b9u;
    z = (z ^ (z >> 27)) * 0x94d049bb133111ebu;
    return low + (high - low) * (double)((z ^ (z >> 31)) >> 11) * 0x1p-53;
}

static void put_link(uint64_t *seed, int from, int to)
{
    const double kind = uniform(seed, 0, 1);
    const double loss = pow(10, uniform(seed, 2, 5));
    if (kind < 0.35) {
        struct regulator *regulator = &regulators[kit.network.link_count];
        const bool is_behind = uniform(seed, 0, 1) < 0.7;
        const bool is_before = !is_behind || uniform(seed, 0, 1) < 0.2;
        *regulator = kit_regulator(is_behind ? uniform(seed, 0, 110) : HUGE_VAL,
                                   is_before ? uniform(seed, 0, 110) : -HUGE_VAL);
        kit_put(&kit, from, to, &regulator_element, regulator);
    } else {
        kit_link(&kit, from, to, kind < 0.5 ? kit_valve(0.2, loss) : kit_resistance(loss));
    }
}

/* A tree from the first tank and some links across. */
static void put_network(uint64_t seed)
{
    kit_init(&kit);
    const int points = 4 + (int)uniform(&seed, 0, POINTS);
    for (int i = 0; i < points; i++) {
        if (i < TANKS) {
            kit_held(&kit, floor(uniform(&seed, 0, 100)));
        } else {
            kit_free(&kit, 0);
        }
        if (i > 0) {
            const int other = (int)uniform(&seed, 0, i);
            const bool is_forward = uniform(&seed, 0, 1) < 0.5;
            put_link(&seed, is_forward ? other : i, is_forward ? i : other);
        }
    }
    for (int i = 0; i < points / 2; i++) {
        const int a = (int)uniform(&seed, 0, points);
        const int b = (int)uniform(&seed, 0, points);
        if (a != b) {
            put_link(&seed, a, b);
        }
    }
}

Test(coupled_property, random_networks_of_regulators_are_all_solved)
{
    int wrong = 0;
    int most = 0;
    for (uint64_t i = 1; i <= NETWORKS; i++) {
        put_network(i << 20);
        kit_solve_with(&kit, &steady_defaults);
        const struct steady *answer = &kit.answer;
        const bool is_right = answer->ending == STEADY_CONVERGED && answer->mass_residual < 1e-13 &&
                              answer->energy_residual < 1e-10 && answer->complementarity < 1e-10;
        if (!is_right) {
            wrong++;
            (void)fprintf(stderr, "network %d: %s, %d steps, %g m3/s, %g m, %g m\n", (int)i,
                          steady_ending_text(answer->ending), answer->steps, answer->mass_residual,
                          answer->energy_residual, answer->complementarity);
        }
        most = answer->steps > most ? answer->steps : most;
        kit_clear(&kit);
    }
    (void)fprintf(stderr, "%d networks: %d wrong; most linear systems %d\n", NETWORKS, wrong, most);
    cr_assert_eq(wrong, 0);
}
