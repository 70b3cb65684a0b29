/* How fast the water inside pipes is stepped, as a share of what the same process reaches in a
 * plain triad loop over as many numbers in as many arrays (a[i] = b[i] + s c[i], McCalpin's
 * STREAM). Prints a table; no test, since it judges the machine too. */
#include "models/pipe.h"
#include "solver/surge/kernel.h"
#include "solver/surge/memory.h"

#include <stdio.h>
#include <stdlib.h>
#include <time.h>

enum { TRIALS = 3 };

/* Processor time, so that other work on the machine counts less. */
static double now(void)
{
    struct timespec time;
    clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &time);
    return (double)time.tv_sec + 1e-9 * (double)time.tv_nsec;
}

/* Triads a second over arrays of `count`; best of some trials. */
static double triad_rate(int count, int rounds)
{
    double *a = aligned_alloc(64, sizeof(double) * (size_t)count);
    double *b = aligned_alloc(64, sizeof(double) * (size_t)count);
    double *c = aligned_alloc(64, sizeof(double) * (size_t)count);
    double best = 0.0;
    for (int i = 0; i < count; i++) {
        b[i] = i;
        c[i] = 1.0;
    }
    for (int trial = 0; trial < TRIALS; trial++) {
        double start = now();
        for (int round = 0; round < rounds; round++) {
            double scale = 1.0 + round;
            for (int i = 0; i < count; i++) {
                a[i] = b[i] + scale * c[i];
            }
            __asm__ volatile("" : : "r"(a) : "memory");
        }
        double rate = (double)count * rounds / (now() - start);
        best = rate > best ? rate : best;
    }
    free(a);
    free(b);
    free(c);
    return best;
}

enum kind { PLAIN, QUADRATIC, TABLE, UNSTEADY, CREEPING };
static const char *const kinds[] = {"no friction", "quadratic", "by table", "unsteady", "creeping"};

static struct pipe pipe = {
    .friction = {.length = 1000.0, .bore = 0.1, .roughness = 1e-5},
    .wall = 0.006,
};
static const struct water water = {
    .gravity = 9.81, .viscosity = 1e-6, .density = 1000.0, .bulk_modulus = 2.19e9};

static void make(struct kernel *kernel, enum kind kind, int nodes, struct arena *arena)
{
    struct failure failure;
    int reaches = nodes - 1;
    double area = pipe_area(&pipe);
    double impedance = 400.0 / (9.81 * area);
    pipe.friction.factor = kind == QUADRATIC ? 0.02 : 0.0;
    pipe.material = wall_find("pe100");
    bool is_made = kernel_init(kernel, 1, &reaches, arena, &failure);
    kernel->pipes[0].impedance = impedance;
    kernel->step = 2.5 / reaches;
    struct memory_wishes wishes = {kind == UNSTEADY, kind == CREEPING, &pipe,
                                   &water,           reaches,          400.0,
                                   1.0 * area,       kernel->step};
    is_made = is_made && memory_new(&kernel->pipes[0].memory, &wishes, arena, &failure);
    struct loss_law law = {
        &pipe_element, &pipe,     &water, reaches, memory_impedance(&kernel->pipes[0]),
        area,          1.0 * area};
    is_made =
        is_made && (kind == PLAIN || loss_init(&kernel->pipes[0].loss, &law, arena, &failure));
    double *vapour = arena_take(arena, (size_t)nodes, sizeof *vapour);
    if (!is_made || vapour == NULL) {
        exit(1);
    }
    for (int i = 0; i < nodes; i++) {
        vapour[i] = -500.0;
    }
    kernel_set_vapour(kernel, 0, vapour);
    kernel_start(kernel, 0, 100.0, area);
}

/* Node-steps a second. */
static double kernel_rate(enum kind kind, int nodes, int rounds)
{
    struct arena *arena = arena_new();
    struct kernel kernel;
    double best = 0.0;
    make(&kernel, kind, nodes, arena);
    for (int trial = 0; trial < TRIALS; trial++) {
        double start = now();
        for (int round = 0; round < rounds; round++) {
            kernel_step(&kernel);
            kernel_enter(&kernel, 0, KERNEL_START, 100.0 + (round & 63));
            kernel_enter(&kernel, 0, KERNEL_END, 95.0);
        }
        double rate = (double)nodes * rounds / (now() - start);
        best = rate > best ? rate : best;
    }
    arena_free(arena);
    return best;
}

int main(void)
{
    static const int nodes[] = {1000, 20000, 2000000};
    static const char *const places[] = {"nearest cache", "second cache", "memory"};
    printf("%-14s %-12s %12s %12s %8s\n", "row lies in", "pipe", "nodes/s", "triads/s", "ratio");
    for (int i = 0; i < 3; i++) {
        int rounds = 10000000 / nodes[i];
        double triad = triad_rate(nodes[i], rounds * 2);
        for (int kind = PLAIN; kind <= CREEPING; kind++) {
            double rate = kernel_rate((enum kind)kind, nodes[i], rounds);
            printf("%-14s %-12s %12.3g %12.3g %8.3f\n", places[i], kinds[kind], rate, triad,
                   rate / triad);
        }
    }
    return 0;
}
