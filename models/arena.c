/* A chain of blocks; each block serves requests from its low end upward. Invariant: `used` of a
 * block is a multiple of ALIGNMENT and never above `size`. With ARENA_ONE_BY_ONE defined every
 * request gets a block of its own, so that a memory checker sees each overrun. */
#include "models/arena.h"

#include <stdint.h>
#include <stdlib.h>
#include <string.h>

enum { ALIGNMENT = 64, FIRST_BLOCK = 16 * 1024, LARGEST_STEP = 4 * 1024 * 1024 };

struct block {
    struct block *next;
    size_t size; /* bytes of room */
    size_t used; /* bytes given out */
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
        free(block->room);
        free(block);
        block = next;
    }
    free(arena);
}

/* Room aligned for `need` bytes or more; *size becomes how many. */
static void *take_room(struct arena *arena, size_t bytes, size_t need, size_t *size)
{
#ifdef ARENA_ONE_BY_ONE
    (void)arena;
    void *room = NULL;
    *size = need;
    /* Exactly what was asked for, not a byte of padding: aligned_alloc wants whole multiples. */
    return posix_memalign(&room, ALIGNMENT, bytes > 0 ? bytes : 1) == 0 ? room : NULL;
#else
    (void)bytes;
    *size = need > arena->next_size ? need : arena->next_size;
    if (arena->next_size < LARGEST_STEP) {
        arena->next_size *= 2;
    }
    return aligned_alloc(ALIGNMENT, *size);
#endif
}

static struct block *add_block(struct arena *arena, size_t bytes, size_t need)
{
    struct block *block = calloc(1, sizeof *block);
    if (!block) {
        return NULL;
    }
    block->room = take_room(arena, bytes, need, &block->size);
    if (!block->room) {
        free(block);
        return NULL;
    }
    block->next = arena->newest;
    arena->newest = block;
    return block;
}

void *arena_take(struct arena *arena, size_t count, size_t size)
{
    if (size != 0 && count > (SIZE_MAX - ALIGNMENT) / size) {
        return NULL;
    }
    const size_t bytes = count * size;
    size_t need = (bytes + ALIGNMENT - 1) / ALIGNMENT * ALIGNMENT;
    if (need == 0) {
        need = ALIGNMENT;
    }
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
    memset(room, 0, bytes);
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
