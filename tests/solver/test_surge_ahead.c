/* How far the middle of a pipe may go ahead of its ends: wherever no wave can arrive from where
 * water could boil, and by what is promised. */
#include "solver/surge/ahead.h"
#include "solver/surge/fold.h"
#include "solver/surge/kernel.h"
#include "solver/surge/limits.h"

#include <criterion/criterion.h>

enum { LONG = 2580, DEPTH = 40, SPIKE = 700, NONE = -1 };

/* Water at rest at 100 m; one p or m is 0, and at `spike` water boils at `boiling`; pipes before
 * and behind are at 0 m and boil. Whether the middle goes ahead by DEPTH steps; its largest change
 * of a step in *change. */
static bool goes_ahead(int low_right, int low_left, int spike, double boiling, double curvature,
                       double *change)
{
    enum { SHORT = 70 };
    static double vapour[LONG + 1];
    double high[SHORT + 1];
    struct arena *arena = arena_new();
    struct failure failure;
    struct kernel kernel;
    cr_assert(kernel_init(&kernel, 3, (int[]){SHORT, LONG, SHORT}, arena, &failure));
    struct kernel_pipe *pipe = &kernel.pipes[1];
    pipe->impedance = 1e3;
    if (curvature > 0.0) {
        pipe->loss =
            (struct loss){.kind = LOSS_QUADRATIC, .curvature = curvature, .series_end = -1.0};
    }
    for (int i = 0; i <= SHORT; i++) {
        high[i] = 100.0;
    }
    for (int i = 0; i < 3; i += 2) {
        kernel.pipes[i].impedance = 1e3;
        kernel_start(&kernel, i, 0.0, 0.0);
        kernel_set_vapour(&kernel, i, high);
    }
    kernel_start(&kernel, 1, 100.0, 0.0);
    for (int i = 0; i <= LONG; i++) {
        vapour[i] = i == spike ? boiling : -1e3;
    }
    kernel_set_vapour(&kernel, 1, vapour);
    if (low_right != NONE) {
        row_right(&kernel)[pipe->first + low_right] = 0.0;
    }
    if (low_left != NONE) {
        row_left(&kernel)[pipe->first + low_left] = 0.0;
    }
    limits_forget(pipe);
    kernel_promise(&kernel, DEPTH);
    fold_begin(&kernel, pipe);
    ahead_begin(&kernel);
    const bool goes = pipe->is_ahead;
    *change = pipe->most_change;
    arena_free(arena);
    return goes;
}

/* The nodes of the stretch that has node `node`: strands are looked at by stretches of 64. */
static void find_stretch(int node, int *from, int *to)
{
    enum { LINES = (LONG + 8) / 8, STRETCH = 64 };
    const int strand = node / LINES * LINES;
    *from = strand + (node - strand) / STRETCH * STRETCH;
    *to = *from + STRETCH < strand + LINES ? *from + STRETCH : strand + LINES;
    *to = *to < LONG + 1 ? *to : LONG + 1;
}

/* A wave that can be in a stretch within 40 steps holds it up if something in it boils so high, and
 * no other does: in the middle of a strand, where it begins and ends, and where the pipe does. */
Test(surge_ahead, middle_waits_for_waves_that_reach_where_it_could_boil)
{
    static const int spikes[] = {SPIKE, 0,    10,   322,  323,      386,
                                 387,   1500, 2260, 2261, LONG - 1, LONG};
    double change;
    for (size_t i = 0; i < sizeof spikes / sizeof spikes[0]; i++) {
        int from;
        int to;
        find_stretch(spikes[i], &from, &to);
        const int places[] = {from - DEPTH - 1, from - DEPTH, from - 1,       from,
                              to - 1,           to,           to + DEPTH - 1, to + DEPTH};
        for (int k = 0; k < 8; k++) {
            const int place = places[k];
            if (place < 0 || place > LONG) {
                continue;
            }
            const bool right = place >= from - DEPTH && place < to;
            const bool left = place >= from && place < to + DEPTH;
            cr_expect_eq(goes_ahead(place, NONE, spikes[i], 60.0, 0.0, &change), !right,
                         "spike %d, p at %d", spikes[i], place);
            cr_expect_eq(goes_ahead(NONE, place, spikes[i], 60.0, 0.0, &change), !left,
                         "spike %d, m at %d", spikes[i], place);
        }
        cr_expect(goes_ahead(NONE, NONE, spikes[i], 60.0, 0.0, &change));
        cr_expect(goes_ahead(from, NONE, spikes[i], 49.9, 0.0, &change));
        cr_expect_not(goes_ahead(from, NONE, spikes[i], 50.1, 0.0, &change));
    }
}

/* With friction all may fall by its largest loss at each step, and in the one that is begun. */
Test(surge_ahead, middle_waits_for_friction_too)
{
    double change;
    cr_expect(goes_ahead(2400, NONE, SPIKE, -1e3, 1e-5, &change));
    cr_assert(change > 1e-3 && change < 1.0, "%g", change);
    const double least = 100.0 - (DEPTH + 1) * change;
    cr_expect(goes_ahead(2400, NONE, SPIKE, least - 1e-9, 1e-5, &change));
    cr_expect_not(goes_ahead(2400, NONE, SPIKE, least + 1e-9, 1e-5, &change));
}

/* A long pipe at rest at 100 m, its bounds known for `age` steps, p between `least` and 100 m. */
static void open_rest(struct kernel *kernel, int reaches, int age, double least,
                      struct arena *arena)
{
    static double vapour[LONG + 1];
    struct failure failure;
    cr_assert(kernel_init(kernel, 1, &reaches, arena, &failure));
    struct kernel_pipe *pipe = &kernel->pipes[0];
    pipe->impedance = 1e3;
    kernel_start(kernel, 0, 100.0, 0.0);
    for (int i = 0; i <= reaches; i++) {
        vapour[i] = 60.0;
    }
    kernel_set_vapour(kernel, 0, vapour);
    limits_find(kernel, pipe);
    pipe->least_right = least;
    pipe->bounds_age = age;
}

/* Looking costs a pass: it is done when bounds are 1024 steps old, or when loose ones say that it
 * could boil. */
Test(surge_ahead, middle_is_looked_at_only_when_that_may_help)
{
    static const struct {
        int age;
        double least; /* m, as known; 0: it could boil */
        bool looks;
    } rows[] = {{5, 90.0, false}, {5, 0.0, true}, {1023, 90.0, false}, {1024, 90.0, true}};
    for (int i = 0; i < 4; i++) {
        struct arena *arena = arena_new();
        struct kernel kernel;
        open_rest(&kernel, LONG, rows[i].age, rows[i].least, arena);
        kernel_promise(&kernel, DEPTH);
        fold_begin(&kernel, &kernel.pipes[0]);
        ahead_begin(&kernel);
        const struct kernel_pipe *pipe = &kernel.pipes[0];
        cr_expect(pipe->is_ahead && kernel.ahead == DEPTH);
        cr_expect_eq(pipe->least_right, rows[i].looks ? 100.0 : 90.0, "%d: %g", i,
                     pipe->least_right);
        cr_expect_eq(pipe->bounds_age, DEPTH + (rows[i].looks ? 0 : rows[i].age), "%d", i);
        arena_free(arena);
    }
}

/* From 8 promised steps on, but folded only from 16 on; 64 at most; pipes of 2048 nodes or more
 * without gas or cavities. */
Test(surge_ahead, middles_go_ahead_by_what_is_promised)
{
    static const struct {
        int promised, reaches, cavities;
        double gas;
        int ahead;
        bool goes;
    } rows[] = {{7, LONG, 0, 0.0, 0, false},   {8, LONG, 0, 0.0, 8, false},
                {15, LONG, 0, 0.0, 15, false}, {16, LONG, 0, 0.0, 16, true},
                {63, LONG, 0, 0.0, 63, true},  {500, LONG, 0, 0.0, 64, true},
                {40, 2047, 0, 0.0, 40, true},  {40, 2046, 0, 0.0, 40, false},
                {40, LONG, 1, 0.0, 40, false}, {40, LONG, 0, 1e-9, 40, false}};
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct arena *arena = arena_new();
        struct kernel kernel;
        open_rest(&kernel, rows[i].reaches, 0, 100.0, arena);
        kernel.pipes[0].cavity_count = rows[i].cavities;
        kernel.pipes[0].gas = rows[i].gas;
        kernel_promise(&kernel, rows[i].promised);
        fold_begin(&kernel, &kernel.pipes[0]);
        ahead_begin(&kernel);
        cr_expect_eq(kernel.ahead, rows[i].ahead, "%zu: %d", i, kernel.ahead);
        cr_expect_eq(kernel.pipes[0].is_ahead, rows[i].goes, "%zu", i);
        arena_free(arena);
    }
}
