/* Section filling: the site's hours and days: tanks' shapes and weather, float switches, draws over
 * the day, timers, tariff. */
#ifndef IO_DOOR_READ_FILLING_H
#define IO_DOOR_READ_FILLING_H

#include "io/door/draft.h"

/* Takes the section's node, or NULL: pumps and mouths are noted all the same. The network must be
 * complete. Faults go to the list. */
void read_filling(struct draft *draft, const struct tree *node);

/* Adds its sections. */
void add_filling_sections(struct sections *sections);

#endif
