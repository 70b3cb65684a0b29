/* Bunch: a group of lumped links alone, put together at random, with a pipe at most of its points.
 */
#ifndef TESTS_SOLVER_BUNCH_H
#define TESTS_SOLVER_BUNCH_H

#include "solver/surge/group.h"
#include "solver/surge/group_coupled.h"
#include "tests/solver/counted_law.h"
#include "tests/solver/random_numbers.h"

#include <criterion/criterion.h>

enum { POINTS = 6, LINKS = 12, LAWS = 3 };

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
    struct group_law group_law[LAWS];
    struct group group;
    struct group_work work;
    struct group_coupled_work coupled_work;
    int asked;
};

static inline void add_pipes(struct bunch *bunch, struct random *random)
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

static inline void add_links(struct bunch *bunch, struct random *random)
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

static inline void open_bunch(struct bunch *bunch, uint64_t seed)
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

/* Head that a coupled link loses by its partner's flow. */
static inline double head_by_other(const struct bunch *bunch, const struct group_link *link)
{
    if (link->coupled == NETWORK_NONE) {
        return 0;
    }
    const struct group_law *law = &bunch->group_law[link->coupled];
    const double flow = bunch->lumped[bunch->group_law[law->partner[0]].link].flow;
    return bunch->law[law->link].by_other * fabs(flow) * flow;
}

/* Water left over at the points and heads off the graphs, as heads, by nothing but the laws. */
static inline double missed(struct bunch *bunch)
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
        const double excess = bunch->head[link->from] - to -
                              kit_drop(&bunch->law[k].law, NULL, lumped->flow).head -
                              head_by_other(bunch, link);
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

#endif
