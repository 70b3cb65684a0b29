/* What a span keeps for the drops of its step: the same digits as without, and really taken. */
#include "models/circle.h"
#include "models/non_return.h"
#include "models/non_return_motion.h"
#include "tests/solver/random_numbers.h"

#include <criterion/criterion.h>
#include <string.h>

enum { STATE = NON_RETURN_STATE_COUNT, TRIALS = 2000 };

static const struct water water = {.gravity = 9.81, .density = 1000.0};

static struct non_return random_lift(struct random *random)
{
    return (struct non_return){.type = "any",
                               .bore = 0.05,
                               .port_area = 1e-3,
                               .full_open_loss = 5.0,
                               .seat_area = circle_area(0.05),
                               .arm = 1.0,
                               .inertia = random_spread(random, 0.1, 2.0),
                               .travel = 0.020,
                               .opening_floor = 0.01,
                               .opening_head = random_spread(random, 0.02, 1.0),
                               .full_open_velocity = random_even(random, 0.5, 2.5),
                               .own.rotation = random_pick(random, 2)};
}

static void random_state(struct random *random, double state[])
{
    memset(state, 0, STATE * sizeof *state);
    state[NON_RETURN_STATE_OPENING] = random_even(random, 0.01, 1.0);
    state[NON_RETURN_STATE_SPEED] = random_even(random, -20.0, 5.0);
    state[NON_RETURN_STATE_FLOW] = random_even(random, -3e-3, 3e-3);
    state[NON_RETURN_STATE_RATE] = random_even(random, -0.1, 0.1);
}

Test(non_return_kept, drops_have_the_digits_they_have_alone)
{
    struct random random;
    random_seed(&random, 5);
    for (int i = 0; i < TRIALS; i++) {
        const struct non_return valve = random_lift(&random);
        const double flow = random_even(&random, -3e-3, 3e-3);
        double old[STATE];
        double next[2][STATE];
        double kept[ELEMENT_KEPT_MAX] = {0};
        const struct instant alone = {1.0, 1e-3, 1.0, &water, NULL};
        const struct instant keeping = {1.0, 1e-3, 1.0, &water, kept};
        random_state(&random, old);
        const struct span spans[] = {non_return_motion.span(&valve, &alone, old),
                                     non_return_motion.span(&valve, &keeping, old)};
        const struct drop drops[] = {non_return_motion.drop(&valve, &alone, old, flow, next[0]),
                                     non_return_motion.drop(&valve, &keeping, old, flow, next[1])};
        cr_expect_eq(spans[0].lower, spans[1].lower);
        cr_expect_eq(spans[0].upper, spans[1].upper);
        cr_expect_eq(drops[0].head, drops[1].head);
        cr_expect_eq(drops[0].slope, drops[1].slope);
        cr_expect_arr_eq(next[0], next[1], sizeof next[0]);
    }
}

/* Were it found anew, what is kept would not matter. */
Test(non_return_kept, what_is_kept_is_taken)
{
    struct random random;
    random_seed(&random, 6);
    const struct non_return valve = random_lift(&random);
    double old[STATE];
    double next[STATE];
    double kept[ELEMENT_KEPT_MAX] = {0};
    const struct instant now = {1.0, 1e-3, 1.0, &water, kept};
    random_state(&random, old);
    (void)non_return_motion.span(&valve, &now, old);
    const double before = non_return_motion.drop(&valve, &now, old, 1e-3, next).head;
    for (int i = 0; i < ELEMENT_KEPT_MAX; i++) {
        kept[i] *= 1.01;
    }
    cr_expect_neq(non_return_motion.drop(&valve, &now, old, 1e-3, next).head, before);
}
