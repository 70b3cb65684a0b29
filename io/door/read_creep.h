/* Creep of a pipe's wall as a case states it. */
#ifndef IO_DOOR_READ_CREEP_H
#define IO_DOOR_READ_CREEP_H

#include "io/door/draft.h"
#include "models/wall.h"

extern const struct section creep_section;

/* Puts a copy of *material with this creep in its place. False: told. */
MUST_CHECK bool read_creep(struct draft *draft, const struct tree *node, const char *subject,
                           const struct wall **material);

/* Where walls are to creep: doubts about materials of whose creep nothing published was found, and
 * about creep at another temperature than it was found at. `place` of the section surge. */
void doubt_creep(struct draft *draft, struct place place);

#endif
