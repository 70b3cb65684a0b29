/* Point law: what a point says of itself beyond its draw: a draw that falls with the pressure, a
 * standpipe, an air vessel or an air valve on it. Its links are made when all runs are known. */
#ifndef IO_DOOR_POINT_LAW_H
#define IO_DOOR_POINT_LAW_H

#include "io/door/draft.h"

extern const struct section point_law_section;

/* Keeps the law of a point, whose index is in it, when it has one. False: it is wrong (told). */
MUST_CHECK bool point_law_keep(struct draft *draft, struct point_law *law);

/* Makes the links of all kept laws. */
void point_laws_finish(struct draft *draft);

#endif
