/* Outlet law: what an outlet says of itself beyond a plain open mouth: a nozzle or sprinkler that
 * is known by its flow, or a relief valve. */
#ifndef IO_DOOR_OUTLET_LAW_H
#define IO_DOOR_OUTLET_LAW_H

#include "io/door/draft.h"

extern const struct section outlet_law_section;

/* Claims that exclude one another, or miss a partner, are told. */
MUST_CHECK bool outlet_law_check(struct draft *draft, const char *subject, struct place place,
                                 const struct outlet_law *law);

/* Fills element and data of `link`, whose area is that of the mouth: true when the outlet has a
 * law of its own, false: it is a plain mouth, or wrong (told). */
bool outlet_law_make(struct draft *draft, const struct outlet *outlet, struct link *link);

#endif
