/* Enclosed: points without a pipe between parts that are all shut, as between two non-return valves
 * side by side.
 *
 * Water does not give way in a group, so no law tells the head of such points: any is an answer
 * that leaves all those parts shut. Ours: they keep what they had when they were shut in, as stiff
 * water between tight seats does, and move only as far as the heads outside press through a seat
 * (opening a part just far enough, or against the head at which the water boils) and no further
 * than a coupled law holds, such as that of a regulator which a lower head would open. Within the
 * points that open parts join, heads stand to one another as their laws say.
 *
 * Whether a part lets a trace of flow pass must not hang on round-off: flows that are no more than
 * what a group's solution leaves, or has missed its laws by, count as none there. */
#ifndef SOLVER_SURGE_ENCLOSED_H
#define SOLVER_SURGE_ENCLOSED_H

#include "solver/surge/group_coupled.h"

/* Scratch for the largest group; n points, l links. */
struct enclosed_work {
    int *parent;       /* [n] towards the point that stands for all that open parts join */
    bool *is_known;    /* [n] that one: a pipe or a held head tells its head */
    signed char *shut; /* [l] enum enclosed_shut */
    double missed;     /* m, by which the group's solution missed its laws */
};

MUST_CHECK bool enclosed_work_init(struct enclosed_work *work, int point_count, int link_count,
                                   struct arena *arena, struct failure *failure);

/* Whether a group has points without a pipe that no parts which never shut join to a pipe or a held
 * head, and thus may enclose some. */
bool enclosed_can_be(const struct group *group, const struct ends *ends,
                     struct enclosed_work *work);

/* After group_solve or group_coupled_solve (`law` [law_count] at the answer, else NULL), which
 * `missed` its laws by so many m: brings heads of enclosed points to where they are kept, `before`
 * [network point_count] being those before the step; the parts around them are at rest. Notes such
 * points in `is_enclosed` [network point_count]; others are left alone there. */
void enclosed_settle(const struct group *group, const struct group_place *place,
                     const struct coupled_law law[], double missed, const double before[],
                     struct enclosed_work *work, bool is_enclosed[]);

#endif
