/* Filling times: what changes with the clock: draws, timers and the tariff. */
#ifndef IO_DOOR_FILLING_TIMES_H
#define IO_DOOR_FILLING_TIMES_H

#include "io/door/draft.h"

extern const struct section filling_draw_section;
extern const struct section filling_timer_section;
extern const struct section filling_tariff_section;

/* Each takes its node of the section filling; NULL: none. */
void read_filling_draws(struct draft *draft, const struct tree *node);
void read_filling_timers(struct draft *draft, const struct tree *node);
void read_filling_tariff(struct draft *draft, const struct tree *node);

#endif
