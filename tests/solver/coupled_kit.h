/* Coupled kit: regulators, tees and rising pump curves in the small networks of kit.h. */
#ifndef TESTS_SOLVER_COUPLED_KIT_H
#define TESTS_SOLVER_COUPLED_KIT_H

#include "models/regulator.h"
#include "models/tee.h"
#include "tests/solver/kit.h"

/* Loss of 1 m at 0.1 m3/s fully open: K/(2 g A^2) = 100 s2/m5 with A = 0.01 m2. */
static inline struct regulator kit_regulator(double most_behind, double least_before)
{
    const double area = 0.01;
    return (struct regulator){.area = area,
                              .open_loss = 100 * 2 * 9.81 * area * area,
                              .most_behind = most_behind,
                              .least_before = least_before};
}

static inline int kit_put(struct kit *kit, int from, int to, const struct element *element,
                          const void *data)
{
    const int link = kit_link(kit, from, to, kit_resistance(0));
    kit->links[link].element = element;
    kit->links[link].data = data;
    return link;
}

/* The answer keeps to the accuracy the solver promises. */
static inline void kit_is_exact(const struct kit *kit)
{
    cr_assert_lt(kit->answer.mass_residual, 1e-13);
    cr_assert_lt(kit->answer.energy_residual, 1e-11 * 10);
    cr_assert_lt(kit->answer.complementarity, 1e-11 * 10);
}

#endif
