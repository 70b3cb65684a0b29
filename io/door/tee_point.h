/* Tee point: a point where three runs meet in a tee, whose losses hang on how the flow divides. */
#ifndef IO_DOOR_TEE_POINT_H
#define IO_DOOR_TEE_POINT_H

#include "io/door/draft.h"

extern const struct section tee_section;

/* Puts a tee in place of a point: the point becomes its middle, each run gets an end of its own.
 * What is wrong is told. */
void tee_point_make(struct draft *draft, int point, const struct tree *node);

#endif
