/* A trace beside a case is held against the run: made-up traces whose difference is known exactly,
 * since they are the run's own heads, moved by a stated amount or not at all. */
#include "io/door/door.h"
#include "io/results/surge_sheet.h"
#include "solver/surge/trace.h"

#include <criterion/criterion.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

/* The case's path: tables are looked for beside it. Each test has its own table. */
#define CASE_PATH BUILD_DIR "/measured_case.yaml"

/* A valve shuts at the end of a pipe between two tanks; %s: the line about the trace. */
static const char form[] =
    "tanks:\n  upper: {level: 30 m, fixed: yes, outlet elevation: 0 m}\n"
    "  lower: {level: 29 m, fixed: yes, inlet elevation: 0 m}\n"
    "runs:\n  main:\n    from: upper\n    to: lower\n    parts:\n"
    "      - {pipe: pvc-u 90 pn10, name: long, length: 300 m, end: 0 m}\n"
    "      - {valve: ball, name: tap}\n"
    "surge:\n  duration: 4 s\n  events: [{at: 0.5 s, set: tap, to: 0, over: 0.2 s}]\n"
    "  gauges: [upper, long]\n%s";

struct answer {
    struct arena *arena;
    struct site *site;
    struct surge surge;
};

static struct answer run_case(const char *line)
{
    char text[1200];
    struct answer answer = {.arena = arena_new()};
    struct faults faults;
    struct failure failure;
    struct steady steady;
    snprintf(text, sizeof text, form, line);
    faults_init(&faults, answer.arena);
    if (!read_site_text(CASE_PATH, text, strlen(text), answer.arena, &answer.site, &faults)) {
        faults_write(&faults, FAULT_ERROR, stderr);
        cr_assert_fail("the case was refused");
    }
    struct network *network = answer.site->network;
    struct steady_solver *solver = steady_solver_new(network, &failure);
    cr_assert(solver && steady_init(&steady, network, answer.arena, &failure));
    cr_assert(
        steady_solve(solver, network, &answer.site->water, &steady_defaults, &steady, &failure));
    cr_assert(surge_run_plan(answer.site, network, &steady, &surge_defaults, &answer.surge,
                             answer.arena, &failure));
    steady_solver_free(solver);
    return answer;
}

/* The heads of the second gauge, raised by `rise` from second `from` on, as a table of milliseconds
 * and metres; every `stride`th instant, and one long after the end of the run. */
static void write_trace(const char *name, const struct surge *surge, int stride, double rise,
                        double from)
{
    char path[512];
    snprintf(path, sizeof path, "%s/%s", BUILD_DIR, name);
    FILE *file = fopen(path, "w");
    cr_assert(file);
    fprintf(file, "time [ms],head [m]\n");
    for (int i = 0; i < surge->time_count; i += stride) {
        double more = surge->time[i] >= from ? rise : 0.0;
        fprintf(file, "%.17g,%.17g\n", 1e3 * surge->time[i], surge->gauge_head[2 * i + 1] + more);
    }
    fprintf(file, "9e9,1000\n");
    fclose(file);
}

Test(measured_trace, a_trace_equal_to_the_run_differs_by_nothing)
{
    struct answer first = run_case("");
    cr_assert_eq(first.site->surge.measured.count, 0);
    write_trace("same_trace.csv", &first.surge, 3, 0.0, 0.0);
    struct answer answer = run_case("  measured: {file: same_trace.csv, gauge: long}\n");
    struct trace_difference difference = trace_compare(&answer.site->surge, &answer.surge);
    cr_assert_eq(answer.site->surge.measured.count, difference.count + 1, "one is after the end");
    cr_expect_eq(difference.count, (first.surge.time_count + 2) / 3);
    cr_expect_lt(fabs(difference.largest), 1e-9, "%g", difference.largest);
    cr_expect_lt(difference.root_mean_square, 1e-9);
    arena_free(first.arena);
    arena_free(answer.arena);
}

/* Raised by 2 m from half of the run on: at most 2 m, root mean square 2 m times the root of the
 * share of instants raised. */
Test(measured_trace, a_trace_that_is_moved_differs_by_the_move)
{
    struct answer first = run_case("");
    write_trace("moved_trace.csv", &first.surge, 1, 2.0, 2.0);
    struct answer answer = run_case("  measured: {file: moved_trace.csv, gauge: long}\n");
    struct trace_difference difference = trace_compare(&answer.site->surge, &answer.surge);
    int moved = 0;
    for (int i = 0; i < first.surge.time_count; i++) {
        moved += first.surge.time[i] >= 2.0;
    }
    cr_expect_float_eq(difference.largest, -2.0, 1e-9);
    cr_expect_geq(difference.largest_time, 2.0 - 1e-9);
    cr_expect_float_eq(difference.root_mean_square, 2.0 * sqrt(moved / (double)difference.count),
                       1e-9);
    arena_free(first.arena);
    arena_free(answer.arena);
}

Test(measured_trace, its_points_and_differences_are_among_the_results)
{
    struct sheet sheet;
    struct failure failure;
    struct answer first = run_case("");
    cr_assert(surge_sheet(first.site, &first.surge, &sheet, first.arena, &failure));
    cr_expect_null(sheet_find(&sheet, "measured_head"));
    write_trace("kept_trace.csv", &first.surge, 5, 1.0, 0.0);
    struct answer answer = run_case("  measured: {file: kept_trace.csv, gauge: long}\n");
    cr_assert(surge_sheet(answer.site, &answer.surge, &sheet, answer.arena, &failure));
    const struct field *head = sheet_find(&sheet, "measured_head");
    cr_assert(head && !sheet.is_full);
    cr_expect_str_eq(head->units, "m");
    cr_expect_str_eq(sheet_find(&sheet, "measured_time")->units, "s");
    cr_expect_float_eq(head->numbers[0], first.surge.gauge_head[1] + 1.0, 1e-9);
    cr_expect_str_eq(sheet_find_attribute(&sheet, "measured_gauge")->text, "long");
    cr_expect_float_eq(sheet_find_attribute(&sheet, "measured_difference_rms")->number, 1.0, 1e-9);
    arena_free(first.arena);
    arena_free(answer.arena);
}
