/* Mixed law: friction of one reach that is both straight and quadratic, for the tests of how its
 * table is made and looked up. */
#ifndef TESTS_SOLVER_MIXED_LAW_H
#define TESTS_SOLVER_MIXED_LAW_H

#include "solver/surge/loss.h"

#include <criterion/criterion.h>
#include <math.h>

/* F = line Q + bend Q|Q|, of all reaches; counts how often it is asked. */
struct mixed {
    double line;
    double bend;
    int *asked;
};

static inline struct drop mixed_drop(const void *data, const struct water *water, double flow)
{
    const struct mixed *mixed = data;
    (void)water;
    if (mixed->asked != NULL) {
        ++*mixed->asked;
    }
    return (struct drop){mixed->line * flow + mixed->bend * flow * fabs(flow),
                         mixed->line + 2.0 * mixed->bend * fabs(flow)};
}

static const struct element mixed_element = {.kind = "mixed", .drop = mixed_drop};

enum { REACHES = 50 };
static const double impedance = 5e3;
static const double area = 8e-3;

static inline struct loss mixed_loss(const struct mixed *mixed, double steady_flow,
                                     struct arena *arena)
{
    struct failure failure;
    struct loss loss;
    const struct loss_law law = {&mixed_element, mixed, NULL,       REACHES,
                                 impedance,      area,  steady_flow};
    cr_assert(loss_init(&loss, &law, arena, &failure));
    return loss;
}

enum { MIXES = 4 };
static const struct mixed mixes[MIXES] = {{REACHES * 1.0, REACHES * 1e6, NULL},
                                          {REACHES * 7e3, REACHES * 2e6, NULL},
                                          {REACHES * 9e4, REACHES * 3e5, NULL},
                                          {REACHES * 2e4, REACHES * 1e8, NULL}};

#endif
