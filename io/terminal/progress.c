#include "io/terminal/progress.h"

#include <time.h>

static double now_seconds(void)
{
    struct timespec now = {0};
    (void)clock_gettime(CLOCK_MONOTONIC, &now);
    return (double)now.tv_sec + 1e-9 * (double)now.tv_nsec;
}

void progress_start(struct progress *progress, const struct terminal *terminal, const char *work,
                    bool is_quiet)
{
    progress->terminal = terminal;
    progress->work = work;
    progress->is_quiet = is_quiet || !terminal->messages_are_watched;
    progress->is_shown = false;
    progress->start = now_seconds();
    progress->last = progress->start;
}

bool progress_tell(void *user, double share_done)
{
    static const double patience = 1.0;      /* s, before the line appears */
    static const double interval = 0.2;      /* s, between two writings */
    static const double least_share = 0.005; /* before that nothing can be said of the rest */
    struct progress *progress = user;
    if (progress->is_quiet) {
        return true;
    }
    double now = now_seconds();
    if (now - progress->start < patience || now - progress->last < interval) {
        return true;
    }
    progress->last = now;
    progress->is_shown = true;
    (void)fprintf(progress->terminal->messages, "\r%s: %3.0f %%, %.0f s", progress->work,
                  100.0 * share_done, now - progress->start);
    if (share_done > least_share) {
        (void)fprintf(progress->terminal->messages, ", about %.0f s to go   ",
                      (now - progress->start) * (1.0 - share_done) / share_done);
    }
    (void)fflush(progress->terminal->messages);
    return true;
}

void progress_end(struct progress *progress)
{
    if (progress->is_shown) {
        /* ECMA-48 Erase in Line: the cursor's line from the cursor on. */
        (void)fputs("\r\033[K", progress->terminal->messages);
        (void)fflush(progress->terminal->messages);
        progress->is_shown = false;
    }
}
