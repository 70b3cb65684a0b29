/* The rules of solver/surge/enclosed.h one by one, on states put together by hand: what counts as a
 * flow, as a move, as a law kept, and who is joined to whom. */
#include "solver/surge/enclosed.h"
#include "tests/solver/counted_law.h"

#include <criterion/criterion.h>

/* Point with a pipe - part - point - part - point - part - point with a pipe; the last part only
 * where it is asked for. */
enum { MADE_POINTS = 4, MADE_PARTS = 3 };

static const double impedance = 2e4;

struct made {
    struct arena *arena;
    int number[MADE_POINTS];
    int first[MADE_POINTS + 1];
    int stub_first[MADE_POINTS + 1];
    struct ends ends;
    struct counted counted[MADE_PARTS];
    struct lumped lumped[MADE_PARTS];
    struct group_link link[MADE_PARTS];
    struct group_law group_law;
    struct coupled_law law;
    struct group group;
    struct enclosed_work work;
    double head[MADE_POINTS];
    double before[MADE_POINTS];
    bool is_enclosed[MADE_POINTS];
    int asked;
};

/* All parts one-way, without flow, lifted by far more than any head here. */
static void make(struct made *made, int points)
{
    struct failure failure;
    *made = (struct made){.arena = arena_new()};
    for (int i = 0; i < points; i++) {
        made->number[i] = i;
        made->first[i + 1] = made->first[i] + (i == 0 || i == points - 1 ? 1 : 0);
    }
    made->ends = (struct ends){.first = made->first, .stub_first = made->stub_first};
    for (int k = 0; k < points - 1; k++) {
        made->counted[k] = (struct counted){.law = kit_valve(100, 1e5), .asked = &made->asked};
        made->lumped[k] = (struct lumped){
            .element = &counted_element, .data = &made->counted[k], .span = {0, (double)INFINITY}};
        made->link[k] = (struct group_link){
            .lumped = &made->lumped[k], .from = k, .to = k + 1, .coupled = NETWORK_NONE};
    }
    made->group = (struct group){.point_count = points,
                                 .link_count = points - 1,
                                 .points = made->number,
                                 .links = made->link,
                                 .laws = &made->group_law,
                                 .impedance = impedance};
    cr_assert(enclosed_work_init(&made->work, points, points, made->arena, &failure));
}

static void settle(struct made *made, double missed)
{
    const struct group_place place = {NULL, &made->ends, NULL, made->head};
    enclosed_settle(&made->group, &place, &made->law, missed, made->before, &made->work,
                    made->is_enclosed);
}

/* 1e-12 of (1 m + the largest head)/impedance is no flow, nor is what each point's miss brings. */
Test(surge_enclosed_law, flow_counts_from_what_a_solution_leaves)
{
    static const struct {
        double head;
        double missed;
        double least; /* m, of flow times impedance */
    } rows[] = {{0, 0, 1e-12}, {-3, 0, 4e-12}, {3, 0, 4e-12}, {0, 1e-6, 3e-6}, {9, 1e-13, 1e-11}};
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        for (int k = 0; k < 2; k++) {
            struct made made;
            make(&made, 3);
            made.head[2] = rows[i].head;
            made.lumped[1].flow = (k == 0 ? 0.99 : 1.01) * rows[i].least / impedance;
            settle(&made, rows[i].missed);
            cr_expect_eq(made.is_enclosed[1], k == 0, "row %zu, %d", i, k);
            arena_free(made.arena);
        }
    }
}

/* Heads that moved by more than 1e-13 of (1 m + the head) let the others be looked at again: each
 * round asks the laws of both parts around once. */
Test(surge_enclosed_law, what_has_moved_is_looked_at_again)
{
    static const struct {
        double before;
        double off;
        int rounds;
    } rows[] = {{-3, 3.9e-13, 1}, {-3, 4.05e-13, 2}, {-3, -3.9e-13, 1}, {-3, -4.05e-13, 2},
                {0, 0.99e-13, 1}, {0, 1.01e-13, 2},  {0, -1.01e-13, 2}, {5, 2, 2},
                {5, 5.9e-13, 1},  {5, 6.05e-13, 2},  {5, -2, 2},        {5, 0, 1}};
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        struct made made;
        make(&made, 3);
        made.before[1] = rows[i].before;
        made.head[1] = rows[i].before + rows[i].off;
        settle(&made, 0);
        cr_expect(made.is_enclosed[1]);
        cr_expect_eq(made.head[1], rows[i].before);
        cr_expect_eq(made.asked, 2 * rows[i].rounds, "row %zu: asked %d times", i, made.asked);
        arena_free(made.arena);
    }
}

/* An open part that lifts 2 m joins two points: both rise as the first does, if it does. */
Test(surge_enclosed_law, joined_points_keep_how_they_stand_to_one_another)
{
    static const double founds[] = {10, 15, 19};
    for (int i = 0; i < 3; i++) {
        struct made made;
        make(&made, 4);
        made.counted[1].law = kit_pump(2, 0);
        made.lumped[1].span.lower = -(double)INFINITY;
        made.head[1] = founds[i];
        made.head[2] = founds[i] + 2;
        made.before[1] = 15;
        made.before[2] = 99;
        settle(&made, 0);
        cr_expect(made.is_enclosed[1] && made.is_enclosed[2]);
        cr_expect_float_eq(made.head[1], 15, 1e-12);
        cr_expect_float_eq(made.head[2], 17, 1e-12, "%d: %g", i, made.head[2]);
        cr_expect_eq(made.head[0], 0);
        cr_expect_eq(made.head[3], 0);
        arena_free(made.arena);
    }
}

/* A coupled law that misses by what it is told. */
static struct coupled_law missing(const void *data, const struct water *water,
                                  const struct coupled_at *at)
{
    (void)water;
    (void)at;
    return (struct coupled_law){.value = *(const double *)data};
}

static const struct coupling missing_coupling = {.law = missing};
static const struct element missing_element = {.kind = "missing", .coupling = &missing_coupling};

static void put_coupled(struct made *made, const double *value)
{
    made->lumped[1].element = &missing_element;
    made->lumped[1].data = value;
    made->link[1].coupled = 0;
    made->group_law.link = 1;
    made->group.law_count = 1;
}

/* A coupled law joins its heads where both are in it, be it by little, or where water flows either
 * way. */
Test(surge_enclosed_law, coupled_law_joins_by_both_heads_or_by_flow)
{
    static const struct {
        double by_from, by_to, flow;
        bool is_joining;
    } rows[] = {{0, 0, 0, false},       {-1, 1, 0, true},      {-0.05, 0.05, 0, true},
                {0.05, -0.05, 0, true}, {0.05, 0.05, 0, true}, {-0.05, -0.05, 0, true},
                {-1, 0, 0, false},      {1, 0, 0, false},      {0, -1, 0, false},
                {0, 1, 0, false},       {0, 0.05, 0, false},   {0.05, 0, 0, false},
                {0, 0, 1e-3, true},     {0, 0, -1e-3, true},   {0, -1, -1e-3, true},
                {0, 0, -4e-17, false},  {0, 0, 4e-17, false}};
    static const double kept = 0;
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        struct made made;
        make(&made, 3);
        put_coupled(&made, &kept);
        made.law.by_head_from = rows[i].by_from;
        made.law.by_head_to = rows[i].by_to;
        made.lumped[1].flow = rows[i].flow;
        settle(&made, 0);
        cr_expect_eq(made.is_enclosed[1], !rows[i].is_joining, "row %zu", i);
        arena_free(made.arena);
    }
}

/* A law beside it that is missed by more than 1e-12 of (1 m + the largest head at its ends), or
 * than the group's solution missed it by, lets the head move nowhere. */
Test(surge_enclosed_law, head_moves_no_further_than_a_coupled_law_is_kept)
{
    static const struct {
        double found, before, behind;
        double missed; /* m, by the group's solution */
        double limit;  /* m */
    } rows[] = {{-1, -3, 1, 0, 4e-12},     {1, 3, -1, 0, 4e-12},     {0.5, 1, -3, 0, 4e-12},
                {0.5, 1, 3, 0, 4e-12},     {0.5, -1, 0, 0, 2e-12},   {-1, -3, 1, 1e-6, 1e-6},
                {-1, -3, 1, 3e-12, 4e-12}, {-1, -3, 1, 8e-12, 8e-12}};
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        for (int k = 0; k < 4; k++) {
            const double sign = k < 2 ? 1 : -1;
            const double value = sign * (k % 2 == 0 ? 0.99 : 1.01) * rows[i].limit;
            struct made made;
            make(&made, 3);
            put_coupled(&made, &value);
            made.head[1] = rows[i].found;
            made.head[2] = rows[i].behind;
            made.before[1] = rows[i].before;
            settle(&made, rows[i].missed);
            cr_expect(made.is_enclosed[1]);
            cr_expect_float_eq(made.head[1], k % 2 == 0 ? rows[i].before : rows[i].found, 1e-12,
                               "row %zu, %d: %g", i, k, made.head[1]);
            arena_free(made.arena);
        }
    }
}

/* A short pipe without a grid is a pipe as any other. */
Test(surge_enclosed_law, point_with_a_short_pipe_is_not_enclosed)
{
    struct made made;
    make(&made, 3);
    const struct group_place place = {NULL, &made.ends, NULL, made.head};
    cr_expect(enclosed_can_be(&made.group, &made.ends, &made.work));
    made.stub_first[2] = made.stub_first[3] = 1;
    cr_expect_not(enclosed_can_be(&made.group, &made.ends, &made.work));
    made.head[1] = 4;
    enclosed_settle(&made.group, &place, &made.law, 0, made.before, &made.work, made.is_enclosed);
    cr_expect_not(made.is_enclosed[1]);
    cr_expect_eq(made.head[1], 4);
    arena_free(made.arena);
}
