/* Points without a pipe between shut parts: no law tells their heads, so they keep them. */
#include "models/non_return.h"
#include "models/non_return_motion.h"
#include "models/regulator.h"
#include "solver/surge/cavity.h"
#include "solver/surge/enclosed.h"
#include "tests/solver/kit_law.h"
#include "tests/solver/random_numbers.h"
#include "tests/solver/surge_rig.h"

#include <string.h>

/* Pipe, part, two points joined by an open part, part, pipe; a cavity at each point. */
enum { ROW_POINTS = 4, ROW_PARTS = 3, ROW_LINKS = ROW_PARTS + ROW_POINTS };

struct row {
    struct arena *arena;
    struct water water;
    struct point points[ROW_POINTS];
    struct network network;
    struct kernel kernel;
    struct pipe_end end[2];
    int first[ROW_POINTS + 1];
    int no_stub[ROW_POINTS + 1];
    struct ends ends;
    int number[ROW_POINTS];
    double head[ROW_POINTS];
    double before[ROW_POINTS];
    bool is_enclosed[ROW_POINTS];
    struct kit_law law[ROW_PARTS];
    struct regulator regulator;
    struct lumped lumped[ROW_LINKS];
    struct group_link link[ROW_LINKS];
    struct group_law group_law;
    struct group group;
    struct group_work work;
    struct group_coupled_work coupled_work;
    struct enclosed_work enclosed;
};

static const struct element kit_part = {.kind = "part", .drop = kit_drop, .span = kit_span};
static const double vapour = -10;

static void open_row(struct row *row, double head_before, double head_behind)
{
    static const int reaches[] = {2, 2};
    struct failure failure;
    *row = (struct row){.arena = arena_new(),
                        .water = {.gravity = 9.81, .viscosity = 1e-6},
                        .end = {{0, KERNEL_END}, {1, KERNEL_START}},
                        .first = {0, 1, 1, 1, 2},
                        .number = {0, 1, 2, 3}};
    cr_assert(kernel_init(&row->kernel, 2, reaches, row->arena, &failure));
    row->kernel.pipes[0].impedance = row->kernel.pipes[1].impedance = 2e4;
    kernel_start(&row->kernel, 0, head_before, 0);
    kernel_start(&row->kernel, 1, head_behind, 0);
    row->network = (struct network){.point_count = ROW_POINTS, .points = row->points};
    row->ends = (struct ends){.first = row->first, .end = row->end, .stub_first = row->no_stub};
    for (int k = 0; k < ROW_LINKS; k++) {
        const bool is_part = k < ROW_PARTS;
        row->lumped[k] = (struct lumped){.element = is_part ? &kit_part : &cavity_element,
                                         .data = is_part ? &row->law[k] : NULL,
                                         .now = {.water = &row->water}};
        row->link[k] = (struct group_link){.lumped = &row->lumped[k],
                                           .from = is_part ? k : GROUP_HELD,
                                           .to = is_part ? k + 1 : k - ROW_PARTS,
                                           .held_from = vapour,
                                           .coupled = NETWORK_NONE};
    }
    row->group = (struct group){.point_count = ROW_POINTS,
                                .link_count = ROW_LINKS,
                                .points = row->number,
                                .links = row->link,
                                .laws = &row->group_law,
                                .impedance = 2e4};
    cr_assert(group_work_init(&row->work, ROW_POINTS, ROW_LINKS, row->arena, &failure));
    cr_assert(enclosed_work_init(&row->enclosed, ROW_POINTS, ROW_LINKS, row->arena, &failure));
    cr_assert(enclosed_can_be(&row->group, &row->ends, &row->enclosed));
}

/* One-way parts that are lifted by these heads at the ends, an open one between. */
static void add_valves(struct row *row, double lifts_first, double lifts_last)
{
    const struct kit_law open = {.quadratic = 1e5, .lower = -INFINITY, .upper = INFINITY};
    row->law[0] = (struct kit_law){
        .start = lifts_first, .quadratic = 1e5, .lower = 0, .upper = (double)INFINITY};
    row->law[1] = open;
    row->law[2] = row->law[0];
    row->law[2].start = lifts_last;
}

/* Writes a one-way part the other way round: from its end to its start. */
static void turn_part(struct row *row, int part)
{
    struct kit_law *law = &row->law[part];
    row->link[part].from = part + 1;
    row->link[part].to = part;
    law->start = -law->start;
    law->lower = -(double)INFINITY;
    law->upper = 0;
}

/* A regulator as part k, fully open at first. */
static void put_regulator(struct row *row, int k, double most_behind)
{
    struct failure failure;
    row->regulator = (struct regulator){.area = 2e-3,
                                        .open_loss = 6,
                                        .most_behind = most_behind,
                                        .least_before = -(double)INFINITY};
    row->lumped[k].element = &regulator_element;
    row->lumped[k].data = &row->regulator;
    row->lumped[k].old[REGULATOR_STATE_OPENING] = 1;
    row->link[k].coupled = 0;
    row->group_law.link = k;
    row->group.law_count = 1;
    cr_assert(group_coupled_work_init(&row->coupled_work, &row->group, row->arena, &failure));
}

/* m, by which part k misses its law. */
static double missed_by(struct row *row, int k)
{
    const struct coupled_at at = {.flow = row->lumped[k].flow,
                                  .head_from = row->head[k],
                                  .head_to = row->head[k + 1],
                                  .impedance = row->group.impedance};
    if (row->link[k].coupled != NETWORK_NONE) {
        return fabs(lumped_law(&row->lumped[k], &at).value);
    }
    row->lumped[k].drop = lumped_drop(&row->lumped[k], at.flow);
    return group_off_graph(&row->lumped[k], at.head_from - at.head_to);
}

/* Solves a step without the cavities and keeps what is enclosed. */
static void solve_row(struct row *row)
{
    const struct group_place place = {&row->network, &row->ends, &row->kernel, row->head};
    struct group part = row->group;
    part.link_count = ROW_PARTS;
    for (int k = 0; k < ROW_PARTS; k++) {
        lumped_begin(&row->lumped[k], 1, 0.005, 1);
    }
    const bool is_coupled = row->group.law_count > 0;
    cr_assert(is_coupled ? group_coupled_solve(&part, &place, &row->coupled_work)
                         : group_solve(&part, &place, &row->work));
    enclosed_settle(&row->group, &place, row->coupled_work.law,
                    is_coupled ? row->coupled_work.missed : row->work.missed, row->before,
                    &row->enclosed, row->is_enclosed);
}

static void start_from(struct row *row, const double guess[ROW_POINTS], double before)
{
    memcpy(row->head, guess, sizeof row->head);
    for (int i = 0; i < ROW_POINTS; i++) {
        row->before[i] = before;
    }
}

/* Whatever the guess: the head before the step, brought to where it lifts neither part and boils
 * nothing. Where the pipes' heads lift both, water flows and all is known. */
Test(surge_enclosed, head_between_is_kept_or_moved_just_as_far_as_needed)
{
    int enclosed = 0;
    struct random random;
    random_seed(&random, 1);
    for (int i = 0; i < 2000; i++) {
        struct row row;
        const double ahead = random_even(&random, -25, 40);
        const double behind = random_even(&random, -5, 40);
        const double first = random_pick(&random, 3) ? random_even(&random, 0, 2) : 0;
        const double last = random_even(&random, 0, 2);
        const double before = random_even(&random, -15, 50);
        double guess[ROW_POINTS];
        open_row(&row, ahead, behind);
        add_valves(&row, first, last);
        for (int k = 0; k < ROW_PARTS; k += 2) {
            if (random_pick(&random, 2)) {
                turn_part(&row, k);
            }
        }
        for (int k = 0; k < ROW_PARTS; k++) {
            row.lumped[k].flow = random_pick(&random, 2) ? random_even(&random, -1e-3, 1e-3) : 0;
        }
        for (int p = 0; p < ROW_POINTS; p++) {
            guess[p] = random_even(&random, -5, 40);
        }
        start_from(&row, guess, before);
        solve_row(&row);
        const bool is_shut = ahead - first < behind + last;
        cr_assert_eq(row.is_enclosed[1], is_shut, "trial %d", i);
        cr_assert_eq(row.is_enclosed[2], is_shut);
        cr_assert_not(row.is_enclosed[0] || row.is_enclosed[3]);
        enclosed += is_shut;
        const double kept = fmin(fmax(before, fmax(ahead - first, vapour)), behind + last);
        for (int p = 1; is_shut && p <= 2; p++) {
            cr_assert_float_eq(row.head[p], kept, 1e-9, "trial %d: %g, not %g", i, row.head[p],
                               kept);
        }
        arena_free(row.arena);
    }
    cr_assert_gt(enclosed, 700);
    cr_assert_lt(enclosed, 1900);
}

/* A tank behind an open part tells the head, pipe or none. */
Test(surge_enclosed, point_at_a_tank_is_known)
{
    struct row row;
    open_row(&row, 40, 50);
    add_valves(&row, 0, 0);
    row.law[0].lower = -(double)INFINITY;
    row.link[0].from = GROUP_HELD;
    row.link[0].held_from = 12;
    start_from(&row, (double[]){40, 30, 30, 50}, 25);
    solve_row(&row);
    for (int p = 0; p < ROW_POINTS; p++) {
        cr_expect_not(row.is_enclosed[p], "%d", p);
    }
    cr_expect_float_eq(row.head[1], 12, 1e-9);
    cr_expect_float_eq(row.head[2], 12, 1e-9);
    arena_free(row.arena);
}

/* Three one-way parts in a row enclose two points, each to be kept on its own: neither may stay
 * where the guess of the other has stopped it. */
Test(surge_enclosed, each_of_two_points_side_by_side_is_kept)
{
    int enclosed = 0;
    struct random random;
    random_seed(&random, 1);
    for (int i = 0; i < 2000; i++) {
        struct row row;
        const double ahead = random_even(&random, -5, 40);
        const double behind = random_even(&random, -5, 40);
        const double lifts[ROW_PARTS] = {random_even(&random, 0, 2), random_even(&random, 0, 2),
                                         random_even(&random, 0, 2)};
        const double wanted = random_even(&random, -9, 50);
        double guess[ROW_POINTS];
        open_row(&row, ahead, behind);
        add_valves(&row, lifts[0], lifts[2]);
        row.law[1] = row.law[0];
        row.law[1].start = lifts[1];
        for (int p = 0; p < ROW_POINTS; p++) {
            guess[p] = random_even(&random, -9, 50);
        }
        start_from(&row, guess, wanted);
        solve_row(&row);
        const double least = ahead - lifts[0];
        const double most = behind + lifts[2];
        const bool is_shut = least - lifts[1] < most;
        cr_assert_eq(row.is_enclosed[1] && row.is_enclosed[2], is_shut, "trial %d", i);
        enclosed += is_shut;
        if (is_shut) {
            /* what lies outside first, then what the other lets it be */
            const double first = fmin(fmax(wanted, least), most + lifts[1]);
            const double last = fmax(fmin(wanted, most), least - lifts[1]);
            cr_assert_float_eq(row.head[1], first, 1e-9, "trial %d: %g", i, row.head[1] - first);
            cr_assert_float_eq(row.head[2], last, 1e-9, "trial %d: %g", i, row.head[2] - last);
        }
        arena_free(row.arena);
    }
    cr_assert_gt(enclosed, 700);
    cr_assert_lt(enclosed, 1900);
}

/* A regulator that holds 20 m behind it joins two points while both valves outside are shut: the
 * heads before would take 15 m from each, and it would be shut no more. */
Test(surge_enclosed, no_regulator_within_is_moved_off_its_law)
{
    struct row row;
    open_row(&row, 10, 50);
    add_valves(&row, 0, 0);
    put_regulator(&row, 1, 20);
    start_from(&row, (double[]){10, 35, 20, 50}, 20);
    solve_row(&row);
    cr_expect(row.is_enclosed[1] && row.is_enclosed[2]);
    cr_expect_lt(missed_by(&row, 1), 1e-9, "at %g and %g m", row.head[1], row.head[2]);
    arena_free(row.arena);
}

/* A part that lets water pass as `kind` tells: forward, backward, nowhere, both ways. */
static struct kit_law part_of_kind(int kind, double lifts)
{
    static const double signs[] = {1, -1, 0, 0};
    return (struct kit_law){.start = signs[kind] * lifts,
                            .quadratic = 1e5,
                            .lower = kind == 1 || kind == 3 ? -(double)INFINITY : 0,
                            .upper = kind == 0 || kind == 3 ? (double)INFINITY : 0};
}

/* Parts of all kinds in a row, one of them a regulator in every second: each law still holds where
 * the heads are then, and none of these is far from all there were. */
Test(surge_enclosed, no_law_is_broken_by_what_is_kept)
{
    int enclosed = 0;
    struct random random;
    random_seed(&random, 3);
    for (int i = 0; i < 4000; i++) {
        struct row row;
        double guess[ROW_POINTS];
        open_row(&row, random_even(&random, -5, 40), random_even(&random, -5, 40));
        for (int k = 0; k < ROW_PARTS; k++) {
            row.law[k] = part_of_kind((int)random_pick(&random, 4), random_even(&random, 0, 2));
        }
        if (i % 2) {
            const int k = (int)random_pick(&random, ROW_PARTS);
            put_regulator(&row, k, random_even(&random, 0, 40));
            row.regulator.stroke = 0.02;
            row.lumped[k].old[REGULATOR_STATE_OPENING] = random_pick(&random, 3) ? 1 : 0;
        }
        for (int p = 0; p < ROW_POINTS; p++) {
            guess[p] = random_even(&random, -9, 50);
        }
        start_from(&row, guess, random_even(&random, -15, 50));
        solve_row(&row);
        for (int k = 0; k < ROW_PARTS; k++) {
            cr_assert_lt(missed_by(&row, k), 1e-6, "trial %d, part %d", i, k);
        }
        for (int p = 1; p <= 2; p++) {
            enclosed += row.is_enclosed[p];
            cr_assert_lt(fabs(row.head[p]), 100, "trial %d, point %d: %g", i, p, row.head[p]);
        }
        arena_free(row.arena);
    }
    cr_assert_gt(enclosed, 2000);
    cr_assert_lt(enclosed, 7000);
}

/* A regulator that holds 20 m behind it and shuts for more, before a valve that 50 m shut: 25 m are
 * kept; but 10 m would open it, and it would let through what brings them to the 20 m. */
Test(surge_enclosed, head_behind_a_shut_regulator_is_kept_where_that_keeps_it_shut)
{
    static const double befores[] = {25, 10};
    static const double expected[] = {25, 20};
    for (int i = 0; i < 2; i++) {
        struct row row;
        open_row(&row, 40, 50);
        add_valves(&row, 0, 0);
        put_regulator(&row, 0, 20);
        start_from(&row, (double[]){40, 30, 30, 50}, befores[i]);
        solve_row(&row);
        cr_expect(row.is_enclosed[1] && row.is_enclosed[2]);
        cr_expect_float_eq(row.head[1], expected[i], 1e-9, "%g", row.head[1]);
        cr_expect_float_eq(row.head[2], expected[i], 1e-9, "%g", row.head[2]);
        arena_free(row.arena);
    }
}

/* Tank - pipe - valve - point - valve - pipe - tank. */
struct line {
    struct rig rig;
    struct rig_valve valve;
    int links[2];
    int between;
};

static void lay_line(struct line *line)
{
    static const double flow = 1e-3;
    struct rig *rig = &line->rig;
    const double area = 0.002;
    rig_open(rig, 3);
    line->valve = (struct rig_valve){.capacity = flow};
    const int high = rig_add_tank(rig, 30);
    const int before = rig_add_point(rig, 30);
    line->between = rig_add_point(rig, 29);
    const int behind = rig_add_point(rig, 28);
    const int low = rig_add_tank(rig, 28);
    rig_add_pipe(rig, high, before, 100, area, 400, flow);
    line->links[0] =
        rig_add_link(rig, before, line->between, area, &rig_valve_element, &line->valve, flow);
    line->links[1] =
        rig_add_link(rig, line->between, behind, area, &rig_valve_element, &line->valve, flow);
    rig_add_pipe(rig, behind, low, 60, area, 400, flow);
    rig->site.surge.reaches = 2;
    rig_add_gauge(rig, line->between, false);
    rig_add_gauge(rig, before, false);
}

/* Waves of 20 m go on outside. */
Test(surge_enclosed, water_between_two_valves_that_shut_keeps_its_head)
{
    struct line line;
    lay_line(&line);
    for (int i = 0; i < 2; i++) {
        rig_add_event(&line.rig, SURGE_EVENT_SET, 0.5, line.links[i], 0, 0.2);
    }
    rig_run(&line.rig);
    const struct surge *result = &line.rig.result;
    double shut = NAN;
    double most = -INFINITY;
    for (int i = 0; i < result->time_count; i++) {
        if (result->time[i] < 0.7 - 1e-9) {
            shut = rig_head(&line.rig, i, 0);
        } else {
            cr_expect_eq(rig_head(&line.rig, i, 0), shut, "%g s: %.17g", result->time[i],
                         rig_head(&line.rig, i, 0));
            most = fmax(most, rig_head(&line.rig, i, 1));
        }
    }
    cr_expect_gt(most, 45);
    cr_expect_eq(result->enclosed_count, 1);
    cr_expect_eq(result->enclosed_point, line.between);
    rig_close(&line.rig);
}

/* With one of them open the point belongs to its pipe. */
Test(surge_enclosed, nothing_is_enclosed_by_one_valve)
{
    struct line line;
    lay_line(&line);
    rig_add_event(&line.rig, SURGE_EVENT_SET, 0.5, line.links[1], 0, 0.2);
    rig_run(&line.rig);
    const struct surge *result = &line.rig.result;
    cr_expect_eq(result->enclosed_count, 0);
    cr_expect_eq(result->enclosed_point, NETWORK_NONE);
    const int last = result->time_count - 1;
    cr_expect_float_eq(rig_head(&line.rig, last, 0), rig_head(&line.rig, last, 1), 1e-9);
    rig_close(&line.rig);
}

/* Just lifted, with no water to follow: a part stays lifted under its opening head, so that it is
 * there when the next valve lifts too, and lies down under less. */
Test(surge_enclosed, lifted_part_without_flow_leans_on_its_opening_head)
{
    const struct water water = {.gravity = 9.81, .density = 1000};
    const struct instant now = {1, 0.005, 1, &water, NULL};
    int tried = 0;
    for (int i = 0; i < non_return_type_count(); i++) {
        struct non_return valve;
        double old[ELEMENT_STATE_MAX] = {0};
        double next[ELEMENT_STATE_MAX] = {0};
        non_return_make(non_return_type_at(i), 0.05, MOUNTING_UP, &water, &valve);
        if (valve.form == NON_RETURN_IDEAL || valve.leak_area > 0 || !(valve.opening_head > 1e-3)) {
            continue;
        }
        non_return_motion.start(&valve, &water, 0, -3, old);
        (void)non_return_motion.drop(&valve, &now, old, 0, next);
        (void)non_return_motion.settle(&valve, &now, old, 0, valve.opening_head + 1e-3, next);
        cr_assert_gt(next[NON_RETURN_STATE_OPENING], 0);
        memcpy(old, next, sizeof old);
        for (int k = 0; k < 2; k++) {
            const double head = k == 0 ? valve.opening_head : 0.99 * valve.opening_head;
            (void)non_return_motion.drop(&valve, &now, old, 0, next);
            cr_assert_not(non_return_motion.settle(&valve, &now, old, 0, head, next));
            cr_assert_eq(next[NON_RETURN_STATE_OPENING] > 0, k == 0, "%s", valve.type);
        }
        tried++;
    }
    cr_assert_gt(tried, 3);
}

/* Tank - pump's flow - pipe - two valves - pipe - tank: shut at first, until the wave of the flow
 * lifts the first, which must stay lifted while no water can follow, then the second. */
Test(surge_enclosed, two_valves_in_a_row_open_when_the_heads_outside_lift_both)
{
    static const char *types[] = {"swing flap", "spring cone", "ball"};
    for (int i = 0; i < 9; i++) {
        struct rig rig;
        struct non_return valves[2];
        struct rig_valve dose = {.capacity = 5e-4};
        const double area = 0.002;
        rig_open(&rig, 1);
        for (int v = 0; v < 2; v++) {
            const char *type = types[v == 0 ? i / 3 : i % 3];
            non_return_make(non_return_type_find(type, NULL), 0.05, MOUNTING_UP, &rig.site.water,
                            &valves[v]);
        }
        const int low = rig_add_tank(&rig, 10);
        const int fed = rig_add_point(&rig, 10);
        const int before = rig_add_point(&rig, 10);
        const int between = rig_add_point(&rig, 15);
        const int behind = rig_add_point(&rig, 20);
        const int high = rig_add_tank(&rig, 20);
        rig_add_link(&rig, low, fed, area, &rig_dose_element, &dose, 0);
        rig_add_pipe(&rig, fed, before, 40, area, 400, 0);
        rig_add_link(&rig, before, between, area, &non_return_element, &valves[0], 0);
        const int last =
            rig_add_link(&rig, between, behind, area, &non_return_element, &valves[1], 0);
        rig_add_pipe(&rig, behind, high, 30, area, 400, 0);
        rig.site.surge.reaches = 4;
        rig_add_gauge(&rig, before, false);
        rig_add_gauge(&rig, behind, false);
        rig_add_gauge(&rig, last, true);
        rig_run(&rig);
        const double lifts = valves[0].opening_head + valves[1].opening_head;
        int waits = 0; /* steps without flow under enough head for both */
        double most = 0;
        for (int row = 0; row < rig.result.time_count; row++) {
            const double head = rig_head(&rig, row, 0) - rig_head(&rig, row, 1);
            const double flow = rig_flow(&rig, row, 2);
            waits += head > lifts && !(flow > 0) && !(most > 0);
            most = fmax(most, flow);
        }
        cr_expect_gt(most, 1e-4, "%d: %g", i, most);
        cr_expect_leq(waits, 3, "%d: %d steps", i, waits);
        cr_expect_eq(rig.result.enclosed_point, between);
        rig_close(&rig);
    }
}
