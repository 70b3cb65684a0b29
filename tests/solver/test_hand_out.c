/* Tests of solver/study/hand_out.c: every variant goes to one holder, and what is given back goes
 * to the next. */
#include "solver/study/hand_out.h"

#include <criterion/criterion.h>

enum { COUNT = 5 };

Test(hand_out, gives_each_that_is_not_done_once_and_in_turn)
{
    const bool is_done[COUNT] = {false, true, false, false, true};
    struct hand_out hand_out;
    struct failure failure;
    struct arena *arena = arena_new();
    cr_assert(hand_out_init(&hand_out, COUNT, is_done, arena, &failure));
    cr_expect_eq(hand_out_take(&hand_out, 0), 0);
    cr_expect_eq(hand_out_take(&hand_out, 1), 2);
    cr_expect_eq(hand_out_take(&hand_out, 0), 3);
    cr_expect_eq(hand_out_take(&hand_out, 1), HAND_OUT_NONE);
    arena_free(arena);
}

Test(hand_out, gives_what_a_lost_holder_has_not_done_to_the_next)
{
    bool is_done[COUNT] = {false};
    struct hand_out hand_out;
    struct failure failure;
    struct arena *arena = arena_new();
    cr_assert(hand_out_init(&hand_out, COUNT, is_done, arena, &failure));
    for (int i = 0; i < COUNT; i++) {
        cr_expect_eq(hand_out_take(&hand_out, i % 2), i);
    }
    is_done[1] = true;
    cr_expect_eq(hand_out_give_back(&hand_out, 1), 1, "3 is left of 1 and 3");
    cr_expect_eq(hand_out_take(&hand_out, 2), 3);
    cr_expect_eq(hand_out_take(&hand_out, 2), HAND_OUT_NONE);
    cr_expect_eq(hand_out_give_back(&hand_out, 1), 0);
    arena_free(arena);
}
