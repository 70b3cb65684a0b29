/* Ranks: the processes of one program on one or many machines, by the Message Passing Interface
 * (MPI 3.1), when a launcher such as mpirun started them and the build has MPI; else there is one.
 * Number 0 leads. Messages are small and their sending does not wait for the other side. */
#ifndef IO_RANKS_RANKS_H
#define IO_RANKS_RANKS_H

#include "models/failure.h"

#include <stddef.h>

/* The number of this process as its launcher says; 0 without a launcher. Needs no MPI. */
int ranks_launched(void);

/* Messages under way. */
struct outbox;

struct ranks {
    int mine;        /* from 0 */
    int count;       /* 1: alone; nothing else may be called then but ranks_end */
    int neighbours;  /* processes on this machine, with this one */
    bool is_started; /* MPI is to be ended */
    bool is_broken;  /* a process is lost: ending MPI would wait for it without end */
    struct outbox *outbox;
};

/* MPI is started only when a launcher started this process, for that takes a third of a second. An
 * error of one process does not end the others, as far as the MPI in use allows. */
MUST_CHECK bool ranks_start(struct ranks *ranks, struct failure *failure);

/* Waits until all have come to their ends; not when one is lost, for then it would be for ever: the
 * launcher then says that a process ended without ending MPI. */
void ranks_end(struct ranks *ranks);

/* Threads this process should work with: 0 (as many as there are) when a launcher gave it cores of
 * its own or OMP_NUM_THREADS is set, else its share of the machine. */
int ranks_workers(const struct ranks *ranks);

/* Copies `size` bytes, at most RANKS_MESSAGE_MAX, and sends them, without waiting for the other
 * side. A process that is gone does not hear them, which is no error here; nor does anybody when
 * memory ends, which then is a silence. */
enum { RANKS_MESSAGE_MAX = 1024 };
void ranks_send(const struct ranks *ranks, int to, int kind, size_t size, const void *bytes);

/* One message that has come, at most `size` bytes of it; false: none has. */
bool ranks_receive(const struct ranks *ranks, size_t size, void *bytes, int *from, int *kind);

#endif
