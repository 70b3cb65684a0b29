#include "io/terminal/interrupt.h"

#include <stddef.h>
#include <time.h>

static void fill(sigset_t *set)
{
    (void)sigemptyset(set);
    (void)sigaddset(set, SIGINT);
    (void)sigaddset(set, SIGTERM);
}

void interrupt_hold(struct interrupt *interrupt)
{
    sigset_t both;
    fill(&both);
    (void)pthread_sigmask(SIG_BLOCK, &both, &interrupt->before);
}

bool interrupt_has_come(void)
{
    sigset_t pending;
    return sigpending(&pending) == 0 &&
           (sigismember(&pending, SIGINT) == 1 || sigismember(&pending, SIGTERM) == 1);
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
