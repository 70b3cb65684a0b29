/* Shared suction: a run with a foot valve or a strainer that leads to several pumps, each of them
 * in a run of its own. */
#ifndef IO_DOOR_SHARED_SUCTION_H
#define IO_DOOR_SHARED_SUCTION_H

#include "io/door/draft.h"

/* For each run with a pump the run before it (struct run, before), and for each pump the tank it
 * draws from. After all runs are read, before tees part their ends. */
void shared_suction_find(struct draft *draft);

#endif
