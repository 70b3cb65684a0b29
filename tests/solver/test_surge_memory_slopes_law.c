/* What is found of slopes and what they are judged by, beside the words of
 * solver/surge/memory_slopes.h written plainly. */
#include "models/pipe.h"
#include "solver/surge/kernel.h"
#include "solver/surge/limits.h"
#include "solver/surge/memory.h"
#include "solver/surge/memory_slopes.h"
#include "solver/surge/slopes.h"
#include "tests/solver/random_numbers.h"

#include <criterion/criterion.h>
#include <float.h>
#include <math.h>

enum { REACHES = 800, NODES = REACHES + 1 };

static const struct water water = {
    .gravity = 9.81, .viscosity = 1e-6, .density = 1000.0, .bulk_modulus = 2.19e9};

/* Kinds 0 to 2: friction and wall remembered, friction, wall. */
static void make(struct kernel *kernel, int kind, bool has_loss, struct arena *arena)
{
    const int reaches = REACHES;
    struct failure failure;
    struct pipe pipe = {.friction = {.bore = 0.1, .roughness = 1e-4, .length = 300.0},
                        .wall = 0.006,
                        .material = wall_find("pe100")};
    cr_assert(kernel_init(kernel, 1, &reaches, arena, &failure));
    kernel->step = pipe.friction.length / 400.0 / reaches;
    struct kernel_pipe *here = &kernel->pipes[0];
    here->impedance = 5e3;
    const struct memory_wishes wishes = {kind != 2, kind != 1, &pipe, &water,
                                         reaches,   400.0,     4e-3,  kernel->step};
    cr_assert(memory_new(&here->memory, &wishes, arena, &failure));
    const struct loss_law law = {&pipe_element,          &pipe, &water, 40,
                                 memory_impedance(here), 0.008, 4e-3};
    cr_assert(!has_loss || loss_init(&here->loss, &law, arena, &failure));
    kernel_start(kernel, 0, 100.0, 4e-3);
}

Test(surge_memory_slopes_law, law_is_what_the_header_tells)
{
    for (int trial = 0; trial < 48; trial++) {
        struct arena *arena = arena_new();
        struct kernel kernel;
        struct random random;
        random_seed(&random, (uint64_t)trial);
        make(&kernel, trial % 3, trial % 4 != 0, arena);
        struct kernel_pipe *pipe = &kernel.pipes[0];
        struct memory *memory = pipe->memory;
        const int steps = 1 + random_pick(&random, 64);
        const double middle = random_even(&random, -300.0, 300.0);
        const double wide = random_spread(&random, 1.0, 60.0);
        pipe->least_right = middle - wide * random_even(&random, 0.1, 1.0);
        pipe->most_right = middle + wide * random_even(&random, 0.1, 1.0);
        pipe->least_left = middle - wide * random_even(&random, 0.1, 1.0);
        pipe->most_left = middle + wide * random_even(&random, 0.1, 1.0);
        memory->flow = (struct bounds){random_even(&random, -0.01, 0.01), 0.0};
        memory->flow.most = memory->flow.least + random_even(&random, 0.0, 0.01);

        double lags = 0.0;
        double shares = 0.0;
        double goes_on = 0.0;
        for (int k = 0; k < memory->friction.count; k++) {
            lags += memory->friction.share[k];
        }
        for (int k = 0; k < memory->wall.count; k++) {
            shares += memory->wall.share[k];
            goes_on += memory->wall.share[k] * (1.0 - memory->wall.fade[k]);
        }
        const double flow = fmax(fabs(memory->flow.least), fabs(memory->flow.most));
        const double difference = fmax(fabs(pipe->most_right - pipe->least_left),
                                       fabs(pipe->least_right - pipe->most_left));
        const double steepest = loss_steepest(&pipe->loss, difference + lags * flow);
        const double mixed = pipe->impedance / (pipe->impedance + 0.5 * lags);
        const double plain =
            steepest + (1.0 - mixed) + 2.0 * lags / (2.0 * pipe->impedance) + 2.0 * shares;
        const struct memory_slopes_law law = memory_slopes_law_of(pipe, steps);
        cr_expect_eq(law.steps, steps);
        cr_expect_float_eq(law.change, plain + 0.001 * steepest, 1e-12 * plain, "%d: %g %g", trial,
                           law.change, plain); /* slopes of a table are known so well */
        cr_expect_float_eq(law.given, shares + goes_on, 1e-12 * (shares + goes_on) + 1e-300);
        const double largest = fmax(fmax(fabs(pipe->least_right), fabs(pipe->most_right)),
                                    fmax(fabs(pipe->least_left), fabs(pipe->most_left)));
        const double rounding = 32.0 * 0.5 * DBL_EPSILON * steps * largest;
        cr_expect_float_eq(law.rounding, rounding, 0.05 * rounding);
        arena_free(arena);
    }
}

/* Bounds of v[i + 1] - v[i] over `count` nodes, each times `factor`. */
static struct bounds plain_slopes(int count, const double *value, double factor)
{
    struct bounds all = {(double)INFINITY, -(double)INFINITY};
    for (int i = 0; i < count; i++) {
        const double slope = factor * (value[i + 1] - value[i]);
        all.least = fmin(all.least, slope);
        all.most = fmax(all.most, slope);
    }
    return all;
}

static void expect_bounds(struct bounds found, struct bounds wanted, const char *what, int count)
{
    const double blur = 1e-12 * fmax(fabs(wanted.least), fabs(wanted.most));
    cr_expect(found.least == wanted.least || fabs(found.least - wanted.least) <= blur,
              "%s of %d: %.17g not %.17g", what, count, found.least, wanted.least);
    cr_expect(found.most == wanted.most || fabs(found.most - wanted.most) <= blur,
              "%s of %d: %.17g not %.17g", what, count, found.most, wanted.most);
}

static void roughen(struct random *random, double *value, double slope, double size)
{
    for (int i = 0; i < NODES; i++) {
        value[i] = slope * i + random_even(random, -size, size);
    }
}

static void hold_remembered(const struct kernel *kernel, int node, int count,
                            const struct memory_slopes *found)
{
    const struct memory *memory = kernel->pipes[0].memory;
    const double *right = row_right(kernel) + node;
    const double *left = row_left(kernel) + node;
    struct bounds kept = {(double)INFINITY, -(double)INFINITY};
    double lagging = 0.0;
    double away = 0.0;
    for (int k = 0; k < memory->friction.count; k++) {
        const struct bounds term =
            plain_slopes(count, memory->flows + k * memory->stride + node, 1.0);
        lagging += fmax(fabs(term.least), fabs(term.most));
    }
    for (int k = 0; k < memory->wall.count; k++) {
        const double *term = memory->heads + k * memory->stride + node;
        const double share = memory->wall.share[k];
        const struct bounds slopes = plain_slopes(count, term, 1.0 / share);
        kept.least = fmin(kept.least, slopes.least);
        kept.most = fmax(kept.most, slopes.most);
        for (int i = 0; i <= count; i++) {
            away = fmax(away, fabs(term[i] / share - (right[i] + left[i]) / 2.0));
        }
    }
    expect_bounds(found->kept, kept, "what the wall keeps", count);
    cr_expect_float_eq(found->lagging, lagging, 1e-12 * lagging);
    cr_expect_float_eq(found->away, away, 1e-12 * away);
}

/* All values of the row are rough, so that one node too few or too many is seen. */
Test(surge_memory_slopes_law, slopes_are_those_of_the_nodes)
{
    static const int counts[] = {1, 2, 255, 256, 257, 300, 511, 512, 513, 700};
    for (int trial = 0; trial < 60; trial++) {
        struct arena *arena = arena_new();
        struct kernel kernel;
        struct random random;
        struct memory_slopes found;
        random_seed(&random, (uint64_t)trial);
        make(&kernel, trial % 3, false, arena);
        struct memory *memory = kernel.pipes[0].memory;
        const int count = counts[trial % 10];
        const int node = random_pick(&random, REACHES - count + 1);
        const double turn = trial / 10 % 2 == 0 ? 1.0 : -1.0; /* heads rise, or fall */
        const bool has_way = trial / 20 % 3 != 2;
        roughen(&random, row_right(&kernel), -turn * 3.0, 1.0);
        roughen(&random, row_left(&kernel), turn * 3.0, has_way ? 1.0 : 1e4);
        for (int k = 0; k < memory->friction.count; k++) {
            roughen(&random, memory->flows + k * memory->stride, 0.0, 0.01);
        }
        for (int k = 0; k < memory->wall.count; k++) {
            roughen(&random, memory->heads + k * memory->stride, 0.0, 0.3);
        }
        memory_slopes_find(&kernel, &kernel.pipes[0], node, count, &found);
        expect_bounds(found.right, plain_slopes(count, row_right(&kernel) + node, 1.0), "p", count);
        expect_bounds(found.left, plain_slopes(count, row_left(&kernel) + node, 1.0), "m", count);
        if (has_way || count == 1) {
            hold_remembered(&kernel, node, count, &found);
        } else {
            cr_expect(found.lagging == 0.0 && found.away == 0.0 && found.kept.least > 0.0);
        }
        arena_free(arena);
    }
}

/* Nothing is told of no nodes. What is remembered is looked at where waves alone, in one step, are
 * within the tolerance of rising or falling. */
Test(surge_memory_slopes_law, memory_is_looked_at_where_it_may_count)
{
    for (int trial = 0; trial < 4; trial++) {
        struct arena *arena = arena_new();
        struct kernel kernel;
        struct memory_slopes found;
        const double size = -slopes_allowed(1) * (trial % 2 == 0 ? 0.999 : 1.001);
        make(&kernel, 0, false, arena);
        for (int i = 0; i < NODES; i++) {
            row_right(&kernel)[i] = 0.0;
            row_left(&kernel)[i] = 0.0;
        }
        /* One slope up, one down, of p or m. */
        (trial < 2 ? row_right(&kernel) : row_left(&kernel))[300] = size;
        memory_slopes_find(&kernel, &kernel.pipes[0], 100, 400, &found);
        cr_expect_eq(found.away > 0.0, trial % 2 == 0, "%d: %g", trial, found.away);
        memory_slopes_find(&kernel, &kernel.pipes[0], 100, 0, &found);
        cr_expect(found.right.least > found.right.most && found.left.least > found.left.most &&
                  found.kept.least > found.kept.most && found.away == 0.0 && found.lagging == 0.0);
        arena_free(arena);
    }
}

/* --- ways --- */

/* Slopes over which somebody stands: p below m by `rise`, hull from -wide to 2 wide by whichever of
 * the three; scattered over pieces so that each extreme is in another one. */
static void scatter(struct random *random, double rise, double wide, double lagging, double away,
                    int pieces, struct memory_slopes piece[])
{
    const int low = random_pick(random, 3);
    const int high = random_pick(random, 3);
    struct bounds right = {-0.2 * wide, -0.1 * wide};
    struct bounds left = {right.most + rise, right.most + rise + 0.1 * wide};
    struct bounds kept = {-0.3 * wide, 0.3 * wide};
    *(low == 0 ? &kept.least : &right.least) = -wide;
    *(high == 0 ? &kept.most : &left.most) = 2.0 * wide;
    const struct memory_slopes inside = {
        .right = {right.most, right.most}, .left = {left.least, left.least}, .kept = {0.0, 0.0}};
    for (int i = 0; i < pieces; i++) {
        piece[i] = inside;
    }
    piece[random_pick(random, pieces)].right.least = right.least;
    piece[random_pick(random, pieces)].left.most = left.most;
    piece[random_pick(random, pieces)].kept.least = kept.least;
    piece[random_pick(random, pieces)].kept.most = kept.most;
    piece[random_pick(random, pieces)].lagging = lagging;
    piece[random_pick(random, pieces)].away = away;
    for (int i = 0; i < pieces; i++) { /* but for one of each, further from each other */
        if (i != random_pick(random, pieces) && pieces > 1) {
            piece[i].right.most = right.least + 0.5 * (right.most - right.least);
            piece[i].right.least = fmin(piece[i].right.least, piece[i].right.most);
        }
    }
    piece[random_pick(random, pieces)].right.most = right.most;
}

/* Heads that fall instead: p and m change places. */
static void swap(int pieces, struct memory_slopes piece[])
{
    for (int i = 0; i < pieces; i++) {
        const struct bounds right = piece[i].right;
        piece[i].right = piece[i].left;
        piece[i].left = right;
    }
}

/* The slopes that just rise after all that can change them, and those that just do not. */
Test(surge_memory_slopes_law, ways_are_told_up_to_the_last_that_follows)
{
    struct random random;
    random_seed(&random, 3);
    for (int trial = 0; trial < 400; trial++) {
        struct memory_slopes piece[5];
        const int pieces = 1 + trial % 5;
        const double n = 1 + random_pick(&random, 60);
        const double q = random_even(&random, 0.0, 0.25);
        const double wide = random_spread(&random, 1e-6, 1e-2);
        const double lagging = trial % 3 == 0 ? 0.0 : random_even(&random, 0.0, 1e-2) * wide;
        const double away = trial % 4 == 0 ? 0.0 : random_even(&random, 0.0, 1.0) * wide;
        const struct memory_slopes_law law = {.steps = (int)n,
                                              .change = q / n,
                                              .given = 1e-3 * random_even(&random, 0.0, 1.0),
                                              .rounding = 1e-2 * wide * random_even(&random, 0, 1)};
        const double width = (3.0 * wide + 4.0 * n * lagging) / (1.0 - 2.0 * q);
        const double each = q * width + 2.0 * n * lagging;
        const double apart = 1.3 * (away + n * width / 2.0);
        const double changed = 2.0 * each + 4.0 * law.given * apart + 4.0 * law.rounding;
        const double just = changed - 2.0 * slopes_tolerance / n;
        for (int side = -1; side <= 1; side += 2) {
            const unsigned wanted = side > 0 ? MEMORY_RISES : 0U;
            const double rise = just + side * 1e-6 * wide;
            if (rise > 2.0 * wide) {
                continue; /* the hull would be another one */
            }
            scatter(&random, rise, wide, lagging, away, pieces, piece);
            cr_expect_eq(memory_slopes_ways(pieces, piece, &law), wanted, "%d %d", trial, side);
            swap(pieces, piece);
            cr_expect_eq(memory_slopes_ways(pieces, piece, &law),
                         wanted == 0U ? 0U : (unsigned)MEMORY_FALLS, "%d %d", trial, side);
        }
    }
}

/* With q above 1/4 the widths that follow are not bounded. */
Test(surge_memory_slopes_law, nothing_is_told_of_steps_in_which_much_changes)
{
    struct memory_slopes piece = {.right = {0.0, 0.0}};
    struct memory_slopes_law law = {.steps = 10, .change = 0.02499};
    cr_expect_eq(memory_slopes_ways(1, &piece, &law), MEMORY_RISES | MEMORY_FALLS);
    law.change = 0.02501;
    cr_expect_eq(memory_slopes_ways(1, &piece, &law), 0U);
    law.change = (double)NAN;
    cr_expect_eq(memory_slopes_ways(1, &piece, &law), 0U);
}
