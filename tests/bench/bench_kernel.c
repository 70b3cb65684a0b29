/* How fast the water inside pipes is stepped, as a share of what the same process reaches in the
 * same number of nodes: friction beside the quickest plain loop with the very same law and no other
 * duty (bare_losses.h), both beside bare waves (bare_waves.h), without extremes and with, and a
 * plain triad loop. Out of cache the best of the bare forms takes many steps on a stretch before
 * the next one. All in turn, several times, and the best of each, since the machine swings from one
 * second to the next. Prints a table; no test, since it judges the machine too. */
#include "models/pipe.h"
#include "solver/surge/kernel.h"
#include "solver/surge/memory.h"
#include "tests/bench/bare_losses.h"
#include "tests/bench/bare_waves.h"
#include "tests/bench/measure.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <time.h>

enum { TRIALS = 3, DEPTH = 32, WIDTH = 2048, ROUNDS_LEAST = 128 };

enum kind { PLAIN, QUADRATIC, TABLE, STEEP, UNSTEADY, CREEPING, KINDS };
static const char *const kinds[] = {"no friction",           "quadratic", "by table",
                                    "by table, steep waves", "unsteady",  "creeping"};

/* What the water does meanwhile. */
enum shape {
    CALM,   /* a small swing enters water that flows steadily and fills a part of the pipe; where it
               has not been, round-off makes new extremes */
    RISING, /* all heads rise, so that each is the highest so far */
    DYING,  /* the pipe swings by itself from a head that is held to an end with steady flow, in
               four times the time that a wave needs along it, and its higher swings are past */
    SHAPES
};
static const char *const shapes[] = {"", ", rising heads", ", dying swing"};
static const double rise = 1e-6;  /* m a step */
static const double swing = 20.0; /* m at the end; and the swing before was higher by a tenth */

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
    kernel_share(kernel, 1); /* as all it is held beside */
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

/* The state at the beginning, added to steady flow. */
static void shape_waves(struct kernel *kernel, enum shape shape, int nodes)
{
    double *right = row_right(kernel);
    double *left = row_left(kernel);
    for (int i = 0; i < nodes; i++) {
        const double steady = row_mean(kernel, i);
        const double at = 0.5 * 3.14159265358979 * i / (nodes - 1);
        if (shape == RISING) {
            right[i] += rise * (nodes - i);
            kernel->highest[i] = row_mean(kernel, i);
            kernel->lowest[i] = kernel->highest[i];
        } else if (shape == DYING) { /* as water passes through rest: H + B Q, H - B Q */
            right[i] += swing * cos(at);
            left[i] -= swing * cos(at);
            kernel->highest[i] = steady + 1.1 * swing * sin(at);
            kernel->lowest[i] = steady - 1.1 * swing * sin(at);
        }
    }
    kernel->pipes[0].is_unbounded = true; /* these values did not enter at its ends */
}

/* One step of the kernel and of what is around the pipe: at the start the head swings or rises
 * about 100 m; the other end lets all waves out, or has steady flow. */
static void step_once(struct kernel *kernel, enum shape shape, double steady, double wave)
{
    kernel_step(kernel);
    const double arrived = kernel_arrived(kernel, 0, KERNEL_END);
    kernel_enter(kernel, 0, KERNEL_START, 100.0 + wave);
    kernel_enter(kernel, 0, KERNEL_END,
                 shape == DYING ? arrived - 0.5 * steady : 0.5 * (arrived + 50.0));
}

/* Node-steps a second. */
static double kernel_rate(enum kind kind, enum shape shape, int nodes, int rounds,
                          const double wave[])
{
    struct arena *arena = arena_new();
    struct kernel kernel;
    double best = 0.0;
    make(&kernel, kind, nodes, arena);
    const double steady = row_right(&kernel)[nodes - 1] - row_left(&kernel)[nodes - 1];
    shape_waves(&kernel, shape, nodes);
    for (int trial = 0; trial < TRIALS; trial++) {
        double start = bare_now();
        for (int round = 0; round < rounds; round++) {
            /* Nobody looks inside between trials either. */
            kernel_promise(&kernel, (TRIALS - trial) * rounds - round);
            step_once(&kernel, shape, steady, wave[trial * rounds + round]);
        }
        double rate = (double)nodes * rounds / (bare_now() - start);
        best = rate > best ? rate : best;
    }
    arena_free(arena);
    return best;
}

static double *make_waves(enum kind kind, enum shape shape, int nodes, int rounds,
                          struct arena *arena)
{
    double *wave = arena_take(arena, (size_t)rounds * TRIALS, sizeof *wave);
    if (wave == NULL) {
        exit(1);
    }
    for (int round = 0; round < rounds * TRIALS; round++) {
        const int again = round % rounds;
        wave[round] = kind == STEEP ? again & 7 : 2.0 * sin(0.01 * again);
        if (shape != CALM) {
            wave[round] = shape == RISING ? 0.5 * rise * (nodes + round) : 0.0;
        }
    }
    return wave;
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

/* The same law in plain loops on the values that the kernel starts from; tells every way of them.
 */
static double peer_rate(enum kind kind, int nodes, int rounds, bool keeps)
{
    struct arena *arena = arena_new();
    struct kernel kernel;
    make(&kernel, kind, nodes, arena);
    struct bare_losses found = bare_losses(&kernel.pipes[0].loss, nodes, rounds, row_right(&kernel),
                                           row_left(&kernel), nodes > 8 * WIDTH, keeps);
    printf("    the same law in plain loops%s:", keeps ? ", keeping extremes" : "");
    for (int i = 0; i < found.count; i++) {
        printf("%s %s %.3g", i > 0 ? "," : "", found.name[i], found.rate[i]);
    }
    printf("\n");
    arena_free(arena);
    return found.best;
}

struct rates {
    double kernel[SHAPES];
    double peer;
    double keeping;
};

/* Water that only swings a little is enough for what is judged by friction by table. */
static bool has_shape(enum kind kind, enum shape shape)
{
    return shape == CALM || kind <= TABLE;
}

static struct rates measure(enum kind kind, int nodes, int rounds)
{
    struct arena *arena = arena_new();
    struct rates rates = {.peer = 0.0};
    for (int shape = CALM; shape < SHAPES; shape++) {
        if (has_shape(kind, (enum shape)shape)) {
            const double *wave = make_waves(kind, (enum shape)shape, nodes, rounds, arena);
            rates.kernel[shape] = kernel_rate(kind, (enum shape)shape, nodes, rounds, wave);
        }
    }
    if (kind == QUADRATIC || kind == TABLE) {
        rates.peer = peer_rate(kind, nodes, rounds, false);
        rates.keeping = peer_rate(kind, nodes, rounds, true);
    }
    arena_free(arena);
    return rates;
}

/* --- threads that share one pipe --- */

enum { THREADS = 2, THREAD_TRIALS = 15 };

static double wall(void)
{
    struct timespec time;
    (void)clock_gettime(CLOCK_MONOTONIC, &time);
    return (double)time.tv_sec + 1e-9 * (double)time.tv_nsec;
}

static double wall_rate(struct kernel *kernel, int nodes, int rounds, const double wave[])
{
    double start = wall();
    for (int round = 0; round < rounds; round++) {
        kernel_promise(kernel, rounds - round);
        step_once(kernel, CALM, 0.0, wave[round]);
    }
    return (double)nodes * rounds / (wall() - start);
}

/* By the wall, in turn, the best of each: other work on the machine disturbs two threads more than
 * one. */
static void tell_threads(const char *place, int nodes, int rounds)
{
    for (int kind = QUADRATIC; kind <= TABLE; kind++) {
        struct arena *arena = arena_new();
        struct kernel kernel[2];
        double best[2] = {0.0, 0.0};
        char what[96];
        const double *wave = make_waves((enum kind)kind, CALM, nodes, rounds, arena);
        for (int k = 0; k < 2; k++) {
            make(&kernel[k], (enum kind)kind, nodes, arena);
            kernel_share(&kernel[k], k == 0 ? 1 : THREADS);
        }
        for (int trial = 0; trial < 2 * THREAD_TRIALS; trial++) {
            double rate = wall_rate(&kernel[trial & 1], nodes, rounds, wave);
            best[trial & 1] = fmax(best[trial & 1], rate);
        }
        arena_free(arena);
        printf("  %s, by the wall: one thread %.3g, %d threads %.3g\n", kinds[kind], best[0],
               THREADS, best[1]);
        (void)snprintf(what, sizeof what, "surge kernel, %s, %s, two threads", place, kinds[kind]);
        measure_row(what, best[1], "node-steps/s", "one thread, by the wall", best[1] / best[0],
                    WISH_NONE, 0.0);
    }
}

static void tell_shape(const char *place, enum kind kind, enum shape shape,
                       const struct rates *rates, const struct bare *bare)
{
    const double rate = rates->kernel[shape];
    char what[96];
    printf("  kernel, %s%s: %.3g, %.2f of bare, %.2f of bare that keeps extremes\n", kinds[kind],
           shapes[shape], rate, rate / bare->waves, rate / bare->keeping);
    (void)snprintf(what, sizeof what, "surge kernel, %s, %s%s", place, kinds[kind], shapes[shape]);
    if (kind == PLAIN) {
        measure_row(what, rate, "node-steps/s", "bare waves (quadratic, one term; no extremes)",
                    rate / bare->waves, WISH_AT_LEAST, 0.8);
        return;
    }
    measure_row(what, rate, "node-steps/s", "the same law in plain loops, no extremes",
                rate / rates->peer, WISH_AT_LEAST, 0.8);
    measure_row("  the same", rate, "node-steps/s", "the same law in plain loops, with extremes",
                rate / rates->keeping, WISH_NONE, 0.0);
    if (shape == CALM) {
        measure_row("  the same", rate, "node-steps/s",
                    "bare waves (quadratic, one term; no extremes)", rate / bare->waves, WISH_NONE,
                    0.0);
    }
}

static void tell(const char *place, enum kind kind, const struct rates *rates, double by_table,
                 const struct bare *bare)
{
    const double rate = rates->kernel[CALM];
    char what[96];
    for (int shape = CALM; kind <= TABLE && shape < SHAPES; shape++) {
        tell_shape(place, kind, (enum shape)shape, rates, bare);
    }
    if (kind > TABLE) {
        printf("  kernel, %s: %.3g, %.2f times the cost of friction by table\n", kinds[kind], rate,
               by_table / rate);
        (void)snprintf(what, sizeof what, "surge kernel, %s, %s", place, kinds[kind]);
        measure_row(what, rate, "node-steps/s", "cost of friction by table", by_table / rate,
                    WISH_AT_MOST, 3.0);
    }
}

/* The best of all turns. */
struct found {
    struct bare bare;
    struct rates rates[KINDS];
};

static void take_turn(int nodes, int rounds, struct found *found)
{
    const struct bare bare = bare_rates(nodes, rounds);
    found->bare.waves = fmax(found->bare.waves, bare.waves);
    found->bare.keeping = fmax(found->bare.keeping, bare.keeping);
    for (int kind = PLAIN; kind < KINDS; kind++) {
        const struct rates rates = measure((enum kind)kind, nodes, rounds);
        struct rates *best = &found->rates[kind];
        for (int shape = CALM; shape < SHAPES; shape++) {
            best->kernel[shape] = fmax(best->kernel[shape], rates.kernel[shape]);
        }
        best->peer = fmax(best->peer, rates.peer);
        best->keeping = fmax(best->keeping, rates.keeping);
    }
}

int main(void)
{
    static const int nodes[] = {400, 20000, 2000000};
    static const char *const places[] = {"nearest cache", "second cache", "memory"};
    static const int turns[] = {16, 12, 6}; /* short ones need more to meet a quick second */
    printf("Node-steps a second of processor time\n");
    for (int i = 0; i < 3; i++) {
        int rounds = (20000000 / nodes[i] + DEPTH - 1) / DEPTH * DEPTH;
        rounds = rounds > ROUNDS_LEAST ? rounds : ROUNDS_LEAST; /* a surge has many more */
        struct found found = {.bare = {0.0, 0.0}};
        printf("%s, %d nodes\n", places[i], nodes[i]);
        for (int turn = 0; turn < turns[i]; turn++) {
            take_turn(nodes[i], rounds, &found);
        }
        for (int kind = PLAIN; kind < KINDS; kind++) {
            tell(places[i], (enum kind)kind, &found.rates[kind], found.rates[TABLE].kernel[CALM],
                 &found.bare);
        }
        if (i > 0) { /* a pipe of the nearest cache is never shared */
            tell_threads(places[i], nodes[i], i == 1 ? 1024 : 64);
        }
    }
    return 0;
}
