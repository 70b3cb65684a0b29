/* Tree: a YAML text as nodes with their places, in an arena.
 * Hostile texts are refused by limits on size, depth and number of nodes; anchors, aliases and tags
 * are not taken, so a small text stays a small tree. Keys are unique in their map. */
#ifndef IO_DOOR_TREE_H
#define IO_DOOR_TREE_H

#include "io/door/faults.h"
#include "models/arena.h"

#include <stddef.h>

#ifndef TREE_TIMES
#define TREE_TIMES 1 /* more in a measurement of what longer cases would cost */
#endif

enum {
    TREE_DEEPEST = 16,
    TREE_NODES_MOST = TREE_TIMES * 400000,
    TREE_SIZE_MOST = TREE_TIMES * 16 * 1024 * 1024
};

enum tree_kind { TREE_TEXT, TREE_LIST, TREE_MAP };

struct tree {
    enum tree_kind kind;
    struct place place;
    const char *text; /* of a TREE_TEXT, UTF-8; "" for nothing at all */
    const char *key;  /* its key, when it stands in a map; else NULL */
    struct place key_place;
    int count;          /* children */
    struct tree *first; /* child */
    struct tree *next;  /* sibling, in the order of the file */
};

/* Reads a YAML text whose root is a map. NULL when there were errors (all in `faults`). `file` is
 * borrowed by the places. */
struct tree *tree_read(const char *file, const char *text, size_t size, struct arena *arena,
                       struct faults *faults);

/* Child of this key, or NULL. */
const struct tree *tree_find(const struct tree *map, const char *key);

/* "a map", "a list", "a text". */
const char *tree_kind_name(enum tree_kind kind);

#endif
