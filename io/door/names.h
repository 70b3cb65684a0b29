/* Names: an index of names, so that large cases are read in linear time.
 * Open addressing, powers of two, at most half full. Names that differ in their last letter alone
 * lie side by side: large tables number their points and pipes, and neighbours stand in
 * neighbouring rows, so that most look-ups meet memory that is near already. The letters stay with
 * their owner, so that a slot is small. */
#ifndef IO_DOOR_NAMES_H
#define IO_DOOR_NAMES_H

#include "models/arena.h"

#include <stdbool.h>
#include <stdint.h>

enum { NAMES_NEW = -1, NAMES_NO_MEMORY = -2 };

struct name_slot {
    uint32_t tag; /* bits of the hash: without them alike, the letters are not looked at */
    int number;   /* index + 1; 0: free */
};

/* What a name is looked for by: two names with unlike keys are unlike. */
struct name_key {
    uint64_t row;
    uint32_t tag;
};

/* The name of the owner's thing `index`, as it was when it was added. */
typedef const char *names_tell(const void *owner, int index);

struct names {
    struct arena *arena; /* borrowed */
    const void *owner;   /* borrowed */
    names_tell *tell;
    int count;
    int room;
    struct name_slot *slots; /* [room] */
};

void names_init(struct names *names, struct arena *arena, const void *owner, names_tell *tell);

/* Room for this many more names; false: memory ended. */
bool names_reserve(struct names *names, int more);

/* Adds a name that is not in it yet; false: memory ended. The owner tells it before the next call.
 */
bool names_add(struct names *names, const char *name, int index);

/* Adds a name, unless it is in it: then the index that it has there, else NAMES_NEW (or
 * NAMES_NO_MEMORY). */
int names_claim(struct names *names, const char *name, int index);

/* Its index, or -1. */
int names_find(const struct names *names, const char *name);

/* The same in two halves, for who has many names at hand: the memory where one is looked for is
 * called with names_call and has come by the time it is found or claimed. */
struct name_key names_key(const char *name);
void names_call(const struct names *names, struct name_key key);
int names_find_by(const struct names *names, const char *name, struct name_key key);
int names_claim_by(struct names *names, const char *name, struct name_key key, int index);

#endif
