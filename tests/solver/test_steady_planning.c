/* Room that plans of the steady solver need for a while. */
#include "solver/steady/planning.h"
#include "tests/solver/ending_memory.h"

#include <criterion/criterion.h>
#include <stdint.h>
#include <string.h>

enum { PIECES = 40 };

/* Pieces of any size, in lent room and beside it, keep what is written to them while others are
 * taken and given back. */
Test(steady_planning, pieces_do_not_overlap)
{
    struct planning planning;
    unsigned char *piece[PIECES];
    planning_init(&planning, arena_new());
    planning_lend(&planning, arena_take(planning.kept, 1000, 1), 1000, 1);
    planning_lend(&planning, arena_take(planning.kept, 500, 8), 500, 8);
    const struct planning_mark empty = planning_mark(&planning);
    for (int i = 0; i < PIECES; i++) {
        const size_t size = 1 + (size_t)i * 17;
        piece[i] = planning_take(&planning, size, 1);
        cr_assert(piece[i]);
        cr_assert_eq((uintptr_t)piece[i] % _Alignof(max_align_t), 0);
        memset(piece[i], i, size);
        const struct planning_mark mark = planning_mark(&planning);
        unsigned char *brief = planning_take(&planning, 100 + size, 1);
        cr_assert(brief);
        memset(brief, 0xff, 100 + size);
        planning_give(&planning, mark);
    }
    for (int i = 0; i < PIECES; i++) {
        for (size_t k = 0; k < 1 + (size_t)i * 17; k++) {
            cr_assert_eq(piece[i][k], i);
        }
    }
    planning_give(&planning, empty);
    cr_assert_null(planning.own);
    cr_assert_eq(planning.lent_used, 0);
    arena_free(planning.kept);
}

Test(steady_planning, what_cannot_be_had_is_told)
{
    struct planning planning;
    planning_init(&planning, NULL);
    cr_assert_null(planning_take(&planning, SIZE_MAX / 4, 8));
    calls_left = 0;
    cr_assert_null(planning_take(&planning, 10, 8));
    calls_left = -1;
    cr_assert(planning_take(&planning, 10, 8));
    planning_give(&planning, (struct planning_mark){0, NULL});
    cr_assert_null(planning.own);
}

#ifndef ARENA_ONE_BY_ONE
/* Pieces that follow one another count as one, of others the largest; while there is lent room no
 * memory is asked for. */
Test(steady_planning, lent_room_comes_first)
{
    struct planning planning;
    struct arena *arena = arena_new();
    planning_init(&planning, arena);
    void *first = arena_take(arena, 64, 1);
    void *second = arena_take(arena, 128, 1);
    cr_assert(arena_take(arena, 64, 1));
    void *apart = arena_take(arena, 64, 1);
    planning_lend(&planning, first, 64, 1);
    planning_lend(&planning, second, 128, 1);
    planning_lend(&planning, apart, 64, 1);
    calls = 0;
    cr_assert_eq(planning_take(&planning, 60, 1), first);
    cr_assert_eq(planning_take(&planning, 16, 8), second);
    cr_assert_eq(calls, 0);
    cr_assert(planning_take(&planning, 1, 1));
    cr_assert_eq(calls, 1);
    planning_give(&planning, (struct planning_mark){0, NULL});
    cr_assert_eq(planning_take(&planning, 192, 1), first);
    arena_free(arena);
}
#endif
