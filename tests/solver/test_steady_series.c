/* Runs of pipes (solver/steady/series.h): which are found, and that answers do not know of them.
 * Answers are checked by their residuals, which are found pipe by pipe from the laws alone
 * (certificate.h); as all laws here rise, flows that meet them are the only ones. */
#include "solver/steady/series.h"
#include "tests/solver/kit.h"
#include "tests/solver/random_numbers.h"

#include <math.h>

static struct kit kit;
static struct random chance;

static int pipe_between(int from, int to)
{
    return kit_pipe(&kit, from, to,
                    (struct friction){.length = random_spread(&chance, 1.0, 300.0),
                                      .bore = random_spread(&chance, 0.02, 0.3),
                                      .roughness = 1e-5});
}

/* A pipe to a new point, as often the other way round. */
static int go_on(int from, double draw)
{
    const int to = kit_free(&kit, draw);
    (void)(random_pick(&chance, 2) ? pipe_between(from, to) : pipe_between(to, from));
    return to;
}

static struct series plan(void)
{
    struct failure failure = {0};
    struct forest forest;
    struct series series;
    struct forest_left left[KIT_MAX];
    cr_assert(forest_plan(&forest, &kit.network, left, &failure));
    cr_assert(series_plan(&series, &kit.network, left, &failure));
    forest_free(&forest);
    return series;
}

/* Goes along every run. */
static void check_runs(const struct series *series)
{
    int times[KIT_MAX] = {0};
    for (int run = 0; run < series->count; run++) {
        const int begin = series->start[run];
        const int end = series->start[run + 1];
        cr_assert_geq(end - begin, 2);
        for (int i = begin; i < end; i++) {
            const int e = series_link(series, i);
            const bool is_along = series->pipe[i].link >= 0;
            cr_expect_eq(is_along ? kit.links[e].to : kit.links[e].from, series->pipe[i].ahead);
            cr_expect_eq(times[e]++, 0, "pipe %d", e);
            if (i > begin) {
                const int before = series->pipe[i - 1].ahead;
                cr_expect_eq(is_along ? kit.links[e].from : kit.links[e].to, before);
                cr_expect(!kit.points[before].is_held);
            }
        }
    }
}

static void check_proof(void)
{
    cr_expect_eq(kit.answer.ending, STEADY_CONVERGED);
    cr_expect_lt(kit.answer.mass_residual, 1e-15);
    cr_expect_lt(kit.answer.energy_residual, 1e-11);
    cr_expect_lt(kit.answer.complementarity, 1e-11);
    for (int e = 0; e < kit.network.link_count; e++) {
        const struct link *link = &kit.links[e];
        const double change = kit.answer.head[link->from] - kit.answer.head[link->to];
        cr_expect_float_eq(kit.answer.drop[e], change, 1e-11, "link %d", e);
    }
}

/* Between two tanks, with a branch on the way, which is not of the run. */
Test(steady_series, pipes_one_behind_another_are_a_run)
{
    random_seed(&chance, 1);
    kit_init(&kit);
    int point = kit_held(&kit, 30.0);
    const int last = kit_held(&kit, 10.0);
    for (int i = 0; i < 6; i++) {
        point = go_on(point, 1e-4 * i);
        if (i == 3) {
            (void)go_on(point, 1e-3);
        }
    }
    (void)pipe_between(point, last);
    struct series series = plan();
    cr_expect_eq(series.count, 1);
    cr_expect_eq(series.start[1], 7);
    check_runs(&series);
    series_free(&series);
    kit_solve(&kit);
    check_proof();
    kit_clear(&kit);
}

/* What is no pipe, a true junction and a held point end one. */
Test(steady_series, runs_end_where_more_than_pipes_meet)
{
    random_seed(&chance, 2);
    kit_init(&kit);
    const int first = kit_held(&kit, 30.0);
    const int junction = go_on(go_on(first, 1e-4), 1e-4);
    const int before = go_on(go_on(junction, 1e-4), 1e-4);
    const int behind = kit_free(&kit, 1e-4);
    (void)kit_link(&kit, before, behind, kit_resistance(1e4));
    (void)pipe_between(go_on(behind, 1e-4), first);
    (void)pipe_between(go_on(junction, 1e-4), first);
    struct series series = plan();
    cr_expect_eq(series.count, 4);
    cr_expect_eq(series.start[4], 8);
    check_runs(&series);
    series_free(&series);
    kit_solve(&kit);
    check_proof();
    kit_clear(&kit);
}

/* On one point of a network; and one that is all there is beside a tank on it. */
Test(steady_series, a_ring_keeps_one_more_of_its_points)
{
    for (int points = 1; points < 5; points++) {
        for (int start = 0; start < 2; start++) {
            random_seed(&chance, 3);
            kit_init(&kit);
            const int held = kit_held(&kit, 30.0);
            const int first = start == 0 ? held : go_on(held, 1e-4);
            int point = first;
            for (int i = 0; i < points; i++) {
                point = go_on(point, 1e-4);
            }
            (void)pipe_between(point, first);
            struct series series = plan();
            cr_expect_eq(series.count, points > 1 ? 1 : 0);
            cr_expect_eq(series.start[series.count], points > 1 ? points : 0);
            check_runs(&series);
            series_free(&series);
            kit_solve(&kit);
            check_proof();
            kit_clear(&kit);
        }
    }
}

/* One that reaches no tank, which nothing must be drawn from. */
Test(steady_series, a_ring_may_stand_alone)
{
    random_seed(&chance, 4);
    kit_init(&kit);
    (void)kit_held(&kit, 30.0);
    const int first = kit_free(&kit, 1e-3);
    const int middle = go_on(first, -3e-3);
    (void)pipe_between(go_on(go_on(middle, 1e-3), 1e-3), first);
    struct series series = plan();
    cr_expect_eq(series.count, 1);
    check_runs(&series);
    series_free(&series);
    kit_solve(&kit);
    check_proof();
    cr_expect_eq(kit.answer.zone_count, 1);
    for (int i = 1; i < kit.network.point_count; i++) {
        cr_expect_eq(kit.answer.zone[i], 0);
    }
    kit_clear(&kit);
}

/* A run behind a valve that shuts is a zone, and what is drawn in it cannot be got. */
Test(steady_series, points_inside_have_the_zone_of_their_run)
{
    for (int is_drawn = 0; is_drawn < 2; is_drawn++) {
        random_seed(&chance, 5);
        kit_init(&kit);
        const int held = kit_held(&kit, 30.0);
        const int first = kit_free(&kit, 0.0);
        struct kit_law one_way = kit_resistance(1e4);
        one_way.lower = -(double)INFINITY;
        one_way.upper = 0.0; /* out of the run only */
        (void)kit_link(&kit, held, first, one_way);
        int point = first;
        for (int i = 0; i < 4; i++) {
            point = go_on(point, i == 1 && is_drawn ? 1e-3 : 0.0);
        }
        (void)kit_link(&kit, held, point, one_way);
        kit_solve_with(&kit, &steady_defaults);
        cr_expect_eq(kit.answer.ending, is_drawn ? STEADY_CUT_OFF_DRAW : STEADY_CONVERGED);
        for (int i = 1; i < kit.network.point_count; i++) {
            cr_expect_eq(kit.answer.zone[i], 0, "point %d", i);
        }
        kit_clear(&kit);
    }
}

/* Networks of runs, from rest and from an answer; then some pipe gets a law that no run may be made
 * of, known to the same solver, and loses it again. */
Test(steady_series, answers_do_not_know_of_runs)
{
    random_seed(&chance, 6);
    for (int trial = 0; trial < 200; trial++) {
        struct failure failure = {0};
        kit_init(&kit);
        int junction[4] = {kit_held(&kit, 30.0), kit_held(&kit, 10.0), kit_free(&kit, 1e-3),
                           kit_free(&kit, 0.0)};
        for (int i = 0; i < 8; i++) {
            int point = junction[i % 4];
            for (int k = random_pick(&chance, 6); k > 0; k--) {
                point = go_on(point, random_even(&chance, -1e-3, 2e-3));
            }
            (void)pipe_between(point, junction[(i + 1 + i / 4) % 4]);
        }
        kit_solve(&kit);
        check_proof();
        struct steady_solver *solver = steady_solver_new(&kit.network, &failure);
        const int changed = random_pick(&chance, kit.network.link_count);
        for (int k = 0; k < 4; k++) {
            const struct steady_options options = {.step_limit = 200, .is_warm = k % 2 == 1};
            kit.pipes[changed].friction.factor = k == 2 ? 0.02 : 0.0;
            cr_assert(
                steady_solve(solver, &kit.network, &kit.water, &options, &kit.answer, &failure));
            check_proof();
        }
        steady_solver_free(solver);
        kit_clear(&kit);
    }
}

/* A row of pipes that branches are on between two tanks. */
static void make_row(void)
{
    kit_init(&kit);
    int point = kit_held(&kit, 30.0);
    const int last = kit_held(&kit, 10.0);
    for (int i = 0; i < 6; i++) {
        point = go_on(point, 1e-5 * i);
        (void)go_on(point, 1e-5);
    }
    (void)pipe_between(point, last);
}

/* Of the same laws a solver finds the same digits, whatever laws it was made for or has met: no row
 * of a study may hang on who worked it off. */
Test(steady_series, answers_do_not_know_of_laws_met_before)
{
    enum { LAWS = 4 };
    static const double factor[LAWS] = {0.0, 0.02, 0.03, 0.0};
    struct failure failure = {0};
    for (int changed = 0; changed < 13; changed += 6) {
        random_seed(&chance, 8);
        make_row();
        for (int made = 0; made < LAWS; made++) {
            struct arena *arena = arena_new();
            struct steady fresh;
            cr_assert(steady_init(&fresh, &kit.network, arena, &failure));
            kit.arena = arena_new();
            cr_assert(steady_init(&kit.answer, &kit.network, kit.arena, &failure));
            kit.pipes[changed].friction.factor = factor[made];
            struct steady_solver *solver = steady_solver_new(&kit.network, &failure);
            for (int k = 0; k < 2 * LAWS; k++) {
                kit.pipes[changed].friction.factor = factor[(made + k) % LAWS];
                struct steady_solver *other = steady_solver_new(&kit.network, &failure);
                cr_assert(steady_solve(solver, &kit.network, &kit.water, &steady_defaults,
                                       &kit.answer, &failure));
                cr_assert(steady_solve(other, &kit.network, &kit.water, &steady_defaults, &fresh,
                                       &failure));
                check_proof();
                cr_expect_eq(kit.answer.solves, fresh.solves);
                for (int e = 0; e < kit.network.link_count; e++) {
                    cr_expect_eq(kit.answer.flow[e], fresh.flow[e], "made %d, then %d", made, k);
                }
                for (int i = 0; i < kit.network.point_count; i++) {
                    cr_expect_eq(kit.answer.head[i], fresh.head[i], "made %d, then %d", made, k);
                }
                steady_solver_free(other);
            }
            steady_solver_free(solver);
            kit_clear(&kit);
            arena_free(arena);
        }
    }
}

/* Draws so great that heads inside a run are no numbers are no answer. */
Test(steady_series, heads_inside_that_are_no_numbers_are_no_answer)
{
    for (int i = 0; i < 3; i++) {
        static const double draw[] = {1e160, 1e200, 1e300};
        kit_init(&kit);
        random_seed(&chance, 9);
        const int first = kit_held(&kit, 30.0);
        const int last = kit_held(&kit, 10.0);
        (void)pipe_between(go_on(go_on(first, draw[i]), 0.0), last);
        kit_solve_with(&kit, &steady_defaults);
        for (int k = 0; k < kit.network.point_count; k++) {
            cr_expect(isfinite(kit.answer.head[k]) || kit.answer.ending == STEADY_STALLED,
                      "%g m3/s: %g m, %s", draw[i], kit.answer.head[k],
                      steady_ending_text(kit.answer.ending));
        }
        kit_clear(&kit);
    }
}

/* A run of very many pipes is worked through in pieces. */
Test(steady_series, a_run_may_be_long)
{
    enum { PIPES = 1000 };
    static struct point points[PIPES + 1];
    static struct link links[PIPES];
    static struct pipe pipes[PIPES];
    random_seed(&chance, 7);
    kit_init(&kit);
    kit.network.points = points;
    kit.network.links = links;
    for (int i = 0; i <= PIPES; i++) {
        points[i] = (struct point){.name = "point", .tank = NETWORK_NONE};
        points[i].is_held = i == 0 || i == PIPES;
        points[i].held_head = i == 0 ? 50.0 : 30.0;
        points[i].draw = i % 3 == 0 ? 1e-5 : 0.0;
    }
    for (int i = 0; i < PIPES; i++) {
        const bool is_along = random_pick(&chance, 2);
        pipes[i].friction = (struct friction){.length = 10.0, .bore = 0.1, .roughness = 1e-5};
        links[i] = (struct link){.name = "pipe",
                                 .from = is_along ? i : i + 1,
                                 .to = is_along ? i + 1 : i,
                                 .run = NETWORK_NONE,
                                 .area = pipe_area(&pipes[i]),
                                 .element = &pipe_element,
                                 .data = &pipes[i]};
    }
    kit.network.point_count = PIPES + 1;
    kit.network.link_count = PIPES;
    kit_solve(&kit);
    cr_expect_lt(kit.answer.mass_residual, 1e-15);
    cr_expect_lt(kit.answer.energy_residual, 1e-11);
    kit_clear(&kit);
}
