/* Names: an index of names, so that large cases are read in linear time.
 * Open addressing, powers of two, at most half full. */
#ifndef IO_DOOR_NAMES_H
#define IO_DOOR_NAMES_H

#include "models/arena.h"

#include <stdbool.h>

struct name_slot {
    const char *name; /* borrowed; NULL: free */
    int index;
};

struct names {
    struct arena *arena; /* borrowed */
    int count;
    int room;
    struct name_slot *slots; /* [room] */
};

void names_init(struct names *names, struct arena *arena);

/* Room for this many more names; false: memory ended. */
bool names_reserve(struct names *names, int more);

/* Adds a name that is not in it yet; false: memory ended. */
bool names_add(struct names *names, const char *name, int index);

/* Its index, or -1. */
int names_find(const struct names *names, const char *name);

#endif
