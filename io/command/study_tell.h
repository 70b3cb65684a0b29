/* Study tell: what a study found, in words and tables for people. */
#ifndef IO_COMMAND_STUDY_TELL_H
#define IO_COMMAND_STUDY_TELL_H

#include "io/command/study_keep.h"
#include "io/terminal/terminal.h"

MUST_CHECK bool study_tell(const struct study_keep *keep, const struct terminal *terminal,
                           struct failure *failure);

#endif
