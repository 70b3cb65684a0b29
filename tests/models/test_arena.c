#include "models/arena.h"

#include <criterion/criterion.h>
#include <stdint.h>
#include <string.h>

static struct arena *arena;

static void open_arena(void)
{
    arena = arena_new();
    cr_assert_not_null(arena);
}

static void close_arena(void)
{
    arena_free(arena);
}

TestSuite(arena, .init = open_arena, .fini = close_arena);

Test(arena, every_piece_starts_on_a_cache_line)
{
    for (size_t size = 1; size < 300; size++) {
        const void *room = arena_take(arena, 1, size);
        cr_assert_not_null(room);
        cr_assert_eq((uintptr_t)room % 64, 0, "piece of %zu bytes", size);
    }
}

Test(arena, pieces_are_zeroed)
{
    for (size_t round = 0; round < 50; round++) {
        unsigned char *room = arena_take(arena, 1000, 1);
        cr_assert_not_null(room);
        for (size_t i = 0; i < 1000; i++) {
            cr_assert_eq(room[i], 0);
        }
        memset(room, 0xff, 1000);
    }
}

/* Around the size from which large pages are asked for; taken anew from memory that was written to.
 */
Test(arena, large_pieces_are_zeroed_and_free_to_write_to_both_ends)
{
    enum { PAGE = 4096 };
    static const size_t large = (size_t)8 << 20;
    for (size_t round = 0; round < 6; round++) {
        const size_t size = large - 100 + 60 * round;
        struct arena *apart = arena_new();
        unsigned char *room = arena_take(apart, size, 1);
        cr_assert_not_null(room);
        for (size_t i = 0; i < size; i += PAGE) {
            cr_assert_eq(room[i], 0);
            room[i] = 0xff;
        }
        cr_assert_eq(room[size - 1], 0);
        room[size - 1] = 0xff;
        arena_free(apart);
    }
}

/* From far less than one large page to several and a part, at whose end some more is taken than was
 * told of. Some of it is given before its first touch, beside what has been written to. */
Test(arena, expected_pieces_are_zeroed_and_free_to_write_to_both_ends)
{
    enum { PIECES = 7 };
    for (size_t size = 1000; size < (size_t)1 << 20; size += 98765) {
        struct arena *apart = arena_new();
        unsigned char *room[PIECES + 1];
        cr_assert_not_null(apart);
        cr_assert_not_null(arena_take(apart, 1, 1));
        arena_expect(apart, PIECES / 2 * arena_need(size, 1), PIECES * arena_need(size, 1));
        for (int i = 0; i <= PIECES; i++) {
            arena_fill(apart, (size_t)i * size); /* more than there is room for, at last */
            room[i] = arena_take(apart, size, 1);
            cr_assert_not_null(room[i]);
            for (size_t k = 0; k < size; k += 512) {
                cr_assert(room[i][k] == 0);
            }
            cr_assert(room[i][size - 1] == 0);
            memset(room[i], i + 1, size);
        }
        for (int i = 0; i <= PIECES; i++) {
            cr_assert(room[i][0] == i + 1 && room[i][size - 1] == i + 1);
        }
        arena_free(apart);
    }
}

Test(arena, a_need_is_whole_cache_lines_and_never_nothing)
{
    cr_assert_eq(arena_need(0, 8), 64);
    cr_assert_eq(arena_need(8, 8), 64);
    cr_assert_eq(arena_need(65, 1), 128);
}

Test(arena, pieces_do_not_overlap_while_it_grows)
{
    enum { PIECES = 400, INTS = 700 }; /* 1.1 MB: far beyond the first block */
    int *piece[PIECES];
    for (int i = 0; i < PIECES; i++) {
        piece[i] = arena_take(arena, INTS, sizeof *piece[i]);
        cr_assert_not_null(piece[i]);
        for (int j = 0; j < INTS; j++) {
            piece[i][j] = i;
        }
    }
    for (int i = 0; i < PIECES; i++) {
        for (int j = 0; j < INTS; j++) {
            cr_assert_eq(piece[i][j], i);
        }
    }
}

Test(arena, product_that_overflows_is_refused)
{
    cr_assert_null(arena_take(arena, SIZE_MAX / 2 + 1, 2)); /* wraps to 0 */
    cr_assert_null(arena_take(arena, SIZE_MAX / 8 + 2, 8)); /* wraps to 8 */
    cr_assert_null(arena_take(arena, 1, SIZE_MAX));         /* the rounding up would wrap */
    cr_assert_eq(arena_size(arena), 0);
}

Test(arena, nothing_is_still_a_place)
{
    cr_assert_not_null(arena_take(arena, 0, 8));
    cr_assert_not_null(arena_take(arena, 8, 0));
    cr_assert_eq(arena_size(arena), 0);
}

Test(arena, piece_larger_than_any_block_fits)
{
    const size_t size = (size_t)32 * 1024 * 1024;
    unsigned char *room = arena_take(arena, size, 1);
    cr_assert_not_null(room);
    room[size - 1] = 1;
    cr_assert_eq(arena_size(arena), size);
}

Test(arena, text_is_a_copy)
{
    char text[] = "header tank";
    const char *copy = arena_text(arena, text);
    text[0] = 'X';
    cr_assert_str_eq(copy, "header tank");
    cr_assert_eq(arena_size(arena), sizeof text);
}

Test(arena, freeing_nothing_is_allowed)
{
    arena_free(NULL);
}
