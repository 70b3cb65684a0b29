/* Progress: one line on a watched terminal that tells how far long work has come.
 * Silent during the first second, when nobody watches, and when asked to be quiet. */
#ifndef IO_TERMINAL_PROGRESS_H
#define IO_TERMINAL_PROGRESS_H

#include "io/terminal/terminal.h"

struct progress {
    const struct terminal *terminal; /* borrowed */
    const char *work;                /* "surge"; borrowed */
    bool is_quiet;
    bool is_shown;
    double start; /* s */
    double last;  /* s, when last written */
};

void progress_start(struct progress *progress, const struct terminal *terminal, const char *work,
                    bool is_quiet);

/* Tells the share done, 0 to 1; cheap to call often. The shape of a solver's callback: `user` is
 * the struct progress; always true. */
bool progress_tell(void *user, double share_done);

/* Wipes the line. */
void progress_end(struct progress *progress);

#endif
