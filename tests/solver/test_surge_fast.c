/* The fast passes of the kernel against plain loops, digit by digit: the plain ones are compiled
 * for any machine of the family, the fast ones run in its widest vectors, many nodes at once.
 * Long because all of them step the same few pipes. */
#include "models/pipe.h"
#include "solver/surge/ahead.h"
#include "solver/surge/kernel.h"
#include "solver/surge/limits.h"
#include "solver/surge/memory.h"
#include "solver/surge/slopes.h"
#include "solver/surge/sweep.h"

#include <criterion/criterion.h>
#include <math.h>
#include <string.h>

enum { MOST_NODES = 600, STEPS = SHORT_RUNS ? 300 : 1500 };

/* What one node remembers (solver/surge/fading.h). */
struct plain_node {
    double flows[FADING_TERMS];
    double lagging;
    double heads[FADING_TERMS];
    double strain;
};

/* One pipe as the heads of kernel.h and memory.h tell it, node by node. */
struct plain {
    int nodes;
    const struct kernel_pipe *pipe; /* its law, and what its memory is made of */
    struct plain_node node[MOST_NODES];
    double right[MOST_NODES];
    double left[MOST_NODES];
    double highest[MOST_NODES];
    double lowest[MOST_NODES];
};

/* From steady flow. */
static void plain_start(struct plain *plain, const struct kernel *kernel, int nodes, double head,
                        double flow)
{
    plain->nodes = nodes;
    plain->pipe = &kernel->pipes[0];
    const struct memory *memory = plain->pipe->memory;
    for (int i = 0; memory != NULL && i < nodes; i++) {
        struct plain_node *node = &plain->node[i];
        node->lagging = fading_start(&memory->friction, flow, node->flows);
        node->strain = fading_start(&memory->wall, head - i * memory->loss, node->heads);
    }
    memcpy(plain->right, row_right(kernel), (size_t)nodes * sizeof(double));
    memcpy(plain->left, row_left(kernel), (size_t)nodes * sizeof(double));
    memcpy(plain->highest, kernel->highest, (size_t)nodes * sizeof(double));
    memcpy(plain->lowest, kernel->lowest, (size_t)nodes * sizeof(double));
}

/* What friction leaves of the two waves at a node, if its wall gives no way. */
static void plain_friction(const struct plain *plain, struct plain_node *node, double right,
                           double left, double *along, double *against)
{
    const struct kernel_pipe *pipe = plain->pipe;
    const struct memory *memory = pipe->memory;
    if (memory == NULL || memory->friction.count == 0) {
        const double lost = loss_at(&pipe->loss, right - left).head;
        *along = right - lost;
        *against = left + lost;
        return;
    }
    struct fading friction = memory->friction; /* of 2 B Q */
    for (int k = 0; k < friction.count; k++) {
        friction.push[k] *= 0.5 / pipe->impedance;
    }
    const double driven = memory_driven(pipe, right - left + node->lagging);
    node->lagging = fading_step(&friction, driven, node->flows);
    *along = left + driven;
    *against = right - driven;
}

/* The wall takes the head. */
static double plain_wall(const struct plain *plain, struct plain_node *node, double mean)
{
    const struct memory *memory = plain->pipe->memory;
    const double head = (mean + node->strain) * memory->stiffness;
    node->strain = fading_step(&memory->wall, head, node->heads);
    return head;
}

static void plain_step(struct plain *plain)
{
    const struct memory *memory = plain->pipe->memory;
    int last = plain->nodes - 1;
    for (int i = 0; i <= last; i++) {
        double along;
        double against;
        double head = 0.5 * (plain->right[i] + plain->left[i]);
        plain_friction(plain, &plain->node[i], plain->right[i], plain->left[i], &along, &against);
        plain->right[i] = along;
        plain->left[i] = against;
        if (memory != NULL && memory->wall.count > 0) {
            head = plain_wall(plain, &plain->node[i], head);
            plain->right[i] = 2.0 * head - against;
            plain->left[i] = 2.0 * head - along;
        }
        plain->highest[i] = head > plain->highest[i] ? head : plain->highest[i];
        plain->lowest[i] = head < plain->lowest[i] ? head : plain->lowest[i];
    }
    memmove(plain->right + 1, plain->right, (size_t)last * sizeof(double));
    memmove(plain->left, plain->left + 1, (size_t)last * sizeof(double));
}

/* Waves that reverse the flow, some steep: heads at both ends at each step. */
static double head_at(int step, int side)
{
    double slow = side == 0 ? 25.0 * sin(0.013 * step) : -9.0 * sin(0.021 * step);
    return 60.0 + slow + (step / 97 % 3 == side ? 6.0 : 0.0);
}

/* The mean of the two values at a node whose head is `head`. */
static double plain_mean(const struct plain *plain, int i, double head)
{
    const struct memory *memory = plain->pipe->memory;
    return memory == NULL || memory->wall.count == 0
               ? head
               : head + (memory->wall.total * head - plain->node[i].strain);
}

/* And back. */
static double plain_head(const struct plain *plain, int i, double mean)
{
    const struct memory *memory = plain->pipe->memory;
    return memory == NULL || memory->wall.count == 0
               ? mean
               : (mean + plain->node[i].strain) * memory->stiffness;
}

static void enter_both(struct kernel *kernel, struct plain *plain, int step)
{
    int last = plain->nodes - 1;
    plain->right[0] = 2.0 * plain_mean(plain, 0, head_at(step, 0)) - plain->left[0];
    plain->left[last] = 2.0 * plain_mean(plain, last, head_at(step, 1)) - plain->right[last];
    kernel_enter(kernel, 0, KERNEL_START, head_at(step, 0));
    kernel_enter(kernel, 0, KERNEL_END, head_at(step, 1));
}

static void check_same(const struct kernel *kernel, const struct plain *plain, int step)
{
    for (int i = 0; i < plain->nodes; i++) {
        cr_assert_eq(row_right(kernel)[i], plain->right[i], "step %d, node %d", step, i);
        cr_assert_eq(row_left(kernel)[i], plain->left[i], "step %d, node %d", step, i);
        cr_assert_eq(kernel->highest[i], plain->highest[i], "step %d, node %d", step, i);
        cr_assert_eq(kernel->lowest[i], plain->lowest[i], "step %d, node %d", step, i);
        cr_assert_eq(kernel_head(kernel, 0, i),
                     plain_head(plain, i, 0.5 * (plain->right[i] + plain->left[i])));
    }
}

/* What the pipes have: friction, quadratic or by table, and what they remember. */
struct kind {
    double factor; /* above 0: quadratic, its series holds while it is small; 0: by table; below:
                      none */
    bool is_unsteady;
    bool is_creeping;
};

static void hold_together(int nodes, struct kind kind)
{
    static struct plain plain;
    struct arena *arena = arena_new();
    struct failure failure;
    struct kernel kernel;
    struct water water = {
        .gravity = 9.81, .viscosity = 1e-6, .density = 1000.0, .bulk_modulus = 2.19e9};
    struct pipe pipe = {.friction = {.length = 1000.0, .bore = 0.1, .roughness = 1e-5},
                        .wall = 0.006,
                        .material = wall_find("pe100")};
    pipe.friction.factor = kind.factor > 0.0 ? kind.factor : 0.0;
    int reaches = nodes - 1;
    cr_assert(kernel_init(&kernel, 1, &reaches, arena, &failure));
    struct kernel_pipe *here = &kernel.pipes[0];
    kernel.step = 0.01;
    here->impedance = 5e3;
    struct memory_wishes wishes = {
        kind.is_unsteady, kind.is_creeping, &pipe, &water, reaches, 400.0, 4e-3, kernel.step};
    cr_assert(memory_new(&here->memory, &wishes, arena, &failure));
    struct loss_law law = {&pipe_element,    &pipe, &water, reaches, memory_impedance(here),
                           pipe_area(&pipe), 4e-3};
    cr_assert(kind.factor < 0.0 || loss_init(&here->loss, &law, arena, &failure));
    plain = (struct plain){.nodes = 0};
    kernel_start(&kernel, 0, 60.0, 4e-3);
    plain_start(&plain, &kernel, nodes, 60.0, 4e-3);
    for (int step = 1; step <= STEPS; step++) {
        kernel_step(&kernel);
        plain_step(&plain);
        enter_both(&kernel, &plain, step);
        check_same(&kernel, &plain, step);
    }
    arena_free(arena);
}

static const int node_counts[] = {2, 3, 33, 64, 257, MOST_NODES};

Test(surge_fast, has_the_digits_of_plain_loops_without_friction)
{
    for (int i = 0; i < 6; i++) {
        hold_together(node_counts[i], (struct kind){.factor = -1.0});
    }
}

Test(surge_fast, has_the_digits_of_plain_loops_with_quadratic_friction)
{
    for (int i = 0; i < 6; i++) {
        hold_together(node_counts[i], (struct kind){.factor = 0.02});
        /* too much for the series here and there */
        hold_together(node_counts[i], (struct kind){.factor = 3.0});
    }
}

Test(surge_fast, has_the_digits_of_plain_loops_with_friction_by_table)
{
    for (int i = 0; i < 6; i++) {
        hold_together(node_counts[i], (struct kind){.factor = 0.0});
    }
}

/* Pipes that remember: friction, quadratic or by table, and walls; stretches of all lengths. */
Test(surge_fast, has_the_digits_of_plain_loops_with_memories)
{
    static const struct kind remembering[] = {
        {0.0, true, false}, {0.02, true, false}, {3.0, true, false},  {-1.0, false, true},
        {0.0, false, true}, {0.02, true, true},  {-1.0, true, false}, {0.0, true, true}};
    for (int i = 0; i < 8; i++) {
        hold_together(node_counts[i % 6], remembering[i]);
        hold_together(node_counts[4], remembering[i]);
    }
}

/* --- ahead --- */

enum { LONG_NODES = 5000, LONG_STEPS = SHORT_RUNS ? 250 : 700 };
enum { LONGEST_NODES = 26000, LONGEST_STEPS = SHORT_RUNS ? 100 : 200 };

static const struct kind kinds[] = {{-1.0, false, false}, {0.02, false, false}, {0.0, false, false},
                                    {0.0, true, false},   {-1.0, false, true},  {0.02, true, true}};
enum { KINDS = 6 };

static void make_pipe(struct kernel *kernel, int number, int reaches, struct kind kind,
                      struct arena *arena)
{
    struct failure failure;
    struct water water = {
        .gravity = 9.81, .viscosity = 1e-6, .density = 1000.0, .bulk_modulus = 2.19e9};
    struct pipe pipe = {.friction = {.length = 9000.0, .bore = 0.1, .roughness = 1e-5},
                        .wall = 0.006,
                        .material = wall_find("pe100")};
    struct kernel_pipe *here = &kernel->pipes[number];
    pipe.friction.factor = kind.factor > 0.0 ? kind.factor : 0.0;
    here->impedance = 5e3;
    struct memory_wishes wishes = {
        kind.is_unsteady, kind.is_creeping, &pipe, &water, reaches, 400.0, 4e-3, kernel->step};
    cr_assert(memory_new(&here->memory, &wishes, arena, &failure));
    struct loss_law law = {&pipe_element,    &pipe, &water, reaches, memory_impedance(here),
                           pipe_area(&pipe), 4e-3};
    cr_assert(kind.factor < 0.0 || loss_init(&here->loss, &law, arena, &failure));
}

/* A long pipe and a short one; water boils `depth` m under the start. */
static void make_long(struct kernel *kernel, int nodes, struct kind kind, double depth,
                      struct arena *arena)
{
    struct failure failure;
    const int reaches[] = {nodes - 1, 40};
    static double vapour[LONGEST_NODES];
    cr_assert(kernel_init(kernel, 2, reaches, arena, &failure));
    kernel->step = 0.0045;
    for (int i = 0; i < 2; i++) {
        make_pipe(kernel, i, nodes, kind, arena);
        kernel_start(kernel, i, 300.0, 4e-3);
        for (int j = 0; j <= reaches[i]; j++) {
            vapour[j] = kernel_head(kernel, i, j) - depth;
        }
        kernel_set_vapour(kernel, i, vapour);
    }
}

static void step_long(struct kernel *kernel, int step)
{
    kernel_step(kernel);
    for (int i = 0; i < 2; i++) {
        kernel_enter(kernel, i, KERNEL_START, 300.0 - 9.0 * (step % 200 > 50 ? 1.0 : 0.0));
        kernel_enter(kernel, i, KERNEL_END,
                     0.5 * (kernel_arrived(kernel, i, KERNEL_END) + 60.0) + 8.0 * sin(0.1 * step));
    }
}

static void check_kernels(const struct kernel *ahead, const struct kernel *plain, int step)
{
    for (int64_t i = 0; i < plain->node_count; i++) {
        cr_assert_eq(row_right(ahead)[i], row_right(plain)[i], "step %d, node %ld", step, (long)i);
        cr_assert_eq(row_left(ahead)[i], row_left(plain)[i], "step %d, node %ld", step, (long)i);
        cr_assert_float_eq(ahead->highest[i], plain->highest[i], slopes_tolerance,
                           "step %d, node %ld", step, (long)i);
        cr_assert_float_eq(ahead->lowest[i], plain->lowest[i], slopes_tolerance,
                           "step %d, node %ld", step, (long)i);
        cr_assert_eq(ahead->volume[i], plain->volume[i], "step %d, node %ld", step, (long)i);
    }
    for (int i = 0; i <= plain->pipes[0].reaches; i++) {
        cr_assert_eq(kernel_head(ahead, 0, i), kernel_head(plain, 0, i), "step %d, node %d", step,
                     i);
        cr_assert_eq(kernel_flow(ahead, 0, i), kernel_flow(plain, 0, i), "step %d, node %d", step,
                     i);
    }
}

/* --- limits --- */

/* Lowest and highest of a pipe's waves one way, and its lowest head inside. */
static struct bounds reach_of(const double wave[], int reaches)
{
    struct bounds bounds = {HUGE_VAL, -HUGE_VAL};
    for (int i = 0; i <= reaches; i++) {
        bounds.least = fmin(bounds.least, wave[i]);
        bounds.most = fmax(bounds.most, wave[i]);
    }
    return bounds;
}

/* Whatever a pipe remembers, none of its values is outside what is known of it, nor is that much
 * wider than they are; and no head inside is lower than was said before the move. */
static void check_limits(const struct kernel *kernel, int number, int step)
{
    const struct kernel_pipe *pipe = &kernel->pipes[number];
    const struct bounds right = reach_of(row_right(kernel) + pipe->first, pipe->reaches);
    const struct bounds left = reach_of(row_left(kernel) + pipe->first, pipe->reaches);
    cr_assert(right.least >= pipe->least_right && right.most <= pipe->most_right, "%d", step);
    cr_assert(left.least >= pipe->least_left && left.most <= pipe->most_left, "%d", step);
    cr_assert_lt(pipe->most_right - pipe->least_right, 2.0 * (right.most - right.least) + 2000.0,
                 "pipe %d, step %d: %g", number, step, pipe->most_right - pipe->least_right);
    cr_assert_lt(pipe->most_left - pipe->least_left, 2.0 * (left.most - left.least) + 2000.0,
                 "pipe %d, step %d: %g", number, step, pipe->most_left - pipe->least_left);
    for (int i = 1; i < pipe->reaches; i++) {
        cr_assert_geq(kernel_head(kernel, number, i), pipe->lowest_next - 1e-9, "%d", step);
    }
}

Test(surge_fast, limits_hold_all_values)
{
    for (int k = 0; k < KINDS; k++) {
        struct arena *arena = arena_new();
        struct failure failure;
        struct kernel kernel;
        cr_assert(kernel_init(&kernel, 2, (int[]){60, 40}, arena, &failure));
        kernel.step = 0.0045;
        for (int i = 0; i < 2; i++) {
            make_pipe(&kernel, i, LONG_NODES, kinds[k], arena);
            kernel_start(&kernel, i, 300.0, 4e-3);
        }
        for (int step = 1; step <= 400; step++) {
            step_long(&kernel, step);
            for (int i = 0; i < 2 && !kernel.pipes[i].is_unbounded; i++) {
                check_limits(&kernel, i, step);
            }
        }
        arena_free(arena);
    }
}

/* --- middles ahead --- */

/* Promises of all lengths against none; returns whether a middle went ahead, and in *boiled whether
 * a cavity opened while one was. */
static bool hold_ahead(int nodes, int steps, struct kind kind, double depth, bool *boiled)
{
    struct arena *arena = arena_new();
    struct kernel ahead;
    struct kernel plain;
    bool has_gone = false;
    make_long(&ahead, nodes, kind, depth, arena);
    make_long(&plain, nodes, kind, depth, arena);
    *boiled = false;
    int left = 0;
    for (int step = 1; step <= steps; step++) {
        if (left == 0) {
            left = 1 + (step * 7 + 9) % 83;
        }
        kernel_promise(&ahead, left);
        step_long(&ahead, step);
        step_long(&plain, step);
        bool is_ahead = ahead.ahead > 0 && ahead.pipes[0].is_ahead;
        has_gone = has_gone || is_ahead;
        *boiled = *boiled || (is_ahead && ahead.pipes[0].cavity_count > 0);
        for (int i = 0; i < 2; i++) {
            cr_assert_eq(kernel_arrived(&ahead, i, KERNEL_START),
                         kernel_arrived(&plain, i, KERNEL_START));
            cr_assert_eq(kernel_arrived(&ahead, i, KERNEL_END),
                         kernel_arrived(&plain, i, KERNEL_END));
        }
        if (--left == 0) {
            check_kernels(&ahead, &plain, step);
        }
    }
    arena_free(arena);
    return has_gone;
}

Test(surge_fast, middles_that_go_ahead_have_the_digits_of_steps_one_by_one)
{
    for (int i = 0; i < KINDS; i++) {
        bool boiled;
        cr_expect(hold_ahead(LONG_NODES, LONG_STEPS, kinds[i], 500.0, &boiled), "%d", i);
        cr_expect_not(boiled);
    }
}

/* Many stretches of strands (solver/surge/fold.h), which lie in
 * one interval of the table each, or not. */
Test(surge_fast, tiles_of_a_longest_pipe_have_the_digits_of_steps_one_by_one)
{
    for (int i = 0; i < 3; i++) {
        bool boiled;
        cr_expect(hold_ahead(LONGEST_NODES, LONGEST_STEPS, kinds[i], 500.0, &boiled), "%d", i);
    }
}

/* Waves all along a longest pipe, among extremes that they will pass in some places. */
static void fill_with_waves(struct kernel *kernel)
{
    for (int i = 0; i < LONGEST_NODES; i++) {
        const double room = 6.0 + 6.0 * sin(0.0011 * i);
        const double level = row_mean(kernel, i);
        row_right(kernel)[i] += 5.0 * sin(0.019 * i) + 2e-4 * i;
        row_left(kernel)[i] += 5.0 * sin(0.013 * i);
        kernel->highest[i] = fmax(level + room, row_mean(kernel, i));
        kernel->lowest[i] = fmin(level - room, row_mean(kernel, i));
    }
    limits_forget(&kernel->pipes[0]);
}

/* Stretches in which no extreme can be passed leave them alone (solver/surge/lean.h). */
static void hold_extremes(struct kind kind)
{
    struct arena *arena = arena_new();
    struct kernel ahead;
    struct kernel plain;
    static double before[LONGEST_NODES];
    int grown = 0;
    make_long(&ahead, LONGEST_NODES, kind, 500.0, arena);
    make_long(&plain, LONGEST_NODES, kind, 500.0, arena);
    fill_with_waves(&ahead);
    fill_with_waves(&plain);
    memcpy(before, plain.highest, sizeof before);
    for (int left = 3 * AHEAD_STEPS; left > 0; left--) {
        kernel_promise(&ahead, left);
        step_long(&ahead, left);
        step_long(&plain, left);
    }
    check_kernels(&ahead, &plain, 0);
    for (int i = 0; i < LONGEST_NODES; i++) {
        grown += plain.highest[i] > before[i];
    }
    cr_assert(ahead.pipes[0].is_ahead);
    cr_assert(grown > LONGEST_NODES / 8 && grown < LONGEST_NODES / 2, "%d", grown);
    arena_free(arena);
}

Test(surge_fast, extremes_of_quiet_stretches_have_the_digits_of_steps_one_by_one)
{
    for (int i = 0; i < 3; i++) {
        hold_extremes(kinds[i]);
    }
}

enum { SHARED_PIPES = 4, SHARED_STEPS = 150 };

/* Pipes long enough to be shared by threads, and some for one thread each. */
static void make_shared(struct kernel *kernel, struct kind kind, int workers, struct arena *arena)
{
    struct failure failure;
    const int reaches[SHARED_PIPES] = {LONGEST_NODES - 1, 11000, 40, LONGEST_NODES / 2};
    cr_assert(kernel_init(kernel, SHARED_PIPES, reaches, arena, &failure));
    kernel_share(kernel, workers);
    kernel->step = 0.0045;
    for (int i = 0; i < SHARED_PIPES; i++) {
        make_pipe(kernel, i, LONGEST_NODES, kind, arena);
        kernel_start(kernel, i, 300.0, 4e-3);
    }
}

/* Steps one by one, then many at a time; in shares of some threads and by one. */
static void hold_shared(struct kind kind, int workers)
{
    struct arena *arena = arena_new();
    struct kernel kernels[2];
    make_shared(&kernels[0], kind, workers, arena);
    make_shared(&kernels[1], kind, 1, arena);
    for (int step = 1; step <= SHARED_STEPS; step++) {
        for (int k = 0; k < 2; k++) {
            kernel_promise(&kernels[k], step < 9 ? 0 : SHARED_STEPS - step + 1);
            kernel_step(&kernels[k]);
            for (int i = 0; i < SHARED_PIPES; i++) {
                kernel_enter(&kernels[k], i, KERNEL_START, 300.0 - 9.0 * (step % 70 > 20));
                kernel_enter(&kernels[k], i, KERNEL_END, 60.0 + 8.0 * sin(0.1 * step));
            }
        }
        if (step < 9 || step == SHARED_STEPS) {
            check_kernels(&kernels[0], &kernels[1], step);
        }
    }
    cr_assert(kernels[0].pipes[0].is_ahead);
    arena_free(arena);
}

/* Some number of threads, also more than the machine has and not a divisor of the tiles. */
Test(surge_fast, threads_that_share_pipes_have_the_digits_of_one)
{
    hold_shared(kinds[1], 2);
    hold_shared(kinds[2], 5);
    hold_shared(kinds[5], 3);
}

/* Waves that enter open cavities near the ends while the middle is ahead. */
Test(surge_fast, cavities_open_beside_middles_that_are_ahead)
{
    for (int i = 0; i < KINDS; i++) {
        bool boiled;
        cr_expect(hold_ahead(LONG_NODES, LONG_STEPS, kinds[i], i < 5 ? 20.0 : 90.0, &boiled), "%d",
                  i);
        cr_expect(boiled, "%d", i);
    }
}

/* Waves of 4 m from both ends, each too small to let the water boil 6 m below, meet in the middle,
 * where it then does. */
Test(surge_fast, cavities_open_where_waves_meet_in_a_middle_that_goes_ahead)
{
    struct arena *arena = arena_new();
    struct kernel kernels[2];
    for (int k = 0; k < 2; k++) {
        make_long(&kernels[k], LONG_NODES, kinds[0], 6.0, arena);
    }
    bool has_gone = false;
    for (int step = 0; step < LONG_NODES / 2 + 70; step++) {
        if (step % 32 == 0) {
            kernel_promise(&kernels[0], 32);
        }
        for (int k = 0; k < 2; k++) {
            kernel_step(&kernels[k]);
            for (int i = 0; i < 2; i++) {
                kernel_enter(&kernels[k], i, KERNEL_START, i == 0 ? 296.0 : 300.0);
                kernel_enter(&kernels[k], i, KERNEL_END, i == 0 ? 296.0 : 300.0);
            }
        }
        has_gone = has_gone || (kernels[0].ahead > 0 && kernels[0].pipes[0].is_ahead);
    }
    cr_expect(has_gone);
    cr_expect_gt(kernels[1].pipes[0].cavity_count, 0);
    cr_expect_eq(kernels[0].pipes[0].cavity_count, kernels[1].pipes[0].cavity_count);
    cr_expect_float_eq(kernels[0].lowest[LONG_NODES / 2], 294.0, 1e-9, "%g",
                       kernels[0].lowest[LONG_NODES / 2]);
    cr_expect_eq(kernels[0].lowest[LONG_NODES / 2], kernels[1].lowest[LONG_NODES / 2]);
    arena_free(arena);
}

/* The same pipe twice, with gas at every node: which place it has in the row changes no digit. */
Test(surge_fast, pipes_with_gas_and_memories_are_the_same_at_any_place)
{
    enum { REACHES = 40 };
    struct arena *arena = arena_new();
    struct failure failure;
    struct kernel kernel;
    double vapour[REACHES + 1];
    double lowest = 60.0;
    cr_assert(kernel_init(&kernel, 2, (int[]){REACHES, REACHES}, arena, &failure));
    kernel.step = 0.01;
    for (int j = 0; j <= REACHES; j++) {
        vapour[j] = 20.0 + 0.1 * j;
    }
    for (int i = 0; i < 2; i++) {
        make_pipe(&kernel, i, REACHES + 1, (struct kind){0.02, true, true}, arena);
        kernel_start(&kernel, i, 60.0, 1e-3);
        kernel_set_vapour(&kernel, i, vapour);
        kernel_set_gas(&kernel, i, 1e-5);
    }
    for (int step = 1; step <= 200; step++) {
        kernel_step(&kernel);
        for (int i = 0; i < 2; i++) {
            kernel_enter(&kernel, i, KERNEL_START, 60.0 - 50.0 * sin(0.05 * step));
            kernel_enter(&kernel, i, KERNEL_END, 50.0);
        }
        for (int j = 0; j <= REACHES; j++) {
            cr_assert_eq(kernel_head(&kernel, 0, j), kernel_head(&kernel, 1, j), "%d %d", step, j);
            lowest = fmin(lowest, kernel_head(&kernel, 0, j) - vapour[j]);
        }
    }
    cr_expect_lt(lowest, 5.0);
    arena_free(arena);
}
