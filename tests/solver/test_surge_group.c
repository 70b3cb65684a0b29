/* Groups of lumped links alone, at random: the answer must keep every law, and come as fast as
 * Newton's method comes to it. */
#include "solver/surge/group.h"
#include "tests/solver/kit_law.h"
#include "tests/solver/random_numbers.h"

#include <criterion/criterion.h>

enum { POINTS = 6, LINKS = 12 };

/* A law that counts how often it is asked. */
struct counted {
    struct kit_law law;
    int *asked;
};

static struct drop counted_drop(const void *data, const struct water *water, double flow)
{
    const struct counted *counted = data;
    ++*counted->asked;
    return kit_drop(&counted->law, water, flow);
}

static struct span counted_span(const void *data, const struct water *water)
{
    return kit_span(&((const struct counted *)data)->law, water);
}

static const struct element counted_element = {
    .kind = "counted", .drop = counted_drop, .span = counted_span};

/* Points in a row, each but some with a pipe that ends there; links from each to the next, then
 * anywhere, some to a held head. */
struct bunch {
    struct arena *arena;
    struct network network;
    struct point points[POINTS];
    int number[POINTS];
    struct kernel kernel;
    struct ends ends;
    int first[POINTS + 1];
    struct pipe_end end[POINTS];
    int no_stub[POINTS + 1];
    double head[POINTS];
    struct counted law[LINKS];
    struct lumped lumped[LINKS];
    struct group_link link[LINKS];
    struct group group;
    struct group_work work;
    int asked;
};

static void add_pipes(struct bunch *bunch, struct random *random)
{
    static const int reaches[POINTS] = {2, 2, 2, 2, 2, 2};
    struct failure failure;
    cr_assert(kernel_init(&bunch->kernel, POINTS, reaches, bunch->arena, &failure));
    for (int i = 0; i < POINTS; i++) {
        const bool has_pipe = i == 0 || random_even(random, 0, 1) < 0.7;
        bunch->kernel.pipes[i].impedance = pow(10, random_even(random, 2, 5));
        kernel_start(&bunch->kernel, i, random_even(random, -20, 60),
                     random_even(random, -1e-2, 1e-2));
        bunch->number[i] = i;
        bunch->points[i].draw = random_even(random, 0, 1) < 0.3 ? random_even(random, 0, 1e-3) : 0;
        bunch->end[bunch->first[i]] = (struct pipe_end){i, i % 2 ? KERNEL_START : KERNEL_END};
        bunch->first[i + 1] = bunch->first[i] + (has_pipe ? 1 : 0);
        bunch->head[i] = random_even(random, -20, 60);
    }
    bunch->ends =
        (struct ends){.first = bunch->first, .end = bunch->end, .stub_first = bunch->no_stub};
}

static void add_links(struct bunch *bunch, struct random *random)
{
    for (int k = 0; k < LINKS; k++) {
        const bool is_row = k < POINTS - 1;
        const int from = is_row ? k : (int)random_even(random, 0, POINTS - 1e-9);
        const int other = (from + 1 + (int)random_even(random, 0, POINTS - 1 - 1e-9)) % POINTS;
        const double kind = random_even(random, 0, 1);
        bunch->law[k] =
            (struct counted){.law = {.start = kind < 0.2 ? random_even(random, -30, 5) : 0,
                                     .linear = kind < 0.5 ? pow(10, random_even(random, 1, 4)) : 0,
                                     .quadratic = pow(10, random_even(random, 3, 7)),
                                     .lower = kind > 0.6 && !is_row ? 0 : -(double)INFINITY,
                                     .upper = kind > 0.9 && !is_row ? 2e-3 : (double)INFINITY},
                             .asked = &bunch->asked};
        bunch->lumped[k] = (struct lumped){.element = &counted_element,
                                           .data = &bunch->law[k],
                                           .flow = random_even(random, -1e-2, 1e-2)};
        bunch->link[k] = (struct group_link){.lumped = &bunch->lumped[k],
                                             .from = from,
                                             .to = is_row  ? k + 1
                                                   : k % 3 ? other
                                                           : GROUP_HELD,
                                             .held_to = random_even(random, -10, 40),
                                             .coupled = NETWORK_NONE};
        lumped_begin(&bunch->lumped[k], 1, 0.01, 1);
    }
}

static void open_bunch(struct bunch *bunch, uint64_t seed)
{
    struct failure failure;
    struct random random;
    random_seed(&random, seed);
    *bunch = (struct bunch){.arena = arena_new()};
    bunch->network = (struct network){.point_count = POINTS, .points = bunch->points};
    add_pipes(bunch, &random);
    add_links(bunch, &random);
    bunch->group = (struct group){.point_count = POINTS,
                                  .link_count = LINKS,
                                  .points = bunch->number,
                                  .links = bunch->link,
                                  .impedance = bunch->kernel.pipes[0].impedance};
    cr_assert(group_work_init(&bunch->work, POINTS, LINKS, bunch->arena, &failure));
}

/* Water left over at the points and heads off the graphs, as heads, by nothing but the laws. */
static double missed(struct bunch *bunch)
{
    double balance[POINTS];
    double worst = 0;
    for (int i = 0; i < POINTS; i++) {
        balance[i] = ends_inflow(&bunch->ends, &bunch->kernel, i, bunch->head[i]).flow -
                     bunch->points[i].draw;
    }
    for (int k = 0; k < LINKS; k++) {
        const struct group_link *link = &bunch->link[k];
        const struct lumped *lumped = link->lumped;
        const double to = link->to == GROUP_HELD ? link->held_to : bunch->head[link->to];
        const double excess =
            bunch->head[link->from] - to - kit_drop(&bunch->law[k].law, NULL, lumped->flow).head;
        const bool is_shut = lumped->flow <= lumped->span.lower && excess < 0;
        const bool is_full = lumped->flow >= lumped->span.upper && excess > 0;
        worst = fmax(worst, is_shut || is_full ? 0 : fabs(excess));
        cr_expect(lumped->flow >= lumped->span.lower && lumped->flow <= lumped->span.upper);
        balance[link->from] -= lumped->flow;
        if (link->to != GROUP_HELD) {
            balance[link->to] += lumped->flow;
        }
    }
    for (int i = 0; i < POINTS; i++) {
        worst = fmax(worst, fabs(balance[i]) * bunch->group.impedance);
    }
    return worst;
}

Test(surge_group, answers_keep_every_law_and_come_quickly)
{
    enum { BUNCHES = 300 };
    long asked = 0;
    int most = 0;
    for (uint64_t seed = 1; seed <= BUNCHES; seed++) {
        struct bunch bunch;
        open_bunch(&bunch, seed);
        const struct group_place place = {.network = &bunch.network,
                                          .ends = &bunch.ends,
                                          .kernel = &bunch.kernel,
                                          .head = bunch.head};
        bunch.asked = 0;
        cr_expect(group_solve(&bunch.group, &place, &bunch.work), "seed %d", (int)seed);
        asked += bunch.asked;
        most = bunch.asked > most ? bunch.asked : most;
        cr_expect_lt(missed(&bunch), 1e-8, "seed %d: %g", (int)seed, missed(&bunch));
        /* Asked again from its answer it stays: a few looks at each law. */
        bunch.asked = 0;
        cr_expect(group_solve(&bunch.group, &place, &bunch.work));
        cr_expect_leq(bunch.asked, 12 * LINKS, "seed %d: %d", (int)seed, bunch.asked);
        arena_free(bunch.arena);
    }
    /* From guesses anywhere: 18.8 looks at each law on average, 51 at most, as measured. A slope
     * that is not the law's own, or a line search that stops in the wrong place, takes many more.
     */
    cr_expect_lt((double)asked / BUNCHES / LINKS, 20.0);
    cr_expect_lt(most, 60 * LINKS);
}

/* The linearised system is piecewise linear: whatever the flows, drops and slopes it stands at, its
 * answer keeps water at each point and each flow on its line or at its upright, to round-off. */
Test(surge_group, linearised_answer_is_exact)
{
    for (uint64_t seed = 1; seed <= 300; seed++) {
        struct bunch bunch;
        open_bunch(&bunch, seed);
        struct group_work *work = &bunch.work;
        double present[POINTS];
        double left[POINTS];
        for (int i = 0; i < POINTS; i++) {
            const struct inflow in = ends_inflow(&bunch.ends, &bunch.kernel, i, bunch.head[i]);
            work->head[i] = present[i] = bunch.head[i];
            work->inflow[i] = in.flow;
            work->conductance[i] = in.conductance;
        }
        for (int k = 0; k < LINKS; k++) {
            bunch.lumped[k].drop = lumped_drop(&bunch.lumped[k], bunch.lumped[k].flow);
            work->slope[k] = fmax(bunch.lumped[k].drop.slope, 10);
        }
        group_solve_linear(&bunch.group, work);
        for (int i = 0; i < POINTS; i++) {
            left[i] = work->inflow[i] - work->conductance[i] * (work->head[i] - present[i]);
        }
        for (int k = 0; k < LINKS; k++) {
            const struct lumped *lumped = &bunch.lumped[k];
            const struct group_link *link = &bunch.link[k];
            const double to = link->to == GROUP_HELD ? link->held_to : work->head[link->to];
            const double excess = work->head[link->from] - to - lumped->drop.head;
            const double free = lumped->flow + excess / work->slope[k];
            const double flow = fmin(fmax(free, lumped->span.lower), lumped->span.upper);
            cr_expect_float_eq(work->flow[k], flow, 1e-12, "seed %d link %d", (int)seed, k);
            left[link->from] -= flow;
            if (link->to != GROUP_HELD) {
                left[link->to] += flow;
            }
        }
        for (int i = 0; i < POINTS; i++) {
            cr_expect_lt(fabs(left[i]), 1e-10, "seed %d point %d: %g", (int)seed, i, left[i]);
        }
        arena_free(bunch.arena);
    }
}
