/* How fast the water inside pipes is stepped, as a share of what the same process reaches with bare
 * waves (bare_waves.h) in the same number of nodes, without extremes and with, and in a plain triad
 * loop. Out of cache the best of the bare forms takes many steps on a stretch before the next one.
 * Prints a table; no test, since it judges the machine too. */
#include "models/pipe.h"
#include "solver/surge/kernel.h"
#include "solver/surge/memory.h"
#include "tests/bench/bare_waves.h"
#include "tests/bench/measure.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>

enum { TRIALS = 5, DEPTH = 32, WIDTH = 2048 };

enum kind { PLAIN, QUADRATIC, TABLE, STEEP, UNSTEADY, CREEPING, KINDS };
static const char *const kinds[] = {"no friction",           "quadratic", "by table",
                                    "by table, steep waves", "unsteady",  "creeping"};

static struct pipe straight = {
    .friction = {.length = 1000.0, .bore = 0.1, .roughness = 1e-5},
    .wall = 0.006,
};
static const struct water water = {
    .gravity = 9.81, .viscosity = 1e-6, .density = 1000.0, .bulk_modulus = 2.19e9};

static void make(struct kernel *kernel, enum kind kind, int nodes, struct arena *arena)
{
    struct failure failure;
    int reaches = nodes - 1;
    double area = pipe_area(&straight);
    double impedance = 400.0 / (9.81 * area);
    straight.friction.factor = kind == QUADRATIC ? 0.02 : 0.0;
    straight.material = wall_find("pe100");
    bool is_made = kernel_init(kernel, 1, &reaches, arena, &failure);
    kernel->pipes[0].impedance = impedance;
    kernel->step = 2.5 / reaches;
    struct memory_wishes wishes = {kind == UNSTEADY, kind == CREEPING, &straight,
                                   &water,           reaches,          400.0,
                                   1.0 * area,       kernel->step};
    is_made = is_made && memory_new(&kernel->pipes[0].memory, &wishes, arena, &failure);
    struct loss_law law = {
        &pipe_element, &straight, &water, reaches, memory_impedance(&kernel->pipes[0]),
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
        double start = bare_now();
        for (int round = 0; round < rounds; round++) {
            kernel_promise(&kernel, rounds - round);
            kernel_step(&kernel);
            double wave = kind == STEEP ? round & 7 : 2.0 * sin(0.01 * round);
            double arrived = kernel_arrived(&kernel, 0, KERNEL_END);
            kernel_enter(&kernel, 0, KERNEL_START, 100.0 + wave);
            kernel_enter(&kernel, 0, KERNEL_END, 0.5 * (arrived + 50.0)); /* no reflection */
        }
        double rate = (double)nodes * rounds / (bare_now() - start);
        best = rate > best ? rate : best;
    }
    arena_free(arena);
    return best;
}

/* The best bare form for so many nodes, without extremes and with; tells all of them. */
struct bare {
    double waves;
    double keeping;
};

static struct bare bare_rates(int nodes, int rounds)
{
    bool is_long = nodes > 8 * WIDTH;
    double plain = bare_characteristic(nodes, rounds);
    double tiled = is_long ? bare_tiled(nodes, rounds, DEPTH, WIDTH) : 0.0;
    double keeping = bare_keeping(nodes, rounds);
    double keeping_tiled = is_long ? bare_keeping_tiled(nodes, rounds, DEPTH, WIDTH / 4) : 0.0;
    printf("  triad loop %.3g, textbook %.3g, bare characteristic %.3g (any machine %.3g, "
           "tiled %.3g), keeping extremes %.3g (tiled %.3g)\n",
           bare_triad(nodes, rounds), bare_textbook(nodes, rounds), plain,
           bare_portable(nodes, rounds), tiled, keeping, keeping_tiled);
    return (struct bare){fmax(plain, tiled), fmax(keeping, keeping_tiled)};
}

static void tell(const char *place, enum kind kind, double rate, double by_table, struct bare bare)
{
    char what[96];
    printf("  kernel, %-21s %.3g, %.2f of bare, %.2f of bare that keeps extremes", kinds[kind],
           rate, rate / bare.waves, rate / bare.keeping);
    printf(kind > STEEP ? ", %.2f times the cost of friction by table\n" : "\n", by_table / rate);
    (void)snprintf(what, sizeof what, "surge kernel, %s, %s", place, kinds[kind]);
    if (kind > TABLE) {
        measure_row(what, rate, "node-steps/s", "cost of friction by table", by_table / rate,
                    WISH_AT_MOST, 3.0);
        return;
    }
    measure_row(what, rate, "node-steps/s", "bare waves", rate / bare.waves, WISH_AT_LEAST, 0.8);
    measure_row("  the same", rate, "node-steps/s", "bare waves with extremes", rate / bare.keeping,
                WISH_NONE, 0.0);
}

int main(void)
{
    static const int nodes[] = {400, 20000, 2000000};
    static const char *const places[] = {"nearest cache", "second cache", "memory"};
    printf("Node-steps a second of processor time\n");
    for (int i = 0; i < 3; i++) {
        int rounds = (20000000 / nodes[i] + DEPTH - 1) / DEPTH * DEPTH;
        printf("%s, %d nodes\n", places[i], nodes[i]);
        struct bare bare = bare_rates(nodes[i], rounds);
        double by_table = 0.0;
        for (int kind = PLAIN; kind < KINDS; kind++) {
            double rate = kernel_rate((enum kind)kind, nodes[i], rounds);
            by_table = kind == TABLE ? rate : by_table;
            tell(places[i], (enum kind)kind, rate, by_table, bare);
        }
    }
    return 0;
}
