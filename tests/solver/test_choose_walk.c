/* The walk over sets: against all of them listed by hand. */
#include "solver/choose/walk.h"

#include <criterion/criterion.h>
#include <math.h>

static int candidates[] = {0, 1, 2, 3};
static double one[] = {0.0, 0.0, 2.0, 5.0};
static double other[] = {1.0, 1.0, 1.0, 4.0};

static struct walk walk_of(double most, int sets_most, struct arena *arena)
{
    const struct walk_list lists[] = {{4, candidates, one}, {4, candidates, other}};
    struct walk walk;
    cr_assert(walk_within(2, lists, most, sets_most, &walk, arena));
    for (int i = 0; i < walk.count; i++) {
        for (int k = 0; k < i; k++) {
            cr_expect(walk.chosen[2 * i] != walk.chosen[2 * k] ||
                          walk.chosen[2 * i + 1] != walk.chosen[2 * k + 1],
                      "a set twice");
        }
    }
    return walk;
}

static double sum_of(const struct walk *walk, int i)
{
    return one[walk->chosen[2 * i]] + other[walk->chosen[2 * i + 1]];
}

/* Sums: six of 1, three of 3, two of 4, three of 6, one of 6, one of 9 (0 + 4 is 4, 2 + 4 and 5 + 1
 * are 6). */
Test(choose_walk, bound_takes_what_stays_within)
{
    struct arena *arena = arena_new();
    cr_expect_eq(walk_of(INFINITY, 100, arena).count, 16);
    cr_expect_eq(walk_of(3.0, 100, arena).count, 9);
    cr_expect_eq(walk_of(0.5, 100, arena).count, 0);
    cr_expect(isnan(walk_of(3.0, 100, arena).least_left));
    arena_free(arena);
}

/* With room for eight: the six of 1 and two of the three of 3; those left out have more than 1. */
Test(choose_walk, with_too_little_room_the_least_are_taken)
{
    struct arena *arena = arena_new();
    const struct walk walk = walk_of(INFINITY, 8, arena);
    int least = 0;
    cr_assert_eq(walk.count, 8);
    for (int i = 0; i < walk.count; i++) {
        least += sum_of(&walk, i) < 1.5;
        cr_expect_leq(sum_of(&walk, i), 3.0);
    }
    cr_expect_eq(least, 6);
    cr_expect_geq(walk.least_left, 1.0);
    cr_expect_leq(walk.least_left, 3.0);
    arena_free(arena);
}

/* Even where the very least are more than there is room for, the room is used. */
Test(choose_walk, equal_sets_beyond_the_room_leave_some)
{
    struct arena *arena = arena_new();
    const struct walk walk = walk_of(INFINITY, 4, arena);
    cr_assert_eq(walk.count, 4);
    for (int i = 0; i < walk.count; i++) {
        cr_expect_float_eq(sum_of(&walk, i), 1.0, 1e-12);
    }
    cr_expect_leq(walk.least_left, 1.0 + 1e-9);
    arena_free(arena);
}
