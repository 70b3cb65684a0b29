#include "io/door/names.h"

#include <limits.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

enum { FIRST_ROOM = 64 };

void names_init(struct names *names, struct arena *arena)
{
    *names = (struct names){.arena = arena};
}

/* FNV-1a, 64 bit (Fowler, Noll & Vo 1991; constants of RFC draft-eastlake-fnv). */
static uint64_t hash(const char *name)
{
    uint64_t value = 14695981039346656037ULL;
    for (const unsigned char *c = (const unsigned char *)name; *c; c++) {
        value = (value ^ *c) * 1099511628211ULL;
    }
    return value ^ (value >> 32);
}

static void place_name(struct names *names, const char *name, int index)
{
    const uint64_t mask = (uint64_t)names->room - 1;
    uint64_t at = hash(name) & mask;
    while (names->slots[at].name) {
        at = (at + 1) & mask;
    }
    names->slots[at] = (struct name_slot){name, index};
}

static bool grow(struct names *names, int room)
{
    struct names larger = *names;
    larger.room = room;
    larger.slots = arena_take(names->arena, (size_t)larger.room, sizeof *larger.slots);
    if (!larger.slots) {
        return false;
    }
    for (int i = 0; i < names->room; i++) {
        if (names->slots[i].name) {
            place_name(&larger, names->slots[i].name, names->slots[i].index);
        }
    }
    *names = larger;
    return true;
}

bool names_reserve(struct names *names, int more)
{
    int room = names->room ? names->room : FIRST_ROOM;
    while (room / 2 < names->count + more) {
        if (room > INT_MAX / 2) {
            return false;
        }
        room *= 2;
    }
    return room == names->room || grow(names, room);
}

bool names_add(struct names *names, const char *name, int index)
{
    if (2 * (names->count + 1) > names->room && !names_reserve(names, 1)) {
        return false;
    }
    place_name(names, name, index);
    names->count++;
    return true;
}

int names_find(const struct names *names, const char *name)
{
    if (names->room == 0) {
        return -1;
    }
    const uint64_t mask = (uint64_t)names->room - 1;
    for (uint64_t at = hash(name) & mask; names->slots[at].name; at = (at + 1) & mask) {
        if (strcmp(names->slots[at].name, name) == 0) {
            return names->slots[at].index;
        }
    }
    return -1;
}
