/* Interrupt: Ctrl-C (SIGINT) and SIGTERM held back while work is brought to a good end.
 * Held signals stay pending and are asked for; so no handler and no writable global is needed. */
#ifndef IO_TERMINAL_INTERRUPT_H
#define IO_TERMINAL_INTERRUPT_H

#include <signal.h>
#include <stdbool.h>

struct interrupt {
    sigset_t before; /* held back by others */
};

/* From here on the two are held back in this thread and those it starts. */
void interrupt_hold(struct interrupt *interrupt);

/* Whether one of them has come. */
bool interrupt_has_come(void);

/* As before; one that has come does now what it would have done then. */
void interrupt_let(const struct interrupt *interrupt);

/* As before; those that have come are forgotten. */
void interrupt_release(const struct interrupt *interrupt);

#endif
