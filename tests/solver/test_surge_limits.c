/* What is known of a pipe's values without looking: bounds that hold, and are no wider than the
 * worst of all corners asks for. Wider ones would only choose a slower pass, which no answer shows.
 */
#include "models/pipe.h"
#include "solver/surge/kernel.h"
#include "solver/surge/limits.h"
#include "solver/surge/memory.h"
#include "tests/solver/random_numbers.h"

#include <criterion/criterion.h>
#include <math.h>

enum { TRIALS = 300 };

/* G of F = r Q|Q| (exact), k = r/B^2. */
static double lost_at(double curvature, double difference)
{
    const double root = 1.0 + sqrt(1.0 + curvature * fabs(difference));
    return curvature * difference * fabs(difference) / (root * root);
}

static struct loss quadratic_loss(double curvature)
{
    return (struct loss){.kind = LOSS_QUADRATIC, .curvature = curvature, .series_end = -1.0};
}

static struct bounds random_bounds(struct random *random, double low, double high)
{
    const double one = random_even(random, low, high);
    const double other = random_even(random, low, high);
    return (struct bounds){fmin(one, other), fmax(one, other)};
}

static void is_close(double value, double wanted, int seed)
{
    cr_assert_float_eq(value, wanted, 1e-12 * (1e-3 + fabs(wanted)), "%d: %g, not %g", seed, value,
                       wanted);
}

/* --- what memories may take --- */

/* The most that friction takes, law and memory each at its worst: every law rises, so over a box of
 * differences and remembered flows it is largest at a corner (interval arithmetic, Moore 1966). */
static double worst_friction(const struct kernel_pipe *pipe, struct bounds difference,
                             struct bounds *flow)
{
    const double total = pipe->memory->friction.total;
    const double ends[] = {difference.least, difference.most};
    const double kept[] = {flow->least, flow->most};
    struct bounds found = *flow;
    double law = 0.0;
    double lagging = 0.0;
    for (int i = 0; i < 4; i++) {
        const double rest = ends[i / 2] + total * kept[i % 2];
        const double lost = lost_at(pipe->loss.curvature, rest);
        const double through = (rest - lost) / (2.0 * pipe->impedance + total);
        law = fmax(law, fabs(lost));
        for (int j = 0; j < 2; j++) {
            lagging = fmax(lagging, total * fabs(through - kept[j]));
        }
        found.least = fmin(found.least, through);
        found.most = fmax(found.most, through);
    }
    *flow = found;
    return law + lagging;
}

Test(surge_limits, friction_with_a_memory_takes_what_its_worst_corner_takes)
{
    struct random random;
    random_seed(&random, 1);
    for (int seed = 0; seed < TRIALS; seed++) {
        const struct bounds between = random_bounds(&random, -0.02, 0.02);
        struct memory memory = {.friction = {.count = 1}};
        memory.friction.total = random_spread(&random, 1, 1e3);
        memory.flow = random_bounds(&random, -1e-4, 1e-4);
        const struct kernel_pipe pipe = {.impedance = random_spread(&random, 10, 1e3),
                                         .loss = quadratic_loss(random_spread(&random, 0.1, 100)),
                                         .memory = &memory};
        struct bounds flow = memory.flow;
        const double worst = worst_friction(&pipe, between, &flow);
        is_close(memory_most_loss(&pipe, between.least, between.most), worst, seed);
        is_close(1e3 * memory.flow.least, 1e3 * flow.least, seed);
        is_close(1e3 * memory.flow.most, 1e3 * flow.most, seed);
    }
}

/* Without a memory it is the law's at the largest |p - m|. */
Test(surge_limits, friction_takes_its_law_of_the_largest_difference)
{
    const struct kernel_pipe pipe = {.impedance = 1e3, .loss = quadratic_loss(0.3)};
    is_close(memory_most_loss(&pipe, -7.0, 2.0), lost_at(0.3, 7.0), 0);
    is_close(memory_most_loss(&pipe, -2.0, 7.0), lost_at(0.3, 7.0), 1);
    is_close(memory_most_loss(&pipe, 2.0, 7.0), lost_at(0.3, 7.0), 2);
    is_close(memory_most_loss(&pipe, -7.0, -2.0), lost_at(0.3, 7.0), 3);
    cr_assert_eq(memory_most_given(&pipe), 0.0);
}

/* Of (1 + total) H = M + total K with M the mean of two values and K what is remembered, or H
 * higher since the water boils, the wall takes 2 total (H - K'): the corners of all three. */
static double worst_given(const struct kernel_pipe *pipe, struct bounds *kept)
{
    const double total = pipe->memory->wall.total;
    const double means[] = {0.5 * (pipe->least_right + pipe->least_left),
                            0.5 * (pipe->most_right + pipe->most_left)};
    const double ends[] = {kept->least, kept->most};
    struct bounds heads = {(double)INFINITY, -(double)INFINITY};
    for (int i = 0; i < 4; i++) {
        const double head = (means[i / 2] + total * ends[i % 2]) / (1.0 + total);
        heads.least = fmin(heads.least, head);
        heads.most = fmax(heads.most, fmax(head, pipe->highest_vapour));
    }
    const double most = fmax(fabs(heads.most - ends[0]), fabs(ends[1] - heads.least));
    *kept = (struct bounds){fmin(kept->least, heads.least), fmax(kept->most, heads.most)};
    return 2.0 * total * most;
}

static void random_pipe(struct random *random, struct kernel_pipe *pipe, struct memory *memory)
{
    const struct bounds right = random_bounds(random, -20, 90);
    const struct bounds left = random_bounds(random, -20, 90);
    *memory = (struct memory){.wall = {.count = 1, .total = random_spread(random, 0.01, 2)}};
    memory->stiffness = 1.0 / (1.0 + memory->wall.total);
    memory->kept = random_bounds(random, -20, 90);
    *pipe = (struct kernel_pipe){.impedance = 1e3,
                                 .loss = quadratic_loss(0.01),
                                 .least_right = right.least,
                                 .most_right = right.most,
                                 .least_left = left.least,
                                 .most_left = left.most,
                                 .highest_vapour = random_even(random, -100, 100),
                                 .memory = memory};
}

Test(surge_limits, wall_gives_what_its_worst_corner_gives)
{
    struct random random;
    random_seed(&random, 2);
    for (int seed = 0; seed < TRIALS; seed++) {
        struct kernel_pipe pipe;
        struct memory memory;
        random_pipe(&random, &pipe, &memory);
        struct bounds kept = memory.kept;
        const double worst = worst_given(&pipe, &kept);
        is_close(memory_most_given(&pipe), worst, seed);
        is_close(memory.kept.least, kept.least, seed);
        is_close(memory.kept.most, kept.most, seed);
    }
}

/* Each term keeps its share of a value: the values are the terms by their shares. Every 32 steps.
 */
Test(surge_limits, memories_are_looked_at_by_their_shares_now_and_then)
{
    enum { STRIDE = 4 };
    double flows[2 * STRIDE] = {2e-3, -4e-3, 6e-3, 9.0, 3e-3, -9e-3, 6e-3, 9.0};
    double heads[STRIDE] = {20, 35, 25, 1e3};
    struct memory memory = {.friction = {.count = 2, .share = {2, 3}, .total = 5},
                            .wall = {.count = 1, .share = {0.5}, .total = 0.5},
                            .flows = flows,
                            .heads = heads,
                            .stride = STRIDE,
                            .flow = {1, 2},
                            .kept = {3, 4},
                            .age = 31};
    const struct kernel_pipe pipe = {.reaches = 2, .memory = &memory};
    memory_look(&pipe);
    cr_assert(memory.flow.most == 2 && memory.kept.least == 3 && memory.age == 31);
    memory.age = 32;
    memory_look(&pipe);
    is_close(memory.flow.least, -3e-3, 0);
    is_close(memory.flow.most, 3e-3, 1);
    is_close(memory.kept.least, 40, 2);
    is_close(memory.kept.most, 70, 3);
    cr_assert_eq(memory.age, 0);
}

/* --- bounds of a pipe --- */

/* Friction without a memory: each loosening is by no less than the largest difference loses, and no
 * more than one a quarter larger does, to a thousandth; asked for anew only each quarter. */
Test(surge_limits, loosening_follows_the_loss_and_asks_for_it_seldom)
{
    static const double mirrored[] = {1.0, -1.0};
    for (int k = 0; k < 2; k++) {
        struct kernel_pipe pipe = {.loss = quadratic_loss(2e-3)};
        limits_forget(&pipe);
        pipe.least_right = pipe.most_right = 10.0 * mirrored[k];
        double before = 0.0;
        int asked = 0;
        for (int i = 0; i < 200; i++) {
            const struct bounds between = limits_differences(&pipe);
            const double most = fmax(between.most, -between.least);
            const double above = pipe.most_right;
            limits_loosen(&pipe, 1);
            const double change = pipe.most_change;
            is_close(pipe.most_right - above, change, i);
            cr_assert(change >= 1.001 * lost_at(2e-3, most) * (1.0 - 1e-12), "%d: %g", i, change);
            cr_assert(change <= 1.001 * lost_at(2e-3, 1.25 * most) * (1.0 + 1e-12), "%d", i);
            if (i == 0) {
                is_close(change, 1.001 * lost_at(2e-3, 12.5), i);
            }
            asked += change > before;
            before = change;
            is_close(pipe.lowest_next, 0.5 * (pipe.least_right + pipe.least_left), i);
        }
        const struct bounds end = limits_differences(&pipe);
        const double grown = log(fmax(end.most, -end.least) / 10.0) / log(1.25);
        cr_assert(asked >= 3 && asked <= (int)grown + 1, "%d of %g", asked, grown);
        cr_assert_eq(pipe.bounds_age, 200);
    }
}

/* With memories: both worst corners, a thousandth more, at all four bounds. */
Test(surge_limits, loosening_reckons_with_what_walls_and_flows_remember)
{
    struct random random;
    random_seed(&random, 3);
    for (int seed = 0; seed < TRIALS; seed++) {
        struct kernel_pipe pipe;
        struct memory memory;
        random_pipe(&random, &pipe, &memory);
        memory.friction = (struct fading){.count = 1, .total = random_spread(&random, 1, 1e3)};
        memory.flow = random_bounds(&random, -1e-2, 1e-2);
        const struct kernel_pipe old = pipe;
        struct bounds flow = memory.flow;
        struct bounds kept = memory.kept;
        const struct bounds between = {pipe.least_right - pipe.most_left,
                                       pipe.most_right - pipe.least_left};
        const double lost = worst_friction(&pipe, between, &flow);
        const double given = worst_given(&pipe, &kept);
        limits_loosen(&pipe, 1);
        const double change = 1.001 * (lost + given);
        is_close(pipe.most_change, change, seed);
        is_close(pipe.least_right, old.least_right - change, seed);
        is_close(pipe.most_right, old.most_right + change, seed);
        is_close(pipe.least_left, old.least_left - change, seed);
        is_close(pipe.most_left, old.most_left + change, seed);
        const double next = worst_given(&pipe, &kept);
        is_close(pipe.lowest_next, 0.5 * (pipe.least_right + pipe.least_left) - 0.5 * next, seed);
        cr_assert(pipe.bounds_age == 1 && memory.age == 1);
        const double again = pipe.most_right;
        limits_loosen(&pipe, 3);
        cr_assert(pipe.most_right > again + 3.0 * change * (1.0 - 1e-12));
        cr_assert(pipe.bounds_age == 4 && memory.age == 4);
    }
}

/* A look finds the bounds of all nodes and what the wall may add; known ones stand for 32 steps. */
Test(surge_limits, looks_find_all_nodes_and_are_taken_now_and_then)
{
    enum { REACHES = 40 };
    struct arena *arena = arena_new();
    struct failure failure;
    struct kernel kernel;
    cr_assert(kernel_init(&kernel, 2, (int[]){50, REACHES}, arena, &failure));
    struct kernel_pipe *pipe = &kernel.pipes[1];
    struct memory memory = {
        .wall = {.count = 1, .total = 0.3}, .stiffness = 1.0 / 1.3, .kept = {30.0, 50.0}};
    pipe->impedance = 1e3;
    pipe->memory = &memory;
    pipe->highest_vapour = -1e3;
    for (int i = 0; i <= REACHES; i++) {
        row_right(&kernel)[51 + i] = 40.0 + (i == 0) * 7.0 - (i == REACHES) * 9.0;
        row_left(&kernel)[51 + i] = 41.0 + (i == REACHES) * 5.0 - (i == 0) * 3.0;
    }
    limits_forget(pipe);
    limits_renew(&kernel, pipe);
    cr_assert(pipe->least_right == 31.0 && pipe->most_right == 47.0);
    cr_assert(pipe->least_left == 38.0 && pipe->most_left == 46.0);
    struct bounds kept = {30.0, 50.0};
    is_close(pipe->lowest_next, 34.5 - 0.5 * worst_given(pipe, &kept), 0);
    row_right(&kernel)[51 + 5] = 60.0;
    pipe->bounds_age = 31;
    limits_renew(&kernel, pipe);
    cr_assert_eq(pipe->most_right, 47.0);
    pipe->bounds_age = 32;
    limits_renew(&kernel, pipe);
    cr_assert(pipe->most_right == 60.0 && pipe->bounds_age == 0);
    arena_free(arena);
}

static void check_unbounded(const struct kernel_pipe *pipe)
{
    cr_assert(pipe->least_right == -HUGE_VAL && pipe->most_right == HUGE_VAL);
    cr_assert(pipe->least_left == -HUGE_VAL && pipe->most_left == HUGE_VAL);
    cr_assert_eq(pipe->lowest_next, -HUGE_VAL, "%g", pipe->lowest_next);
    cr_assert_eq(pipe->most_change, HUGE_VAL, "%g", pipe->most_change);
}

/* Bounds that nobody looks at outgrow all numbers: then they are infinite, and water may boil. A
 * look finds them again, and friction then takes no more than it did. */
Test(surge_limits, bounds_beyond_all_numbers_are_infinite_and_found_again)
{
    enum { REACHES = 40, LONG_WHILE = 100, FOR_EVER = 3000 };
    struct arena *arena = arena_new();
    struct failure failure;
    struct kernel kernel;
    cr_assert(kernel_init(&kernel, 1, (int[]){REACHES}, arena, &failure));
    struct kernel_pipe *pipe = &kernel.pipes[0];
    pipe->impedance = 1e3;
    pipe->loss = quadratic_loss(2e-3);
    for (int i = 0; i <= REACHES; i++) {
        row_right(&kernel)[i] = 40.0;
        row_left(&kernel)[i] = 30.0;
    }
    limits_find(&kernel, pipe);
    limits_loosen(pipe, 1);
    const double change = pipe->most_change;
    for (int times = LONG_WHILE; times <= FOR_EVER; times += FOR_EVER - LONG_WHILE) {
        limits_loosen(pipe, times);
        cr_assert_gt(pipe->most_change, 4.0 * change);
        if (times == FOR_EVER) {
            check_unbounded(pipe);
        }
        limits_find(&kernel, pipe);
        limits_loosen(pipe, 1);
        cr_assert_eq(pipe->most_change, change);
    }
    arena_free(arena);
}

Test(surge_limits, bounds_beyond_all_numbers_are_infinite_with_memories_too)
{
    struct random random;
    struct kernel_pipe pipe;
    struct memory memory;
    random_seed(&random, 4);
    random_pipe(&random, &pipe, &memory);
    memory.friction = (struct fading){.count = 1, .total = 1e3};
    limits_loosen(&pipe, 3000);
    check_unbounded(&pipe);
}

/* --- along the gradient --- */

enum { REACHES = 97 };

/* Steady flow by a table of friction, in which the head falls much from end to end. */
static void make_steep(struct kernel *kernel, double flow, struct arena *arena)
{
    static const struct water water = {
        .gravity = 9.81, .viscosity = 1e-6, .density = 1000.0, .bulk_modulus = 2.19e9};
    static const struct pipe pipe = {.friction = {.length = 2000.0, .bore = 0.1, .roughness = 1e-5},
                                     .wall = 0.006};
    struct failure failure;
    const double area = pipe_area(&pipe);
    const int reaches = REACHES;
    cr_assert(kernel_init(kernel, 1, &reaches, arena, &failure));
    kernel->pipes[0].impedance = 400.0 / (9.81 * area);
    const struct loss_law law = {&pipe_element, &pipe, &water, reaches, kernel->pipes[0].impedance,
                                 area,          flow};
    cr_assert(loss_init(&kernel->pipes[0].loss, &law, arena, &failure));
    cr_assert_eq(kernel->pipes[0].loss.kind, LOSS_TABLE);
    kernel_start(kernel, 0, 80.0, flow);
}

/* No value is outside what is known of it along the gradient, nor any difference. */
static void check_grade(const struct kernel *kernel, int step)
{
    const struct kernel_pipe *pipe = &kernel->pipes[0];
    const struct grade *grade = &pipe->grade;
    const struct bounds between = limits_differences(pipe);
    cr_assert(grade->is_known);
    for (int i = 0; i <= REACHES; i++) {
        const double right = row_right(kernel)[i];
        const double left = row_left(kernel)[i];
        const double level = right + grade->fall * i;
        const double back = left + grade->fall * i;
        cr_assert(level >= grade->least_right && level <= grade->most_right, "%d, %d", step, i);
        cr_assert(back >= grade->least_left && back <= grade->most_left, "%d, %d", step, i);
        cr_assert(right - left >= between.least && right - left <= between.most, "%d", step);
    }
}

/* Whatever enters, both ways. */
Test(surge_limits, differences_along_the_gradient_hold_all_values)
{
    struct random random;
    random_seed(&random, 3);
    for (int seed = 0; seed < 40; seed++) {
        struct arena *arena = arena_new();
        struct kernel kernel;
        const double size = random_spread(&random, 1e-3, 60.0);
        make_steep(&kernel, random_even(&random, -0.02, 0.02), arena);
        const double last = kernel_head(&kernel, 0, REACHES);
        for (int step = 0; step < 300; step++) {
            kernel_step(&kernel);
            const double swing = random_even(&random, -size, size);
            kernel_enter(&kernel, 0, KERNEL_START, 80.0 + (step % 90 < 45 ? 0.0 : swing));
            kernel_enter(&kernel, 0, KERNEL_END, last - (step % 70 < 35 ? swing : size));
            check_grade(&kernel, step);
        }
        arena_free(arena);
    }
}

/* Also where all values are looked at between friction and the waves' move, since water is near
 * boiling: each step, but none boils. */
Test(surge_limits, differences_along_the_gradient_hold_near_boiling)
{
    static const double flows[] = {0.01, -0.01};
    for (int k = 0; k < 2; k++) {
        struct arena *arena = arena_new();
        struct kernel kernel;
        double vapour[REACHES + 1];
        make_steep(&kernel, flows[k], arena);
        const double last = kernel_head(&kernel, 0, REACHES);
        const double rise = (last - 80.0) / REACHES;
        for (int i = 0; i <= REACHES; i++) {
            vapour[i] = 80.0 + rise * i - 2.0;
        }
        kernel_set_vapour(&kernel, 0, vapour);
        for (int step = 0; step < 100; step++) {
            kernel_step(&kernel);
            cr_assert_lt(kernel.pipes[0].lowest_next, kernel.pipes[0].highest_vapour);
            cr_assert_eq(kernel.cavity_count, 0);
            kernel_enter(&kernel, 0, KERNEL_START, 80.0);
            kernel_enter(&kernel, 0, KERNEL_END, last);
            check_grade(&kernel, step);
        }
        arena_free(arena);
    }
}

/* In steady flow they stay close together, however much the head falls from end to end; without
 * the gradient they are as far apart as the heads of both ends. */
Test(surge_limits, differences_along_the_gradient_are_close_in_steady_flow)
{
    static const double flows[] = {0.01, -0.01};
    for (int k = 0; k < 2; k++) {
        struct arena *arena = arena_new();
        struct kernel kernel;
        make_steep(&kernel, flows[k], arena);
        const double last = kernel_head(&kernel, 0, REACHES);
        const double difference = row_right(&kernel)[0] - row_left(&kernel)[0];
        for (int step = 0; step < 100; step++) {
            kernel_step(&kernel);
            kernel_enter(&kernel, 0, KERNEL_START, 80.0);
            kernel_enter(&kernel, 0, KERNEL_END, last);
            const struct bounds between = limits_differences(&kernel.pipes[0]);
            cr_assert(between.most - between.least < 2e-3 * fabs(difference), "%d: %g", step,
                      between.most - between.least);
        }
        cr_assert_gt(fabs(80.0 - last), 0.2 * fabs(difference));
        arena_free(arena);
    }
}
