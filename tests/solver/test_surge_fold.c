/* Folded pipes (solver/surge/fold.h) against the same pipes in the row, step by step: the same
 * digits, and extremes within slopes_tolerance. Random waves, ends, promises and boiling. */
#include "models/pipe.h"
#include "solver/surge/fold.h"
#include "solver/surge/kernel.h"
#include "solver/surge/limits.h"
#include "solver/surge/slopes.h"
#include "tests/solver/random_numbers.h"

#include <criterion/criterion.h>
#include <math.h>

enum { PIPES = 3, TRIALS = SHORT_RUNS ? 30 : 120 };

/* What the ends do: sums of two swings, or a step now and then, or rest. */
struct end {
    double height[2];
    double rate[2];
    double jump; /* m */
    int every;   /* steps */
};

struct trial {
    int reaches[PIPES];
    double factor; /* of friction; 0: by a table; negative: none */
    double length; /* m, of the first */
    double depth;  /* m, water boils so far under the steady head */
    struct end end[2];
    int steps;
    int fronts;       /* of m, inside each pipe at first */
    double front[4];  /* share of its nodes before it */
    double height[4]; /* m */
};

static void make_trial(struct random *random, struct trial *trial)
{
    static const double factors[] = {-1.0, 0.02, 0.0};
    for (int i = 0; i < PIPES; i++) {
        trial->reaches[i] =
            i == 1 ? 20 + random_pick(random, 700) : 2047 + random_pick(random, 1500);
    }
    trial->factor = factors[random_pick(random, 3)];
    trial->length = random_spread(random, 50.0, 20000.0);
    trial->depth = random_pick(random, 2) == 0 ? 1e4 : random_spread(random, 5.0, 100.0);
    for (int k = 0; k < 2; k++) {
        struct end *end = &trial->end[k];
        const bool is_steep = random_pick(random, 3) == 0;
        for (int i = 0; i < 2; i++) {
            end->height[i] = random_pick(random, 3) == 0 ? 0.0 : random_spread(random, 1e-6, 10.0);
            end->rate[i] = random_spread(random, 1e-4, is_steep ? 1.0 : 0.02);
        }
        end->jump = random_pick(random, 2) == 0 ? 0.0 : random_spread(random, 0.1, 60.0);
        end->every = 1 + random_pick(random, 400);
    }
    trial->fronts = random_pick(random, 3) == 0 ? 1 + random_pick(random, 4) : 0;
    for (int i = 0; i < 4; i++) {
        trial->front[i] = random_even(random, 0.0, 1.0);
        trial->height[i] = random_even(random, -60.0, 60.0);
    }
    trial->steps = 200 + random_pick(random, 600);
}

/* Steps in m, so that friction differs on both sides of where p passes through them. */
static void add_fronts(struct kernel *kernel, const struct trial *trial, int pipe)
{
    struct kernel_pipe *here = &kernel->pipes[pipe];
    for (int j = 0; j <= here->reaches; j++) {
        const int64_t node = here->first + j;
        for (int i = 0; i < trial->fronts; i++) {
            row_left(kernel)[node] += j > trial->front[i] * here->reaches ? trial->height[i] : 0.0;
        }
        kernel->highest[node] = kernel->lowest[node] = row_mean(kernel, node);
    }
    limits_forget(here);
}

static void make_kernel(struct kernel *kernel, const struct trial *trial, struct arena *arena)
{
    static double vapour[4000];
    struct failure failure;
    const struct water water = {
        .gravity = 9.81, .viscosity = 1e-6, .density = 1000.0, .bulk_modulus = 2.19e9};
    cr_assert(kernel_init(kernel, PIPES, trial->reaches, arena, &failure));
    kernel->step = 0.01;
    for (int i = 0; i < PIPES; i++) {
        const struct pipe pipe = {.friction = {.length = trial->length,
                                               .bore = 0.1,
                                               .roughness = 1e-5,
                                               .factor = fmax(trial->factor, 0.0)}};
        kernel->pipes[i].impedance = 5e3;
        const struct loss_law law = {&pipe_element,    &pipe, &water, trial->reaches[i], 5e3,
                                     pipe_area(&pipe), 4e-3};
        cr_assert(trial->factor < 0.0 || loss_init(&kernel->pipes[i].loss, &law, arena, &failure));
        kernel_start(kernel, i, 300.0, 4e-3);
        for (int j = 0; j <= trial->reaches[i]; j++) {
            vapour[j] = kernel_head(kernel, i, j) - trial->depth;
        }
        kernel_set_vapour(kernel, i, vapour);
        add_fronts(kernel, trial, i);
    }
}

static double head_of(const struct end *end, int step)
{
    return 300.0 + end->height[0] * sin(end->rate[0] * step) +
           end->height[1] * sin(end->rate[1] * step) - end->jump * (step / end->every % 2);
}

static void step_all(struct kernel *kernel, const struct trial *trial, int step)
{
    kernel_step(kernel);
    for (int i = 0; i < PIPES; i++) {
        const double arrived = kernel_arrived(kernel, i, KERNEL_END);
        kernel_enter(kernel, i, KERNEL_START, head_of(&trial->end[0], step));
        /* Half of what arrives is let out. */
        kernel_enter(kernel, i, KERNEL_END,
                     0.5 * arrived + 0.5 * head_of(&trial->end[1], step) - 5.0);
    }
}

static void check_same(const struct kernel *folded, const struct kernel *plain, int trial, int step)
{
    for (int64_t i = 0; i < plain->node_count; i++) {
        cr_assert_eq(row_right(folded)[i], row_right(plain)[i], "%d: step %d, node %ld", trial,
                     step, (long)i);
        cr_assert_eq(row_left(folded)[i], row_left(plain)[i], "%d: step %d, node %ld", trial, step,
                     (long)i);
        cr_assert_eq(folded->volume[i], plain->volume[i], "%d: step %d, node %ld", trial, step,
                     (long)i);
        cr_assert(fabs(folded->highest[i] - plain->highest[i]) <= slopes_tolerance,
                  "%d: step %d, node %ld: %g", trial, step, (long)i,
                  folded->highest[i] - plain->highest[i]);
        cr_assert(fabs(folded->lowest[i] - plain->lowest[i]) <= slopes_tolerance,
                  "%d: step %d, node %ld: %g", trial, step, (long)i,
                  folded->lowest[i] - plain->lowest[i]);
    }
    cr_assert_eq(folded->cavity_count, plain->cavity_count, "%d: step %d", trial, step);
}

/* Counts of steps in which a pipe is folded, is ahead, or has a cavity. */
struct seen {
    int folded;
    int ahead;
    int boiled;
};

static void count_seen(const struct kernel *folded, struct seen *seen)
{
    for (int i = 0; i < PIPES; i++) {
        seen->folded += fold_is_on(&folded->pipes[i]);
        seen->ahead += folded->ahead > 0 && folded->pipes[i].is_ahead;
        seen->boiled += folded->pipes[i].cavity_count > 0;
    }
}

static void hold_trial(struct random *random, int number, struct seen *seen)
{
    struct arena *arena = arena_new();
    struct trial trial;
    struct kernel folded;
    struct kernel plain;
    int left = 0;
    int blind = 0;
    make_trial(random, &trial);
    make_kernel(&folded, &trial, arena);
    make_kernel(&plain, &trial, arena);
    for (int step = 1; step <= trial.steps; step++) {
        if (left == 0 && blind == 0) {
            left = random_pick(random, 4) == 0 ? 1 + random_pick(random, 20)
                                               : 1 + random_pick(random, 300);
        }
        kernel_promise(&folded, left);
        step_all(&folded, &trial, step);
        step_all(&plain, &trial, step);
        count_seen(&folded, seen);
        if (blind > 0) {
            blind--;
        } else if (--left > 80 && random_pick(random, 50) == 0) {
            left = 0; /* the promise is taken back; what is ahead stays so for a while */
            blind = AHEAD_STEPS;
        }
        if (left == 0 && blind == 0) {
            check_same(&folded, &plain, number, step);
        }
    }
    kernel_note_extremes(&folded); /* a promise not kept to its end */
    kernel_note_extremes(&plain);
    cr_assert(!fold_is_on(&folded.pipes[0]));
    arena_free(arena);
}

Test(surge_fold, folded_pipes_have_the_digits_of_pipes_in_the_row)
{
    struct random random;
    struct seen seen = {0};
    random_seed(&random, 31);
    for (int trial = 0; trial < TRIALS; trial++) {
        hold_trial(&random, trial, &seen);
    }
    cr_expect_gt(seen.folded, 10000, "%d", seen.folded);
    cr_expect_gt(seen.ahead, 3000, "%d", seen.ahead);
    cr_expect_gt(seen.boiled, 1000, "%d", seen.boiled);
}

/* Where friction takes so much that limits which nobody looks at outgrow all numbers (by a search
 * among many). */
Test(surge_fold, limits_that_run_away_are_no_reason_for_other_digits)
{
    struct random random;
    struct seen seen = {0};
    random_seed(&random, 1332);
    hold_trial(&random, 0, &seen);
    cr_expect_gt(seen.ahead, 100, "%d", seen.ahead);
}

/* A promise that is broken off, at any step, leaves the extremes of all steps until then. */
Test(surge_fold, promises_may_be_broken_off)
{
    struct random random;
    random_seed(&random, 32);
    for (int number = 0; number < TRIALS; number++) {
        struct arena *arena = arena_new();
        struct trial trial;
        struct kernel folded;
        struct kernel plain;
        make_trial(&random, &trial);
        trial.depth = 1e4;
        make_kernel(&folded, &trial, arena);
        make_kernel(&plain, &trial, arena);
        /* Not while a middle is ahead, since then what is inside is of no one instant. */
        const int steps = 64 * (1 + random_pick(&random, 5));
        for (int step = 1; step <= steps; step++) {
            kernel_promise(&folded, 1000 - step);
            step_all(&folded, &trial, step);
            step_all(&plain, &trial, step);
        }
        kernel_note_extremes(&folded);
        kernel_note_extremes(&plain);
        check_same(&folded, &plain, number, steps);
        arena_free(arena);
    }
}
