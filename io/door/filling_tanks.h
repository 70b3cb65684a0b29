/* Filling tanks: shapes, weather and overflow of the tanks, and where their mouths are. */
#ifndef IO_DOOR_FILLING_TANKS_H
#define IO_DOOR_FILLING_TANKS_H

#include "io/door/draft.h"

extern const struct section filling_tank_section;

/* Reads the map "tanks" of the section filling (NULL: none). */
void read_filling_tanks(struct draft *draft, const struct tree *node);

/* Notes the elevation of each mouth where a run meets a tank's water. */
void find_filling_mouths(struct draft *draft);

#endif
