/* The lesson cases of further elements: what their first lines promise is what the solver finds. */
#include "io/door/door.h"
#include "solver/steady/steady.h"

#include <criterion/criterion.h>
#include <math.h>
#include <string.h>

struct lesson {
    struct arena *arena;
    struct site *site;
    struct steady answer;
};

static void open_lesson(struct lesson *lesson, const char *name)
{
    char path[512];
    struct faults faults;
    struct failure failure;
    snprintf(path, sizeof path, "%s/cases/%s", SOURCE_DIR, name);
    lesson->arena = arena_new();
    faults_init(&faults, lesson->arena);
    const bool is_read = read_site(path, lesson->arena, &lesson->site, &faults);
    if (!is_read) {
        faults_write(&faults, FAULT_ERROR, stderr);
    }
    cr_assert(is_read, "%s", name);
    cr_assert(steady_init(&lesson->answer, lesson->site->network, lesson->arena, &failure));
}

static void solve(struct lesson *lesson)
{
    struct failure failure;
    const struct network *network = lesson->site->network;
    struct steady_solver *solver = steady_solver_new(network, &failure);
    cr_assert_not_null(solver);
    cr_assert(steady_solve(solver, network, &lesson->site->water, &steady_defaults, &lesson->answer,
                           &failure));
    cr_assert_eq(lesson->answer.ending, STEADY_CONVERGED);
    steady_solver_free(solver);
}

static double flow(const struct lesson *lesson, const char *name)
{
    const int link = network_find_link(lesson->site->network, name);
    cr_assert_geq(link, 0, "%s", name);
    return lesson->answer.flow[link];
}

/* Gauge pressure at a point, bar. */
static double bar(const struct lesson *lesson, const char *name)
{
    const int point = network_find_point(lesson->site->network, name);
    cr_assert_geq(point, 0, "%s", name);
    const double head = lesson->answer.head[point] - lesson->site->network->points[point].elevation;
    return head * lesson->site->water.density * lesson->site->water.gravity / 1e5;
}

/* Litres a minute = 80 sqrt(bar), the definition in EN 12845 (from memory); the jet through its one
 * pair of numbers; the relief valve lifts by the share of its overpressure, q = s Cd A sqrt(2 g h).
 */
Test(lessons, outlets_follow_their_laws)
{
    struct lesson lesson;
    open_lesson(&lesson, "lesson-outlets.yaml");
    solve(&lesson);
    cr_expect_float_eq(flow(&lesson, "spray/mouth") * 6e4, 80 * sqrt(bar(&lesson, "spray")), 1e-6);
    cr_expect_float_eq(flow(&lesson, "jet/mouth"), 2e-4 * sqrt(bar(&lesson, "jet") / 2), 1e-9);
    cr_expect_float_eq(flow(&lesson, "cottage limiter") * 6e4, 6, 1e-9);
    cr_expect_float_eq(flow(&lesson, "house/draw-off"), 5e-4, 1e-12);
    cr_expect_eq(flow(&lesson, "house/standpipe"), 0);
    const double lifted = (bar(&lesson, "relief") / 2.4 - 1) / 0.1;
    const double speed = sqrt(2 * bar(&lesson, "relief") * 1e5 / lesson.site->water.density);
    const double seat = 3.14159265358979323846 / 4 * 0.015 * 0.015;
    cr_expect(lifted > 0 && lifted < 1);
    cr_expect_float_eq(flow(&lesson, "relief/mouth"), lifted * 0.7 * seat * speed, 1e-9);
    arena_free(lesson.arena);
}

/* With little pressure the house gets less than it wants: 0.5 L/s x sqrt(pressure/1 bar). */
Test(lessons, draw_falls_when_the_pressure_does)
{
    struct lesson lesson;
    open_lesson(&lesson, "lesson-outlets.yaml");
    struct network *network = lesson.site->network;
    network->points[network->tanks[0].point].held_head = 12;
    solve(&lesson);
    cr_expect_lt(bar(&lesson, "house"), 1);
    cr_expect_float_eq(flow(&lesson, "house/draw-off"), 5e-4 * sqrt(bar(&lesson, "house")), 1e-9);
    cr_expect_eq(flow(&lesson, "relief/mouth"), 0);
    arena_free(lesson.arena);
}

/* A third open (linear trim): nine times the loss of 10, on the velocity in 20.4 mm. */
Test(lessons, float_valve_throttles_by_its_level)
{
    struct lesson lesson;
    open_lesson(&lesson, "lesson-float-valve.yaml");
    solve(&lesson);
    const struct network *network = lesson.site->network;
    const int link = network_find_link(network, "float");
    const double v = lesson.answer.flow[link] / network->links[link].area;
    const double drop =
        lesson.answer.head[network->links[link].from] - lesson.answer.head[network->links[link].to];
    cr_expect_float_eq(drop, 90 * v * v / (2 * 9.80665), 1e-6);
    arena_free(lesson.arena);
}

/* By hand: 24 - 8/9 Q^2 = 12 + Q^2 in L/s, Q = sqrt(12 x 9/17). */
Test(lessons, pump_of_three_numbers_meets_its_line)
{
    struct lesson lesson;
    open_lesson(&lesson, "lesson-pump-numbers.yaml");
    solve(&lesson);
    cr_expect_float_eq(flow(&lesson, "line") * 1e3, sqrt(12 * 9 / 17.0), 0.005);
    arena_free(lesson.arena);
}

/* Bassett, Winterbone & Pearson 2001 (from memory), square tee of equal areas: straight on
 * q^2 - 1.5 q + 0.5, into the branch 1 + q^2 - 2 q cos 67.5 deg, of the run's velocity head. */
Test(lessons, tee_divides_by_its_law)
{
    struct lesson lesson;
    open_lesson(&lesson, "lesson-tee.yaml");
    solve(&lesson);
    const struct network *network = lesson.site->network;
    const double *head = lesson.answer.head;
    const double main_flow = flow(&lesson, "fork/main");
    const double on = flow(&lesson, "fork/straight") / main_flow;
    const double off = flow(&lesson, "fork/side") / main_flow;
    const double v = main_flow / network->links[network_find_link(network, "fork/main")].area;
    const double unit = v * v / (2 * 9.80665);
    const double before = head[network_find_point(network, "fork/main")];
    cr_expect_float_eq(on + off, 1, 1e-9);
    cr_expect_float_eq(before - head[network_find_point(network, "fork/straight")],
                       unit * (on * on - 1.5 * on + 0.5), 1e-7);
    cr_expect_float_eq(before - head[network_find_point(network, "fork/side")],
                       unit * (1 + off * off - 2 * off * 0.3826834323650898), 1e-7);
    arena_free(lesson.arena);
}

/* Held exactly while there is more; with a spring of 18 m it stands open: K v^2/2g, K 8. */
Test(lessons, regulator_holds_or_stands_open)
{
    struct lesson lesson;
    open_lesson(&lesson, "lesson-regulator.yaml");
    struct network *network = lesson.site->network;
    const struct link *link = &network->links[network_find_link(network, "regulator")];
    const double *head = lesson.answer.head;
    solve(&lesson);
    cr_expect_float_eq(bar(&lesson, network->points[link->to].name), 2, 1e-9);
    network->points[network->tanks[0].point].held_head = 18;
    solve(&lesson);
    const double v = flow(&lesson, "regulator") / link->area;
    cr_expect_lt(bar(&lesson, network->points[link->to].name), 2);
    cr_expect_float_eq(head[link->from] - head[link->to], 8 * v * v / (2 * 9.80665), 1e-8);
    arena_free(lesson.arena);
}
