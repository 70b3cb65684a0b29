/* Case path: one value of a case found by the names that lead to it, so that it can be changed.
 *
 * "delivery.type", "lift-1.speed", "main/pipe-1.wave speed": a part by its name, then its key;
 * "type" is the word that stands behind what the part is (non-return: ..., pipe: ...).
 * "spring.level", "lift.inertia": a tank, point, outlet, pump or type by its name, then its key.
 * "water.temperature", "surge.events.1.at": a section, then what leads down; lists count from 1.
 */
#ifndef IO_DOOR_CASE_PATH_H
#define IO_DOOR_CASE_PATH_H

#include "io/door/draft.h"
#include "io/door/tree.h"
#include "models/site.h"

enum { CASE_PATH_LONGEST = 200 };

/* Where a value stands, or would stand when the case says it. */
struct case_path {
    struct tree *map; /* that holds it */
    const char *key;
    struct tree *node; /* in the map; NULL: not said in the case */
};

/* Finds `path`; its words go to `arena`. False: told in `faults` at `place` with the nearest name.
 * `site` is the case read from `root`. Whether the map may have such a key is not looked at: its
 * reader tells. `draft`: of a case that is wrong, whose lost names (io/door/lost.h) are not told;
 * else NULL. */
MUST_CHECK bool case_path_find(struct tree *root, const struct site *site, const char *path,
                               struct place place, struct arena *arena, struct draft *draft,
                               struct case_path *found, struct faults *faults);

/* Room for one change that can be taken back. */
struct case_change {
    struct tree *map;
    struct tree *last; /* the map's last child before; NULL: none */
    struct tree *node;
    struct tree before; /* what `node` was */
    struct tree added;
};

/* Puts `text` (borrowed) there until case_change_undo; changes are undone in the reverse order. */
void case_change_make(const struct case_path *path, const char *text, struct case_change *change);

/* Has what is told of the value, or of its key where that was added, told at `place`. */
void case_change_stand(struct case_change *change, struct place place);
void case_change_undo(struct case_change *change);

#endif
