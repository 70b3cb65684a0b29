/* Memory that ends: the n-th request is refused, for every n until the work succeeds. After each
 * refusal all that was taken must have been given back (the leak checker of the sanitized build
 * sees that too; here the pieces alive are counted). */
#include "models/arena.h"

#include <criterion/criterion.h>
#include <errno.h>
#include <stdlib.h>

static int requests_left; /* before a request is refused */
static int alive;         /* blocks not freed */

void *__real_calloc(size_t count, size_t size);
void *__real_aligned_alloc(size_t alignment, size_t size);
int __real_posix_memalign(void **room, size_t alignment, size_t size);
void __real_free(void *room);
void *__wrap_calloc(size_t count, size_t size);
void *__wrap_aligned_alloc(size_t alignment, size_t size);
int __wrap_posix_memalign(void **room, size_t alignment, size_t size);
void __wrap_free(void *room);

static void *counted(void *room)
{
    alive += room != NULL;
    return room;
}

void *__wrap_calloc(size_t count, size_t size)
{
    return requests_left-- > 0 ? counted(__real_calloc(count, size)) : NULL;
}

void *__wrap_aligned_alloc(size_t alignment, size_t size)
{
    return requests_left-- > 0 ? counted(__real_aligned_alloc(alignment, size)) : NULL;
}

int __wrap_posix_memalign(void **room, size_t alignment, size_t size)
{
    if (requests_left-- <= 0) {
        return ENOMEM;
    }
    const int error = __real_posix_memalign(room, alignment, size);
    alive += error == 0;
    return error;
}

void __wrap_free(void *room)
{
    alive -= room != NULL;
    __real_free(room);
}

/* Fills an arena over several blocks; false where memory ended on the way. */
static bool fill_arena(int *pieces)
{
    struct arena *arena = arena_new();
    *pieces = 0;
    if (!arena) {
        return false;
    }
    while (*pieces < 200 && arena_take(arena, 1000, 1)) {
        (*pieces)++;
    }
    arena_free(arena);
    return *pieces == 200;
}

Test(memory_ends, arena_refuses_and_gives_all_back_at_every_request)
{
    int refused = 0;
    int pieces = 0;
    for (int allowed = 0;; allowed++) {
        requests_left = allowed;
        const bool is_full = fill_arena(&pieces);
        cr_assert_eq(alive, 0, "with %d requests allowed", allowed);
        if (is_full) {
            break;
        }
        refused++;
    }
    cr_assert_geq(refused, 5); /* the arena and at least two blocks of two requests each */
}

#ifndef ARENA_ONE_BY_ONE /* there every piece is a request */
Test(memory_ends, arena_still_serves_after_a_refusal)
{
    requests_left = 3; /* the arena and its first block */
    struct arena *arena = arena_new();
    cr_assert_not_null(arena_take(arena, 1, 64));
    cr_assert_null(arena_take(arena, 1, 1 << 20));
    cr_assert_not_null(arena_take(arena, 1, 64)); /* room is left in the first block */
    requests_left = 2;
    cr_assert_not_null(arena_take(arena, 1, 1 << 20));
    arena_free(arena);
    cr_assert_eq(alive, 0);
}
#endif
