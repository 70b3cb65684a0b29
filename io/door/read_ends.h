/* Sections tanks, points and outlets: where runs begin, meet and end. */
#ifndef IO_DOOR_READ_ENDS_H
#define IO_DOOR_READ_ENDS_H

#include "io/door/draft.h"

extern const struct section tank_section;
extern const struct section point_section;
extern const struct section outlet_section;

/* Each takes the section's node, or NULL; faults go to the list. */
void read_tanks(struct draft *draft, const struct tree *node);
void read_points(struct draft *draft, const struct tree *node);
void read_outlets(struct draft *draft, const struct tree *node);

/* After the runs: gives every outlet its link to the air, and leaves out points that no run joins
 * (told as doubts). */
void finish_ends(struct draft *draft);

/* Index of the outlet whose free point this is, or -1. */
int find_outlet(const struct draft *draft, int point);

#endif
