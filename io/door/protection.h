/* Protection: an air vessel or an air valve that a point says stands on it. */
#ifndef IO_DOOR_PROTECTION_H
#define IO_DOOR_PROTECTION_H

#include "io/door/draft.h"

extern const struct section air_vessel_section;
extern const struct section air_valve_section;

/* Reads the maps of a point's law, if it has any, and keeps what they say in it. False: told. */
MUST_CHECK bool protection_read(struct draft *draft, struct point_law *law);

/* Fill element, data and area of the link from the point to its vessel or valve, and the head held
 * at the far end. `link->area` comes in as the bore area beside the point. False: told. */
MUST_CHECK bool protection_make_vessel(struct draft *draft, const struct point_law *law,
                                       struct link *link, double *held_head);
MUST_CHECK bool protection_make_air_valve(struct draft *draft, const struct point_law *law,
                                          struct link *link, double *held_head);

#endif
