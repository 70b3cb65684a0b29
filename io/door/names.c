#include "io/door/names.h"

#include <limits.h>
#include <stddef.h>
#include <string.h>

enum { FIRST_ROOM = 64, PAGE = 4096 };

void names_init(struct names *names, struct arena *arena, const void *owner, names_tell *tell)
{
    *names = (struct names){.arena = arena, .owner = owner, .tell = tell};
}

/* Of 0 to 8 letters; which ones tell which names apart is all that counts, not their order. */
static uint64_t gather(const unsigned char *at, size_t count)
{
    uint32_t low = 0;
    uint32_t high = 0;
    if (count >= sizeof low) {
        memcpy(&low, at, sizeof low);
        memcpy(&high, at + count - sizeof high, sizeof high);
    } else if (count > 0) {
        low = (uint32_t)at[0] | (uint32_t)at[count / 2] << 8;
        high = at[count - 1];
    }
    return (uint64_t)high << 32 | low;
}

static uint64_t mix(uint64_t value)
{
    value *= 0x9E3779B97F4A7C15ULL; /* 2^64 by the golden ratio: Knuth 1998, vol. 3, 6.4 */
    return value ^ value >> 32;
}

/* Of all letters but the last, which chooses among NEIGHBOURS slots in a row. */
struct name_key names_key(const char *name)
{
    enum { NEIGHBOURS = 16 };
    const unsigned char *at = (const unsigned char *)name;
    const size_t length = strlen(name);
    const unsigned last = length > 0 ? at[length - 1] : 0;
    size_t left = length > 0 ? length - 1 : 0;
    uint64_t value = mix(left + 1);
    for (; left > sizeof value; left -= sizeof value, at += sizeof value) {
        value = mix(value ^ gather(at, sizeof value));
    }
    value = mix(mix(value ^ gather(at, left)));
    return (struct name_key){.row = (value ^ value >> 29) * NEIGHBOURS + last % NEIGHBOURS,
                             .tag = (uint32_t)(value >> 32) ^ last};
}

void names_call(const struct names *names, struct name_key key)
{
    if (names->room > 0) {
        __builtin_prefetch(&names->slots[key.row & ((uint64_t)names->room - 1)], 1);
    }
}

/* The slot that holds the name, or the free one where it belongs. */
static struct name_slot *find_slot(const struct names *names, const char *name, struct name_key key)
{
    const uint64_t mask = (uint64_t)names->room - 1;
    uint64_t at = key.row & mask;
    while (names->slots[at].number > 0 &&
           (names->slots[at].tag != key.tag ||
            strcmp(names->tell(names->owner, names->slots[at].number - 1), name) != 0)) {
        at = (at + 1) & mask;
    }
    return &names->slots[at];
}

static void place_name(struct names *names, const char *name, int index)
{
    const struct name_key key = names_key(name);
    *find_slot(names, name, key) = (struct name_slot){key.tag, index + 1};
}

/* Writes to each page of a large index, which is read here and there first: the system would give
 * a page of noughts for the first look and another one for the first name. */
static void touch(struct name_slot slots[], int room)
{
    for (int i = 0; i < room; i += PAGE / (int)sizeof *slots) {
        slots[i].number = 0;
    }
}

static bool grow(struct names *names, int room)
{
    struct names larger = *names;
    larger.room = room;
    larger.slots = arena_take(names->arena, (size_t)larger.room, sizeof *larger.slots);
    if (!larger.slots) {
        return false;
    }
    touch(larger.slots, room);
    for (int i = 0; i < names->room; i++) {
        if (names->slots[i].number > 0) {
            const int index = names->slots[i].number - 1;
            place_name(&larger, names->tell(names->owner, index), index);
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
    return names_claim_by(names, name, names_key(name), index);
}

int names_claim_by(struct names *names, const char *name, struct name_key key, int index)
{
    if (2 * (names->count + 1) > names->room && !names_reserve(names, 1)) {
        return NAMES_NO_MEMORY;
    }
    struct name_slot *slot = find_slot(names, name, key);
    if (slot->number > 0) {
        return slot->number - 1;
    }
    *slot = (struct name_slot){key.tag, index + 1};
    names->count++;
    return NAMES_NEW;
}

int names_find(const struct names *names, const char *name)
{
    return names_find_by(names, name, names_key(name));
}

int names_find_by(const struct names *names, const char *name, struct name_key key)
{
    return names->room == 0 ? -1 : find_slot(names, name, key)->number - 1;
}
