#include "io/terminal/interrupt.h"

#include <stddef.h>
#include <time.h>

/* The two, but for one that whoever started us has us ignore (a shell in the background): held back
 * it would be pending all the same. */
static void fill(sigset_t *set)
{
    static const int signals[] = {SIGINT, SIGTERM};
    struct sigaction action;
    (void)sigemptyset(set);
    for (int i = 0; i < 2; i++) {
        if (sigaction(signals[i], NULL, &action) == 0 && action.sa_handler != SIG_IGN) {
            (void)sigaddset(set, signals[i]);
        }
    }
}

void interrupt_hold(struct interrupt *interrupt)
{
    sigset_t both;
    fill(&both);
    (void)pthread_sigmask(SIG_BLOCK, &both, &interrupt->before);
}

bool interrupt_has_come(void)
{
    sigset_t both;
    sigset_t pending;
    fill(&both);
    return sigpending(&pending) == 0 &&
           ((sigismember(&both, SIGINT) == 1 && sigismember(&pending, SIGINT) == 1) ||
            (sigismember(&both, SIGTERM) == 1 && sigismember(&pending, SIGTERM) == 1));
}

void interrupt_let(const struct interrupt *interrupt)
{
    (void)pthread_sigmask(SIG_SETMASK, &interrupt->before, NULL);
}

void interrupt_release(const struct interrupt *interrupt)
{
    const struct timespec at_once = {0, 0};
    sigset_t both;
    fill(&both);
    while (sigtimedwait(&both, NULL, &at_once) > 0) {
        /* forgotten */
    }
    (void)pthread_sigmask(SIG_SETMASK, &interrupt->before, NULL);
}
