#include "io/door/names.h"

#include <limits.h>
#include <stddef.h>
#include <string.h>

enum { FIRST_ROOM = 64, PAGE = 4096 };

void names_init(struct names *names, struct arena *arena, const void *owner, names_tell *tell)
{
    *names = (struct names){.arena = arena, .owner = owner, .tell = tell};
}

/* Where a name is looked for first, and what else is known of it without its letters. */
struct key {
    uint64_t at;
    uint32_t tag;
};

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
static struct key find_key(const struct names *names, const char *name)
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
    const uint64_t row = (value ^ value >> 29) * NEIGHBOURS + last % NEIGHBOURS;
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
    while (names->slots[at].number > 0 &&
           (names->slots[at].tag != key.tag ||
            strcmp(names->tell(names->owner, names->slots[at].number - 1), name) != 0)) {
        at = (at + 1) & mask;
    }
    return &names->slots[at];
}

static void place_name(struct names *names, const char *name, int index)
{
    uint32_t tag;
    struct name_slot *slot = find_slot(names, name, &tag);
    *slot = (struct name_slot){tag, index + 1};
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
    if (2 * (names->count + 1) > names->room && !names_reserve(names, 1)) {
        return NAMES_NO_MEMORY;
    }
    uint32_t tag;
    struct name_slot *slot = find_slot(names, name, &tag);
    if (slot->number > 0) {
        return slot->number - 1;
    }
    *slot = (struct name_slot){tag, index + 1};
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
    return slot->number - 1;
}
