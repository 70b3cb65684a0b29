/* Heads of pipes that remember, said to rise only or to fall only, beside each head of each step;
 * random states, laws, walls and grids. */
#include "models/pipe.h"
#include "solver/surge/kernel.h"
#include "solver/surge/limits.h"
#include "solver/surge/memory.h"
#include "solver/surge/memory_slopes.h"
#include "solver/surge/slopes.h"
#include "tests/solver/random_numbers.h"

#include <criterion/criterion.h>
#include <math.h>
#include <string.h>

enum { REACHES = 700, NODES = REACHES + 1, PIECE = 200, TRIALS = SHORT_RUNS ? 300 : 1000 };

static const struct water water = {
    .gravity = 9.81, .viscosity = 1e-6, .density = 1000.0, .bulk_modulus = 2.19e9};

static const double flow_of_start = 4e-3;

static void make(struct kernel *kernel, struct random *random, int trial, int reaches,
                 struct arena *arena)
{
    struct failure failure;
    struct pipe pipe = {.friction = {.bore = 0.1, .roughness = 1e-5},
                        .wall = 0.006,
                        .material = wall_find("pe100")};
    pipe.friction.length = random_spread(random, 3.0, 3000.0);
    pipe.friction.factor = trial / 3 % 2 == 0 ? 0.02 : 0.0;
    cr_assert(kernel_init(kernel, 1, &reaches, arena, &failure));
    kernel->step = pipe.friction.length / 400.0 / reaches;
    struct kernel_pipe *here = &kernel->pipes[0];
    here->impedance = 5e3;
    const struct memory_wishes wishes = {
        trial % 3 != 1, trial % 3 != 0, &pipe, &water, reaches, 400.0, flow_of_start, kernel->step};
    cr_assert(memory_new(&here->memory, &wishes, arena, &failure));
    const struct loss_law law = {&pipe_element,          &pipe, &water,       reaches,
                                 memory_impedance(here), 0.008, flow_of_start};
    cr_assert(trial % 7 == 0 || loss_init(&here->loss, &law, arena, &failure));
    kernel_start(kernel, 0, 100.0, flow_of_start);
}

/* A smooth change along the pipe: how steep it is, and how much that differs. */
struct bend {
    double slope;
    double swing;
    double length;
    double phase;
};

static struct bend random_bend(struct random *random, double size)
{
    return (struct bend){random_even(random, -size, size),
                         random_even(random, -size, size) * random_spread(random, 1e-6, 300.0),
                         random_spread(random, 30.0, 3000.0), random_even(random, 0.0, 6.3)};
}

static double bend_at(const struct bend *bend, int node)
{
    return bend->slope * node + bend->swing * sin(bend->phase + node / bend->length);
}

/* Waves and all that is remembered, each bent in its own way; those of every second state almost
 * pass each other without a change, so that what is remembered may turn the heads. */
static void bend_all(struct kernel *kernel, struct random *random)
{
    struct kernel_pipe *pipe = &kernel->pipes[0];
    struct memory *memory = pipe->memory;
    const double size = random_spread(random, 1e-12, 0.1);
    const double kept = size * random_spread(random, 1e-6, 30.0);
    const struct bend right = random_bend(random, size);
    struct bend left = random_bend(random, size);
    if (random_pick(random, 2) == 0) {
        const double gap = size * random_spread(random, 1e-6, 1.0);
        left = right;
        left.slope += random_pick(random, 2) == 0 ? gap : -gap;
        left.swing += 1e-2 * random_even(random, -gap, gap);
    }
    for (int i = 0; i < NODES; i++) {
        row_right(kernel)[i] += bend_at(&right, i);
        row_left(kernel)[i] += bend_at(&left, i);
    }
    for (int k = 0; k < memory->friction.count + memory->wall.count; k++) {
        const struct bend bend = random_bend(random, kept);
        const bool is_wall = k < memory->wall.count;
        const struct fading *fading = is_wall ? &memory->wall : &memory->friction;
        const int term = is_wall ? k : k - memory->wall.count;
        double *sum = is_wall ? memory->strain : memory->lagging;
        double *here = (is_wall ? memory->heads : memory->flows) + term * memory->stride;
        for (int i = 0; i < NODES; i++) {
            const double waves = is_wall ? 0.5 * (bend_at(&right, i) + bend_at(&left, i))
                                         : 1e-4 * bend_at(&right, i);
            here[i] += fading->share[term] * (waves + (is_wall ? 1.0 : 1e-4) * bend_at(&bend, i));
            sum[i] = (term == 0 ? 0.0 : sum[i]) + here[i];
        }
    }
    memory->age = 100; /* nobody has looked at these */
    pipe->is_unbounded = true;
}

/* Which way heads are said to go in so many steps. */
static unsigned ways_of(struct kernel *kernel, int steps)
{
    struct kernel_pipe *pipe = &kernel->pipes[0];
    struct memory_slopes piece[(NODES + PIECE - 1) / PIECE];
    int pieces = 0;
    limits_find(kernel, pipe);
    limits_loosen(pipe, steps);
    const struct memory_slopes_law law = memory_slopes_law_of(pipe, steps);
    for (int at = 0; at < NODES; at += PIECE) {
        const int count = REACHES - at < PIECE ? REACHES - at : PIECE;
        memory_slopes_find(kernel, pipe, at, count, &piece[pieces++]);
    }
    return memory_slopes_ways(pieces, piece, &law);
}

/* The most by which any head that no end has reached falls below one that it had, and rises above.
 */
static struct bounds go(struct kernel *kernel, int steps)
{
    static double least[NODES];
    static double most[NODES];
    struct bounds moved = {0.0, 0.0};
    for (int k = 0; k <= steps; k++) {
        for (int i = steps; i < NODES - steps; i++) {
            const double head = kernel_head(kernel, 0, i);
            least[i] = k == 0 ? head : fmin(least[i], head);
            most[i] = k == 0 ? head : fmax(most[i], head);
            moved.least = fmax(moved.least, most[i] - head);
            moved.most = fmax(moved.most, head - least[i]);
        }
        if (k < steps) {
            kernel_step(kernel);
            kernel_enter(kernel, 0, KERNEL_START, 90.0);
            kernel_enter(kernel, 0, KERNEL_END, 95.0);
        }
    }
    return moved;
}

Test(surge_memory_slopes, heads_that_are_said_to_rise_or_to_fall_do)
{
    struct random random;
    int said[4] = {0};
    int moving = 0;
    random_seed(&random, 41);
    for (int trial = 0; trial < TRIALS; trial++) {
        struct arena *arena = arena_new();
        struct kernel kernel;
        const int steps = 8 + random_pick(&random, AHEAD_STEPS - 7);
        make(&kernel, &random, trial, REACHES, arena);
        bend_all(&kernel, &random);
        const unsigned ways = ways_of(&kernel, steps);
        const struct bounds moved = go(&kernel, steps);
        said[ways]++;
        moving += ways != 0 && fmax(moved.least, moved.most) > 100.0 * slopes_tolerance;
        if ((ways & MEMORY_RISES) != 0) {
            cr_assert_leq(moved.least, slopes_tolerance, "%d: %g", trial, moved.least);
        }
        if ((ways & MEMORY_FALLS) != 0) {
            cr_assert_leq(moved.most, slopes_tolerance, "%d: %g", trial, moved.most);
        }
        arena_free(arena);
    }
    cr_assert(said[0] > 50 && said[1] > 10 && said[2] > 10 && said[3] > 50, "%d %d %d %d", said[0],
              said[1], said[2], said[3]);
    cr_assert_gt(moving, 20, "%d", moving);
}

/* Water that flows steadily is said to do both, on a grid fine enough. */
Test(surge_memory_slopes, steady_flow_is_still)
{
    for (int trial = 0; trial < 21; trial++) {
        struct arena *arena = arena_new();
        struct random random;
        struct kernel kernel;
        random_seed(&random, 42);
        make(&kernel, &random, trial, REACHES, arena);
        kernel.pipes[0].memory->age = 100;
        cr_assert_eq(ways_of(&kernel, 16), MEMORY_RISES | MEMORY_FALLS, "%d", trial);
        arena_free(arena);
    }
}

/* One slope against the way, anywhere, in p or m, is seen; and so is what a term of friction or of
 * the wall will do when it lets go. */
Test(surge_memory_slopes, one_node_out_of_line_is_seen)
{
    for (int node = 0; node < NODES; node += 7) {
        for (int what = 0; what < 4; what++) {
            struct arena *arena = arena_new();
            struct random random;
            struct kernel kernel;
            random_seed(&random, 42);
            make(&kernel, &random, 2, REACHES, arena);
            struct memory *memory = kernel.pipes[0].memory;
            double *const value[] = {row_right(&kernel), row_left(&kernel), memory->flows,
                                     memory->heads + 2 * memory->stride};
            value[what][node] += what < 2 ? 1e-3 : 10.0 * memory->wall.share[0];
            memory->age = 100;
            kernel.pipes[0].is_unbounded = true;
            cr_assert_neq(ways_of(&kernel, 32), MEMORY_RISES | MEMORY_FALLS, "%d %d", node, what);
            arena_free(arena);
        }
    }
}

/* --- what is left by friction that lags --- */

/* 2 B Q is (rest - F) B/(B + total/2), odd, whatever the law; by a table too, and beyond its end.
 */
Test(surge_memory_slopes, friction_that_lags_leaves_what_the_law_leaves)
{
    for (int trial = 0; trial < 6; trial += 2) {
        struct arena *arena = arena_new();
        struct random random;
        struct kernel kernel;
        random_seed(&random, 44);
        make(&kernel, &random, trial, REACHES, arena);
        const struct kernel_pipe *pipe = &kernel.pipes[0];
        const double ratio =
            pipe->impedance / (pipe->impedance + 0.5 * pipe->memory->friction.total);
        for (int i = 0; i < 20000; i++) {
            const double rest = random_even(&random, -6.0, 6.0) * pow(10.0, i % 9 - 4);
            const double wanted = (rest - loss_at(&pipe->loss, rest).head) * ratio;
            cr_assert_float_eq(memory_driven(pipe, rest), wanted, 1e-14 * fabs(rest), "%g", rest);
            cr_assert_eq(memory_driven(pipe, -rest), -memory_driven(pipe, rest));
        }
        arena_free(arena);
    }
}

/* --- ahead --- */

/* Even slopes with sharp crests, so that one head left out is seen; both ways. */
static double saw(double step, double period)
{
    return fabs(remainder(step, period));
}

static void step_once(struct kernel *kernel, int trial, int step)
{
    const double period = 400.0 + 130.0 * (trial % 9);
    kernel_step(kernel);
    kernel_enter(kernel, 0, KERNEL_START, 100.0 + 0.02 * saw(step, period));
    kernel_enter(kernel, 0, KERNEL_END,
                 0.5 * (kernel_arrived(kernel, 0, KERNEL_END) + 60.0) -
                     0.03 * saw(step, 0.8 * period + 700.0 * (trial % 2)));
}

/* Of the first kernel, beside those of each step. */
static void hold_extremes(const struct kernel kernel[2], int trial)
{
    for (int64_t i = 0; i < kernel[1].node_count; i++) {
        const double above = kernel[0].highest[i] - kernel[1].highest[i];
        const double below = kernel[0].lowest[i] - kernel[1].lowest[i];
        cr_assert(fabs(above) <= slopes_tolerance && fabs(below) <= slopes_tolerance,
                  "%d %ld: %g, %g", trial, (long)i, above, below);
    }
}

static void hold_together(struct kernel kernel[2], int trial, int seed)
{
    struct kernel *ahead = &kernel[0];
    struct kernel *plain = &kernel[1];
    struct random random;
    int step = 0;
    random_seed(&random, (uint64_t)seed);
    while (step < 1200) {
        const int steps = 5 + random_pick(&random, 190);
        for (int k = 0; k < steps; k++) {
            kernel_promise(ahead, steps - k);
            step_once(ahead, trial, step + k);
            step_once(plain, trial, step + k);
        }
        step += steps;
        for (int64_t i = 0; i < plain->node_count; i++) {
            cr_assert_eq(row_right(ahead)[i], row_right(plain)[i], "%d %d %ld", trial, step,
                         (long)i);
            cr_assert_eq(row_left(ahead)[i], row_left(plain)[i], "%d %d %ld", trial, step, (long)i);
        }
        hold_extremes(kernel, trial);
    }
}

/* Pipes of all lengths from which on it pays, on grids of all kinds. */
Test(surge_memory_slopes, extremes_are_those_of_each_step)
{
    for (int trial = 0; trial < (SHORT_RUNS ? 8 : 24); trial++) {
        struct arena *arena = arena_new();
        struct random random[2];
        struct kernel kernel[2];
        for (int k = 0; k < 2; k++) {
            random_seed(&random[k], 43 + (uint64_t)trial);
            const int reaches = 2048 + random_pick(&random[k], 1500);
            make(&kernel[k], &random[k], trial, reaches, arena);
        }
        hold_together(kernel, trial, trial);
        arena_free(arena);
    }
}

/* A pipe in which heads rise or fall everywhere by `even` in a step, each end fed by its slope. */
static void feed_evenly(struct kernel *kernel, int trial, int steps, double even)
{
    const double head = kernel_head(kernel, 0, 0);
    const double far_head = kernel_head(kernel, 0, kernel->pipes[0].reaches);
    for (int k = 1; k <= steps; k++) {
        kernel_step(kernel);
        kernel_enter(kernel, 0, KERNEL_START, head + even * k);
        kernel_enter(kernel, 0, KERNEL_END, far_head + even * k * (trial % 2 == 0 ? 1.0 : 0.7));
    }
}

/* At both ends heads turn round as soon as the middle goes ahead: a node's last head there is the
 * extreme, since the next one comes of what enters. */
Test(surge_memory_slopes, last_heads_before_an_end_are_noted)
{
    for (int trial = 0; trial < 12; trial++) {
        struct arena *arena = arena_new();
        struct kernel kernel[2];
        const int reaches = 2048 + 37 * trial;
        const double even = trial / 3 % 2 == 0 ? 1e-3 : -1e-3;
        for (int k = 0; k < 2; k++) {
            struct random random;
            random_seed(&random, 45);
            make(&kernel[k], &random, trial, reaches, arena);
            feed_evenly(&kernel[k], trial, 2 * reaches + 64, even);
        }
        const double head[] = {kernel_head(&kernel[0], 0, 0), kernel_head(&kernel[0], 0, reaches)};
        for (int step = 1; step <= AHEAD_STEPS; step++) {
            for (int k = 0; k < 2; k++) {
                kernel_promise(&kernel[k], k == 0 ? AHEAD_STEPS - step + 1 : 0);
                kernel_step(&kernel[k]);
                kernel_enter(&kernel[k], 0, KERNEL_START, head[0] - 10.0 * even * step);
                kernel_enter(&kernel[k], 0, KERNEL_END, head[1] - 10.0 * even * step);
            }
        }
        hold_extremes(kernel, trial);
        arena_free(arena);
    }
}

/* Waves that fall towards a crest and rise behind it, p in one kind of trial and m in the other, in
 * water whose wall remembers these heads; nobody has noted them. */
static void set_crest(struct kernel *kernel, int crest, bool is_right, double even)
{
    struct kernel_pipe *pipe = &kernel->pipes[0];
    struct memory *memory = pipe->memory;
    double *wave = is_right ? row_right(kernel) : row_left(kernel);
    for (int i = 0; i <= pipe->reaches; i++) {
        const double more = even * abs(i - crest);
        wave[i] += more;
        kernel->highest[i] = -(double)INFINITY;
        kernel->lowest[i] = (double)INFINITY;
        for (int k = 0; k < memory->wall.count; k++) {
            memory->heads[k * memory->stride + i] += 0.5 * memory->wall.share[k] * more;
        }
        if (memory->wall.count > 0) {
            memory->strain[i] += 0.5 * memory->wall.total * more;
        }
    }
    memory->age = 100;
    pipe->is_unbounded = true;
}

/* Wherever in a stretch a crest lies: it is seen from all nodes that it reaches. */
Test(surge_memory_slopes, each_crest_is_noted)
{
    for (int crest = 800; crest < 800 + 256; crest += SHORT_RUNS ? 5 : 1) {
        struct arena *arena = arena_new();
        struct kernel kernel[2];
        const int trial = 2 + crest % 3;
        const double even = crest / 3 % 2 == 0 ? 1e-3 : -1e-3;
        for (int k = 0; k < 2; k++) {
            struct random random;
            random_seed(&random, 46 + (uint64_t)crest);
            make(&kernel[k], &random, trial, 2048, arena);
            set_crest(&kernel[k], crest, crest / 6 % 2 == 0, even);
            for (int step = AHEAD_STEPS; step > 0; step--) {
                kernel_promise(&kernel[k], k == 0 ? step : 0);
                kernel_step(&kernel[k]);
                kernel_enter(&kernel[k], 0, KERNEL_START, 100.0);
                kernel_enter(&kernel[k], 0, KERNEL_END, 60.0);
            }
        }
        hold_extremes(kernel, crest);
        arena_free(arena);
    }
}

/* --- pipes out of cache --- */

enum { FAR = 100003 };

static void hold_digits(const struct kernel kernel[2], int trial)
{
    const struct memory *memory = kernel[0].pipes[0].memory;
    const struct memory *wanted = kernel[1].pipes[0].memory;
    const size_t bytes = (size_t)(FAR + 1) * sizeof(double);
    cr_assert_eq(memcmp(row_right(&kernel[0]), row_right(&kernel[1]), bytes), 0, "%d: p", trial);
    cr_assert_eq(memcmp(row_left(&kernel[0]), row_left(&kernel[1]), bytes), 0, "%d: m", trial);
    for (int k = 0; k < memory_arrays(memory); k++) {
        const double *one = memory_first(memory) + k * memory->stride;
        const double *other = memory_first(wanted) + k * wanted->stride;
        cr_assert_eq(memcmp(one, other, bytes), 0, "%d: term %d", trial, k);
    }
}

/* They go further ahead, with the digits of steps one by one. */
Test(surge_memory_slopes, pipes_out_of_cache_go_further)
{
    for (int trial = 1; trial <= 5; trial += 2) { /* wall, friction, both; by table but for one */
        struct arena *arena = arena_new();
        struct kernel kernel[2];
        for (int k = 0; k < 2; k++) {
            struct random random;
            random_seed(&random, 47);
            make(&kernel[k], &random, trial, FAR, arena);
            for (int step = AHEAD_FAR + 40; step > 0; step--) {
                kernel_promise(&kernel[k], k == 0 ? step : 0);
                kernel_step(&kernel[k]);
                kernel_enter(&kernel[k], 0, KERNEL_START, 100.0 + 3.0 * sin(0.1 * step));
                kernel_enter(&kernel[k], 0, KERNEL_END, 60.0);
                cr_assert(k == 1 || step < AHEAD_FAR + 40 || kernel[k].ahead == AHEAD_FAR - 1);
            }
        }
        hold_digits(kernel, trial);
        hold_extremes(kernel, trial);
        arena_free(arena);
    }
}

/* But not beside a pipe that goes ahead in a cache. */
Test(surge_memory_slopes, pipes_out_of_cache_go_as_far_as_those_beside_them)
{
    static const struct {
        int pipes, ahead;
    } rows[] = {{1, AHEAD_FAR}, {2, AHEAD_STEPS}};
    for (int i = 0; i < 2; i++) {
        struct arena *arena = arena_new();
        struct random random;
        struct kernel kernel;
        struct kernel one;
        struct failure failure;
        random_seed(&random, 48);
        make(&one, &random, 2, FAR, arena);
        cr_assert(kernel_init(&kernel, rows[i].pipes, (const int[]){FAR, 5000}, arena, &failure));
        kernel.step = one.step;
        kernel.pipes[0].memory = one.pipes[0].memory;
        kernel.pipes[0].loss = one.pipes[0].loss;
        kernel.pipes[0].impedance = one.pipes[0].impedance;
        kernel_start(&kernel, 0, 100.0, flow_of_start);
        kernel_promise(&kernel, 500);
        kernel_step(&kernel);
        cr_assert_eq(kernel.ahead_of, rows[i].ahead, "%d: %d", i, kernel.ahead_of);
        arena_free(arena);
    }
}
