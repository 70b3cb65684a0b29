/* Study ranks: a study under a launcher of several processes. The first tells, keeps and writes;
 * the others help it and say nothing. */
#ifndef IO_COMMAND_STUDY_RANKS_H
#define IO_COMMAND_STUDY_RANKS_H

#include "io/command/study_keep.h"
#include "io/command/work.h"
#include "io/ranks/team.h"

/* Runs `lead` on the case in the first process and helps it in every other one. */
enum exit_code study_on_ranks(const struct request *request,
                              enum exit_code (*lead)(struct work *work, struct ranks *ranks));

/* The sweep of these variants. */
struct sweep study_sweep(struct variants *variants);

/* Lets `sweep`, whose rows go to `keep`, share its variants with the helpers, if there are any.
 * False: memory ended. */
MUST_CHECK bool study_share(struct ranks *ranks, struct study_keep *keep, struct sweep *sweep,
                            struct failure *failure);

#endif
