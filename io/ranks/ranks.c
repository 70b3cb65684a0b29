#include "io/ranks/ranks.h"

#include "solver/workers.h"

#include <assert.h>
#include <stdlib.h>
#include <unistd.h>

/* How launchers tell a process its number: Open MPI; MPICH and those like it; PMIx. */
static const char *find_number(void)
{
    static const char *const names[] = {"OMPI_COMM_WORLD_RANK", "PMI_RANK", "PMIX_RANK"};
    const char *text = NULL;
    for (size_t i = 0; i < sizeof names / sizeof *names && !text; i++) {
        text = getenv(names[i]);
    }
    return text;
}

int ranks_launched(void)
{
    const char *text = find_number();
    const long number = text ? strtol(text, NULL, 10) : 0;
    return number > 0 && number < 1 << 30 ? (int)number : 0;
}

int ranks_workers(const struct ranks *ranks)
{
    const long cores = sysconf(_SC_NPROCESSORS_ONLN);
    if (ranks->neighbours < 2 || getenv("OMP_NUM_THREADS") || workers_count() < cores) {
        return 0;
    }
    return cores > ranks->neighbours ? (int)(cores / ranks->neighbours) : 1;
}

#ifdef DOWNSURGE_MPI

#include <mpi.h>
#include <string.h>

/* MPI_Send may wait for the other side, and for ever when that is gone. */
struct outbox {
    struct outbox *next;
    MPI_Request request;
    char bytes[RANKS_MESSAGE_MAX];
};

static bool fail_start(const char *what, struct failure *failure)
{
    return fail(failure, FAILURE_FILE, (struct place){0},
                "%s; start it without the launcher, and one process does all", what);
}

bool ranks_start(struct ranks *ranks, struct failure *failure)
{
    int level = MPI_THREAD_SINGLE;
    MPI_Comm here = MPI_COMM_NULL;
    *ranks = (struct ranks){.count = 1, .neighbours = 1};
    if (!find_number()) {
        return true;
    }
    if (MPI_Init_thread(NULL, NULL, MPI_THREAD_SERIALIZED, &level) != MPI_SUCCESS) {
        return fail_start("MPI could not be started", failure);
    }
    ranks->is_started = true;
    ranks->outbox = calloc(1, sizeof *ranks->outbox); /* the head of the list */
    if (!ranks->outbox) {
        return fail_memory(failure, "the processes of the study");
    }
    (void)MPI_Comm_set_errhandler(MPI_COMM_WORLD, MPI_ERRORS_RETURN);
    (void)MPI_Comm_rank(MPI_COMM_WORLD, &ranks->mine);
    (void)MPI_Comm_size(MPI_COMM_WORLD, &ranks->count);
    if (MPI_Comm_split_type(MPI_COMM_WORLD, MPI_COMM_TYPE_SHARED, 0, MPI_INFO_NULL, &here) ==
        MPI_SUCCESS) {
        (void)MPI_Comm_size(here, &ranks->neighbours);
        (void)MPI_Comm_free(&here);
    }
    return level >= MPI_THREAD_SERIALIZED ||
           fail_start("this MPI does not let threads take turns", failure);
}

void ranks_end(struct ranks *ranks)
{
    if (!ranks->is_started || ranks->is_broken || !ranks->outbox) {
        return; /* what is under way to one that is lost never ends */
    }
    while (ranks->outbox->next) {
        struct outbox *sent = ranks->outbox->next;
        ranks->outbox->next = sent->next;
        (void)MPI_Wait(&sent->request, MPI_STATUS_IGNORE);
        free(sent);
    }
    free(ranks->outbox);
    ranks->is_started = false;
    (void)MPI_Finalize();
}

static void clear_sent(struct outbox *outbox)
{
    struct outbox *before = outbox;
    while (before->next) {
        struct outbox *sent = before->next;
        int is_over = 0;
        if (MPI_Test(&sent->request, &is_over, MPI_STATUS_IGNORE) == MPI_SUCCESS && !is_over) {
            before = sent;
        } else {
            before->next = sent->next;
            free(sent);
        }
    }
}

void ranks_send(const struct ranks *ranks, int to, int kind, size_t size, const void *bytes)
{
    struct outbox *sent = NULL;
    clear_sent(ranks->outbox);
    assert(size <= sizeof sent->bytes);
    sent = malloc(sizeof *sent);
    if (!sent) {
        return;
    }
    if (size > 0) {
        memcpy(sent->bytes, bytes, size);
    }
    if (MPI_Isend(sent->bytes, (int)size, MPI_BYTE, to, kind, MPI_COMM_WORLD, &sent->request) !=
        MPI_SUCCESS) {
        free(sent);
        return;
    }
    sent->next = ranks->outbox->next;
    ranks->outbox->next = sent;
}

bool ranks_receive(const struct ranks *ranks, size_t size, void *bytes, int *from, int *kind)
{
    int has_come = 0;
    MPI_Status status;
    (void)ranks;
    if (MPI_Iprobe(MPI_ANY_SOURCE, MPI_ANY_TAG, MPI_COMM_WORLD, &has_come, &status) !=
            MPI_SUCCESS ||
        !has_come) {
        return false;
    }
    *from = status.MPI_SOURCE;
    *kind = status.MPI_TAG;
    return MPI_Recv(bytes, (int)size, MPI_BYTE, *from, *kind, MPI_COMM_WORLD, MPI_STATUS_IGNORE) ==
           MPI_SUCCESS;
}

#else

bool ranks_start(struct ranks *ranks, struct failure *failure)
{
    (void)failure;
    *ranks = (struct ranks){.count = 1, .neighbours = 1};
    return true;
}

void ranks_end(struct ranks *ranks)
{
    ranks->is_started = false;
}

void ranks_send(const struct ranks *ranks, int to, int kind, size_t size, const void *bytes)
{
    (void)ranks, (void)to, (void)kind, (void)size, (void)bytes;
}

bool ranks_receive(const struct ranks *ranks, size_t size, void *bytes, int *from, int *kind)
{
    (void)ranks, (void)size, (void)bytes, (void)from, (void)kind;
    return false;
}

#endif
