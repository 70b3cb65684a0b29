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

static struct block *add_block(struct arena *arena, size_t need)
{
    size_t size = need;
#ifndef ARENA_ONE_BY_ONE
    if (size < arena->next_size) {
        size = arena->next_size;
    }
    if (arena->next_size < LARGEST_STEP) {
        arena->next_size *= 2;
    }
#endif
    struct block *block = calloc(1, sizeof *block);
    if (!block) {
        return NULL;
    }
    block->room = aligned_alloc(ALIGNMENT, size);
    if (!block->room) {
        free(block);
        return NULL;
    }
    block->size = size;
    block->next = arena->newest;
    arena->newest = block;
    return block;
}

void *arena_take(struct arena *arena, size_t count, size_t size)
{
    if (size != 0 && count > (SIZE_MAX - 2 * ALIGNMENT) / size) {
        return NULL;
    }
    const size_t bytes = count * size;
    size_t need = (bytes + ALIGNMENT - 1) / ALIGNMENT * ALIGNMENT;
    if (need == 0) {
        need = ALIGNMENT;
    }
    struct block *block = arena->newest;
    if (!block || block->size - block->used < need) {
        block = add_block(arena, need);
        if (!block) {
            return NULL;
        }
    }
    unsigned char *room = block->room + block->used;
    block->used += need;
    arena->taken += bytes;
    memset(room, 0, need);
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
