/* Sections water, energy, losses and limits of a case file. */
#ifndef IO_DOOR_READ_WATER_H
#define IO_DOOR_READ_WATER_H

#include "io/door/draft.h"

extern const struct section water_section;
extern const struct section energy_section;
extern const struct section losses_section;
extern const struct section limits_section;

/* Each takes the section's node, or NULL when the case has none; faults go to the list. */
void read_water(struct draft *draft, const struct tree *node);
void read_energy(struct draft *draft, const struct tree *node);
void read_losses(struct draft *draft, const struct tree *node);
void read_limits(struct draft *draft, const struct tree *node);

#endif
