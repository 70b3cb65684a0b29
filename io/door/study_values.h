/* Study values: what one input of a study may be, as people write it.
 *   [spring cone, ball]   4 11 24 degC   4 .. 24 degC   {from: 4 degC, to: 24 degC}
 *   {mean: 11 degC, deviation: 3 degC, from: 4 degC, to: 20 degC} */
#ifndef IO_DOOR_STUDY_VALUES_H
#define IO_DOOR_STUDY_VALUES_H

#include "io/door/keys.h"
#include "solver/study/study.h"

extern const struct section study_spread_section;

/* Fills the input's unit, labels and numbers, and its spread. False: told. */
MUST_CHECK bool read_study_values(const struct reader *reader, const struct tree *node,
                                  struct study_input *input, struct spread *spread);

#endif
