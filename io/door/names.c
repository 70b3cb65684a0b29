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

/* Where a name is looked for first, and what else is known of it without its letters. */
struct key {
    uint64_t at;
    uint32_t tag;
};

/* FNV-1a, 64 bit (Fowler, Noll & Vo 1991; constants of RFC draft-eastlake-fnv), of all letters but
 * the last, which chooses among NEIGHBOURS slots in a row. */
static struct key find_key(const struct names *names, const char *name)
{
    enum { NEIGHBOURS = 16 };
    uint64_t value = 14695981039346656037ULL;
    const unsigned char *c = (const unsigned char *)name;
    unsigned char last = *c;
    for (; last && c[1]; c++) {
        value = (value ^ last) * 1099511628211ULL;
        last = c[1];
    }
    value ^= value >> 32;
    value *= 0x9E3779B97F4A7C15ULL; /* the high bits, which the tag is of, need their share */
    const uint64_t row = (value ^ (value >> 29)) * NEIGHBOURS + last % NEIGHBOURS;
    return (struct key){.at = row & ((uint64_t)names->room - 1),
                        .tag = (uint32_t)(value >> 32) ^ last};
}

/* The slot that holds the name, or the free one where it belongs. */
static struct name_slot *find_slot(const struct names *names, const char *name, uint32_t *tag)
{
    const uint64_t mask = (uint64_t)names->room - 1;
    const struct key key = find_key(names, name);
    uint64_t at = key.at;
    *tag = key.tag;
    while (names->slots[at].name &&
           (names->slots[at].tag != key.tag || strcmp(names->slots[at].name, name) != 0)) {
        at = (at + 1) & mask;
    }
    return &names->slots[at];
}

static void place_name(struct names *names, const char *name, int index)
{
    uint32_t tag;
    struct name_slot *slot = find_slot(names, name, &tag);
    *slot = (struct name_slot){name, index, tag};
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

int names_claim(struct names *names, const char *name, int index)
{
    if (2 * (names->count + 1) > names->room && !names_reserve(names, 1)) {
        return NAMES_NO_MEMORY;
    }
    uint32_t tag;
    struct name_slot *slot = find_slot(names, name, &tag);
    if (slot->name) {
        return slot->index;
    }
    *slot = (struct name_slot){name, index, tag};
    names->count++;
    return NAMES_NEW;
}

int names_find(const struct names *names, const char *name)
{
    if (names->room == 0) {
        return -1;
    }
    uint32_t tag;
    const struct name_slot *slot = find_slot(names, name, &tag);
    return slot->name ? slot->index : -1;
}
