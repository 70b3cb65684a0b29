/* A chain of blocks; each block serves requests from its low end upward. Invariant: `used` of a
 * block is a multiple of ALIGNMENT and never above `size`. With ARENA_ONE_BY_ONE defined every
 * request gets a block of its own, so that a memory checker sees each overrun. */
#include "models/arena.h"

#include "models/large_pages.h"

#include <stdbool.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

enum { ALIGNMENT = 64, FIRST_BLOCK = 16 * 1024, LARGEST_STEP = 4 * 1024 * 1024 };

struct block {
    struct block *next;
    size_t size; /* bytes of room */
    size_t used; /* bytes given out */
    void *whole; /* what is to be freed; NULL: the room itself is given back, as large pages */
    unsigned char *room;
};

struct arena {
    struct block *newest;
    size_t next_size;
    size_t taken;
};

struct arena *arena_new(void)
{
    struct arena *arena = calloc(1, sizeof *arena);
    if (arena) {
        arena->next_size = FIRST_BLOCK;
    }
    return arena;
}

void arena_free(struct arena *arena)
{
    if (!arena) {
        return;
    }
    struct block *block = arena->newest;
    while (block) {
        struct block *next = block->next;
        if (block->whole) {
            free(block->whole);
        } else {
            large_pages_give(block->room, block->size);
        }
        free(block);
        block = next;
    }
    free(arena);
}

/* Room of noughts, aligned, for `need` bytes or more, of which the first `filled` will be written
 * to; block->size becomes how many. The system gives large pieces of noughts without touching them:
 * what is never used then costs nothing. */
static bool take_room(struct arena *arena, size_t filled, size_t need, struct block *block)
{
#ifdef ARENA_ONE_BY_ONE
    (void)arena;
    block->size = need;
    /* Exactly what was asked for, not a byte of padding: aligned_alloc wants whole multiples. */
    if (posix_memalign(&block->whole, ALIGNMENT, filled > 0 ? filled : 1) != 0) {
        block->whole = NULL;
        return false;
    }
    block->room = block->whole;
    memset(block->room, 0, filled);
    return true;
#else
    const bool is_large = need > arena->next_size;
    block->size = is_large ? need : arena->next_size;
    if (arena->next_size < LARGEST_STEP) {
        arena->next_size *= 2;
    }
    block->room = is_large ? large_pages_take(filled, &block->size) : NULL;
    if (block->room) {
        return true;
    }
    block->whole = calloc(block->size + ALIGNMENT, 1);
    if (!block->whole) {
        return false;
    }
    const size_t beyond = (size_t)((uintptr_t)block->whole % ALIGNMENT);
    block->room = (unsigned char *)block->whole + (beyond > 0 ? ALIGNMENT - beyond : 0);
    return true;
#endif
}

static struct block *add_block(struct arena *arena, size_t filled, size_t need)
{
    struct block *block = calloc(1, sizeof *block);
    if (!block) {
        return NULL;
    }
    if (!take_room(arena, filled, need, block)) {
        free(block);
        return NULL;
    }
    block->next = arena->newest;
    arena->newest = block;
    return block;
}

size_t arena_need(size_t count, size_t size)
{
    const size_t bytes = count * size;
    return bytes > 0 ? (bytes + ALIGNMENT - 1) / ALIGNMENT * ALIGNMENT : ALIGNMENT;
}

void arena_expect(struct arena *arena, size_t filled, size_t sparse)
{
#ifdef ARENA_ONE_BY_ONE
    (void)arena;
    (void)filled;
    (void)sparse;
#else
    const size_t bytes = filled + sparse;
    const struct block *block = arena->newest;
    if (!block || block->size - block->used < bytes) {
        (void)add_block(arena, filled, bytes);
    }
#endif
}

void arena_fill(struct arena *arena, size_t bytes)
{
    const struct block *block = arena->newest;
    if (block && bytes <= block->size - block->used) {
        large_pages_fill(block->room + block->used, bytes);
    }
}

void *arena_take(struct arena *arena, size_t count, size_t size)
{
    if (size != 0 && count > (SIZE_MAX - 2 * (size_t)ALIGNMENT) / size) {
        return NULL;
    }
    const size_t bytes = count * size;
    const size_t need = arena_need(count, size);
    struct block *block = arena->newest;
    if (!block || block->size - block->used < need) {
        block = add_block(arena, bytes, need);
        if (!block) {
            return NULL;
        }
    }
    unsigned char *room = block->room + block->used;
    block->used += need;
    arena->taken += bytes;
    return room;
}

char *arena_text(struct arena *arena, const char *text)
{
    const size_t size = strlen(text) + 1;
    char *copy = arena_take(arena, size, 1);
    if (copy) {
        memcpy(copy, text, size);
    }
    return copy;
}

size_t arena_size(const struct arena *arena)
{
    return arena->taken;
}
