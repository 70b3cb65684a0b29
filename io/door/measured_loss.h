/* A valve's measured losses, flow against head lost, turned into the two numbers of its law. */
#ifndef IO_DOOR_MEASURED_LOSS_H
#define IO_DOOR_MEASURED_LOSS_H

#include "io/door/read_types.h"

/* Where `numbers` holds measured flows and losses, fits opening head and full-open loss to them
 * (h = opening head + K v^2/2g, the opening head paid on, as makers' tables of sprung valves show;
 * least squares of the relative error) and writes them into `numbers`; tells the fit and its worst
 * row as an assumption. False: told at `place`. */
MUST_CHECK bool fit_measured_loss(struct draft *draft, const struct non_return *valve,
                                  struct place place, struct valve_numbers *numbers);

#endif
