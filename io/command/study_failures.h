/* Study failures: `downsurge study CASE --failures`. */
#ifndef IO_COMMAND_STUDY_FAILURES_H
#define IO_COMMAND_STUDY_FAILURES_H

#include "io/command/work.h"

enum exit_code study_failures(struct work *work);

#endif
