/* Faults sown on purpose: the watchers of memory (scripts/checks/watched) must refuse each of them,
 * although they happen in Criterion's child processes, where they do not reach the exit code. */
#include <criterion/criterion.h>
#include <limits.h>
#include <stdlib.h>

/* volatile: the compiler shall neither see nor remove the fault. */
static volatile int sink;
static int *volatile lost;

Test(seeded, none)
{
    int *room = calloc(4, sizeof *room);
    sink = room[3];
    free(room);
}

Test(seeded, overrun)
{
    volatile int past = 4;
    int *room = calloc(4, sizeof *room);
    sink = room[past];
    free(room);
}

Test(seeded, leak)
{
    lost = malloc(1000);
    lost = NULL;
}

Test(seeded, overflow)
{
    volatile int most = INT_MAX;
    sink = most + 1;
}

Test(seeded, unset)
{
    int *volatile room = malloc(4 * sizeof *room);
    if (room[2] == 7) {
        sink = 1;
    }
    free(room);
}
