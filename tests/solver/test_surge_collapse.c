/* Which cavities have shut and how hard, beside a plain second way: places flood-filled at each
 * step, from cavities that open and shut at random along two pipes and at their points. */
#include "models/pipe.h"
#include "solver/surge/cavity.h"
#include "solver/surge/collapse.h"
#include "solver/surge/groups.h"
#include "tests/solver/random_numbers.h"
#include "tests/solver/surge_rig_parts.h"

#include <criterion/criterion.h>

/* A row: point 0 - pipe 0 - point 1 - pipe 1, laid the other way round - point 2, which is held. */
enum { FIRST = 4, SECOND = 5, PLACES = FIRST + SECOND, STEPS = 60 };

static const double step = 0.125;

struct row {
    struct arena *arena;
    struct kernel kernel;
    struct point points[3];
    struct pipe pipes[2];
    struct link links[3];
    struct run runs[2];
    struct network network;
    struct grid grid;
    struct lumped lumped[3];
    struct gas_pocket pocket;
    double head[3];
    struct groups groups;
    double least[2];
    struct collapse_watch watch;
    struct surge_collapse result;
};

static int reaches[] = {FIRST, SECOND};
static int link_of[] = {1, 2};
static int pipe_of[] = {NETWORK_NONE, 0, 1};
static int first_end[] = {0, 1, 3, 4};
static struct pipe_end ends[] = {
    {0, KERNEL_START}, {1, KERNEL_END}, {0, KERNEL_END}, {1, KERNEL_START}};

static void open_row(struct row *row)
{
    struct failure failure;
    *row = (struct row){.arena = arena_new(), .pocket.gas = 1e-9};
    cr_assert(kernel_init(&row->kernel, 2, reaches, row->arena, &failure));
    for (int i = 0; i < 2; i++) {
        row->pipes[i] = (struct pipe){.friction.length = 10.0 * reaches[i],
                                      .vertical_from = i == 0 ? 3.0 : 9.0,
                                      .vertical_to = 5.0};
        row->links[i + 1] = (struct link){
            .from = i == 0 ? 0 : 2, .to = 1, .element = &rig_smooth_pipe, .data = &row->pipes[i]};
        row->lumped[i + 1] =
            (struct lumped){.link = NETWORK_NONE,
                            .point = i,
                            .element = i == 0 ? &cavity_element : &gas_cavity_element,
                            .data = &row->pocket};
        row->points[i].elevation = i == 0 ? 3.0 : 5.0;
    }
    row->runs[0] = (struct run){.first_link = 0, .link_count = 2};
    row->runs[1] = (struct run){.first_link = 1, .link_count = 2};
    row->network = (struct network){.point_count = 3,
                                    .points = row->points,
                                    .link_count = 3,
                                    .links = row->links,
                                    .run_count = 2,
                                    .runs = row->runs};
    row->grid = (struct grid){.step = step,
                              .pipe_count = 2,
                              .link = link_of,
                              .reaches = reaches,
                              .pipe_of_link = pipe_of};
    row->groups = (struct groups){.network = &row->network,
                                  .grid = &row->grid,
                                  .kernel = &row->kernel,
                                  .ends = {.first = first_end, .end = ends},
                                  .lumped_count = 3,
                                  .lumped = row->lumped,
                                  .cavity_first = 1,
                                  .least_cavity = row->least,
                                  .head = row->head};
    cr_assert(collapse_start(&row->watch, &row->groups, &row->result, row->arena, &failure));
}

/* The second way. Places in the order in which they lie, from point 0 to the last node of pipe 1.
 */
struct plain {
    bool was_open[PLACES];
    bool is_open[PLACES];
    bool has_been[PLACES]; /* and is watched since it shut */
    double volume[PLACES];
    double shut[PLACES];
    double pressure[PLACES];
    double largest;
    double best;
    double best_time;
    double best_shut;
    int best_place;
    int count;
};

/* Looks at the places from `from` on that touch one another, open now or at the step before. */
static int judge(struct plain *plain, int from, double time)
{
    int to = from;
    bool is_open = false;
    bool has_shut = false;
    double volume = 0.0;
    while (to < PLACES && (plain->is_open[to] || plain->was_open[to])) {
        is_open = is_open || plain->is_open[to];
        has_shut = has_shut || !plain->is_open[to];
        volume = fmax(volume, plain->volume[to++]);
    }
    for (int i = from; i < to && has_shut; i++) {
        plain->volume[i] = volume;
        plain->shut[i] = plain->is_open[i] ? (double)NAN : time;
    }
    plain->count += has_shut && !is_open && volume >= 0.01 * plain->largest ? 1 : 0;
    return to;
}

static void look_plainly(struct plain *plain, double time)
{
    for (int i = 0; i < PLACES;) {
        const int next = judge(plain, i, time);
        i = next > i ? next : i + 1;
    }
    for (int i = 0; i < PLACES; i++) {
        plain->has_been[i] = plain->has_been[i] || plain->is_open[i];
    }
    for (int i = 0; i < PLACES; i++) {
        const bool is_watched = plain->has_been[i] && !plain->is_open[i] &&
                                time <= plain->shut[i] + 2.0 * (FIRST + SECOND) * step;
        if (is_watched && plain->pressure[i] > plain->best) {
            plain->best = plain->pressure[i];
            plain->best_time = time;
            plain->best_shut = plain->shut[i];
            plain->best_place = i;
        }
    }
}

/* Node of the kernel's row at a place inside a pipe. */
static int64_t node_at(int place)
{
    return place < FIRST ? place : FIRST + 1 + (PLACES - place);
}

/* Puts one step's cavities and pressures into both. */
static void make_step(struct row *row, struct plain *plain, struct random *random)
{
    row->kernel.cavity_count = 0;
    for (int i = 0; i < PLACES; i++) {
        plain->was_open[i] = plain->is_open[i];
        /* A neighbour's cavity makes one likely: they come in stretches. */
        const double chance = plain->was_open[i]               ? 0.7
                              : i > 0 && plain->is_open[i - 1] ? 0.4
                                                               : 0.06;
        const double volume = random_spread(random, 1e-8, 1e-3);
        plain->is_open[i] = random_even(random, 0, 1) < chance;
        if (plain->is_open[i]) {
            plain->volume[i] = fmax(plain->was_open[i] ? plain->volume[i] : 0.0, volume);
            plain->largest = fmax(plain->largest, volume);
        }
        plain->pressure[i] = random_even(random, -10, 90);
        const double elevation =
            i <= FIRST ? 3.0 + 2.0 * i / FIRST : 5.0 + 4.0 * (i - FIRST) / SECOND;
        const double head = plain->pressure[i] + elevation;
        if (i == 0 || i == FIRST) {
            const int point = i == 0 ? 0 : 1;
            row->head[point] = head;
            /* One of vapour; one of gas, a cavity above gas/0.1 m only (boiling_margin). */
            row->lumped[point + 1].old[CAVITY_STATE_VOLUME] =
                plain->is_open[i] ? volume + (point == 1 ? 1e-8 : 0.0)
                                  : (point == 1 ? 0.9e-8 : 0.0);
            if (point == 1 && plain->is_open[i]) {
                plain->volume[i] = fmax(plain->volume[i], volume + 1e-8);
                plain->largest = fmax(plain->largest, volume + 1e-8);
            }
            continue;
        }
        row_right(&row->kernel)[node_at(i)] = row_left(&row->kernel)[node_at(i)] = head;
        row->kernel.volume[node_at(i)] = plain->is_open[i] ? volume : 0.0;
    }
    for (int64_t node = 0; node < row->kernel.node_count; node++) {
        if (row->kernel.volume[node] > 0.0) {
            row->kernel.cavities[row->kernel.cavity_count++] =
                (struct kernel_cavity){.node = node, .head = row_mean(&row->kernel, node)};
        }
    }
}

static void check(const struct row *row, const struct plain *plain, int seed)
{
    const struct surge_collapse *found = &row->result;
    const int place = plain->best_place;
    cr_assert_eq(found->count, plain->count, "seed %d: %d, not %d", seed, found->count,
                 plain->count);
    if (!(plain->best > -(double)INFINITY)) {
        cr_assert(isnan(found->pressure));
        return;
    }
    cr_assert_float_eq(found->pressure, plain->best, 2e-6, "seed %d: %g, not %g", seed,
                       found->pressure, plain->best);
    cr_assert_float_eq(found->time, plain->best_time, 1e-12);
    cr_assert_float_eq(found->shut_time, plain->best_shut, 1e-12);
    if (place == 0 || place == FIRST) {
        cr_assert_eq(found->point, place == 0 ? 0 : 1);
        cr_assert_eq(found->link, NETWORK_NONE);
        cr_assert(isnan(found->distance));
    } else {
        const int pipe = place < FIRST ? 0 : 1;
        cr_assert_eq(found->link, link_of[pipe]);
        cr_assert_eq(found->point, NETWORK_NONE);
        cr_assert_float_eq(found->distance, 10.0 * (pipe == 0 ? place : PLACES - place), 1e-9);
    }
}

Test(surge_collapse, cavities_at_random_are_told_as_a_plain_way_tells_them)
{
    for (int seed = 1; seed <= 200; seed++) {
        struct row row;
        struct random random;
        struct plain plain = {.best = -INFINITY};
        open_row(&row);
        random_seed(&random, (uint64_t)seed);
        cr_assert_float_eq(row.result.window, 2.0 * (FIRST + SECOND) * step, 1e-12);
        for (int i = 1; i <= STEPS; i++) {
            make_step(&row, &plain, &random);
            collapse_step(&row.watch, &row.groups, i * step, &row.result);
            look_plainly(&plain, i * step);
            check(&row, &plain, seed);
        }
        arena_free(row.arena);
    }
}

/* The window is that of the slowest run, or of a slower pipe outside all runs. */
Test(surge_collapse, window_is_twice_the_slowest_crossing)
{
    struct row row;
    struct failure failure;
    open_row(&row);
    row.network.run_count = 1; /* its one pipe is shorter than the other */
    cr_assert(collapse_start(&row.watch, &row.groups, &row.result, row.arena, &failure));
    cr_expect_float_eq(row.result.window, 2.0 * SECOND * step, 1e-12);
    cr_expect_eq(row.result.count, 0);
    cr_expect(isnan(row.result.time) && isnan(row.result.shut_time) && isnan(row.result.head));
    arena_free(row.arena);
}

/* A head that is higher by less than 1e-6 m is no new highest one. */
Test(surge_collapse, round_off_is_no_harder_blow)
{
    for (int i = 0; i < 2; i++) {
        struct row row;
        open_row(&row);
        row.lumped[1].old[CAVITY_STATE_VOLUME] = 1e-6;
        collapse_step(&row.watch, &row.groups, step, &row.result);
        row.lumped[1].old[CAVITY_STATE_VOLUME] = 0.0;
        row.head[0] = 0.0;
        row.points[0].elevation = 0.0;
        collapse_step(&row.watch, &row.groups, 2 * step, &row.result);
        row.head[0] = i == 0 ? 0.98e-6 : 1.02e-6;
        collapse_step(&row.watch, &row.groups, 3 * step, &row.result);
        cr_expect_float_eq(row.result.time, i == 0 ? 2 * step : 3 * step, 1e-12);
        arena_free(row.arena);
    }
}

/* A cavity shut counts from a hundredth of the largest so far on. */
Test(surge_collapse, small_cavities_count_from_a_hundredth_on)
{
    static const double volumes[] = {1.0e-4, 1.02e-6, 0.98e-6};
    struct row row;
    open_row(&row);
    for (int i = 0; i < 3; i++) {
        row.lumped[1].old[CAVITY_STATE_VOLUME] = volumes[i];
        collapse_step(&row.watch, &row.groups, (2 * i + 1) * step, &row.result);
        row.lumped[1].old[CAVITY_STATE_VOLUME] = 0.0;
        collapse_step(&row.watch, &row.groups, (2 * i + 2) * step, &row.result);
        cr_expect_eq(row.result.count, i < 2 ? i + 1 : 2, "%d: %d", i, row.result.count);
    }
    arena_free(row.arena);
}

/* What round-off opens at a point or a node is none, also before any other: at the point's own
 * bound, and at the node's of 1e-5 m in a step (solver/surge/cavity.h). */
Test(surge_collapse, round_off_is_no_cavity_before_the_first)
{
    static const double shares[] = {1e-9, 0.99, 1.01};
    for (int i = 0; i < 6; i++) {
        struct row row;
        const bool is_node = i >= 3;
        const double least = 1e-5 * step / 2e4;
        const double volume = shares[i % 3] * least;
        open_row(&row);
        row.least[0] = least;
        row.kernel.step = step;
        row.kernel.pipes[0].impedance = 2e4;
        if (is_node) {
            row.kernel.volume[1] = volume;
            row.kernel.cavities[row.kernel.cavity_count++] = (struct kernel_cavity){.node = 1};
        } else {
            row.lumped[1].old[CAVITY_STATE_VOLUME] = volume;
        }
        collapse_step(&row.watch, &row.groups, step, &row.result);
        row.kernel.cavity_count = 0;
        row.kernel.volume[1] = 0.0;
        row.lumped[1].old[CAVITY_STATE_VOLUME] = 0.0;
        collapse_step(&row.watch, &row.groups, 2 * step, &row.result);
        cr_expect_eq(row.result.count, i % 3 == 2, "%d: %d", i, row.result.count);
        arena_free(row.arena);
    }
}
