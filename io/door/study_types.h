/* Study types: "all" for the type of a non-return valve means every type of the catalogue that can
 * stand where it stands. */
#ifndef IO_DOOR_STUDY_TYPES_H
#define IO_DOOR_STUDY_TYPES_H

#include "io/door/case_path.h"
#include "io/door/study_values.h"

/* As read_study_values, of one entry of `vary` found at `path`. "all" for the type of a non-return
 * valve is read as a list: the type that stands there, then all others that are foot valves if it
 * is one and else not; where `vary` leaves the valve's size and mounting alone, only those made in
 * this size that may stand so. False: told. */
MUST_CHECK bool study_types_read(const struct reader *reader, const struct site *site,
                                 const struct tree *root, const struct tree *vary,
                                 const struct tree *values, const struct case_path *path,
                                 struct study_input *input, struct spread *spread);

#endif
