#include "io/plot/surge_figures.h"

#include "io/results/columns.h"
#include "io/results/shape.h"

#include <math.h>
#include <string.h>

/* Columns the script profile.gp cannot do without; the whole group is handed to it. */
static const struct wish profile_wishes[] = {
    {"distance", false, false, "distance", NULL}, {"elevation", false, false, "distance", NULL},
    {"ground", false, true, "distance", NULL},    {"head_start", false, false, "distance", NULL},
    {"head_max", false, false, "distance", NULL}, {"head_min", false, false, "distance", NULL},
    {"rating", false, false, "distance", NULL},   {"vapour", false, false, "distance", NULL}};

bool surge_figures_profile(struct figures *figures, const char *group, struct failure *failure)
{
    char what[FIGURE_NAME_SIZE];
    struct sheet sheet;
    if (!reader_sheet(figures->reader, group, &sheet, NULL, figures->arena, failure)) {
        return false;
    }
    const enum shape shape =
        shape_of(&sheet, sizeof profile_wishes / sizeof *profile_wishes, profile_wishes, failure);
    if (shape != SHAPE_GOOD || sheet_find(&sheet, "distance")->count < 2) {
        return shape != SHAPE_ODD;
    }
    FILE *file = bench_file(figures->bench, "profile", failure);
    if (!file) {
        return false;
    }
    columns_along(&sheet, sheet_find(&sheet, "distance")->dimension[0], NULL, COLUMNS_BLANK, file);
    const struct attribute *run = sheet_find_attribute(&sheet, "run");
    const char *name = run && run->text ? run->text : strrchr(group, '/') + 1;
    (void)snprintf(what, sizeof what, "highest and lowest head along %s", name);
    figures_title(figures, what);
    const char *const words[] = {"profile", "picture", figures->format, figures->title, NULL};
    (void)snprintf(what, sizeof what, "profile-%s", name);
    return figures_close_data(file, failure) &&
           figures_draw(figures, FIGURE_PROFILE, words, what, failure);
}

static bool draw_gauges(struct figures *figures, const struct sheet *sheet, struct failure *failure)
{
    static const struct wish wishes[] = {{"time", false, false, "time", NULL},
                                         {"gauge", true, false, "gauge", NULL},
                                         {"head", false, false, "time", "gauge"},
                                         {"flow", false, true, "time", "gauge"},
                                         {"measured_time", false, true, "measured_time", NULL},
                                         {"measured_head", false, true, "measured_time", NULL}};
    const struct attribute *gauge = sheet_find_attribute(sheet, "measured_gauge");
    const bool has_trace = gauge && gauge->text && sheet_find(sheet, "measured_head");
    const enum shape shape = shape_of(sheet, sizeof wishes / sizeof *wishes, wishes, failure);
    if (shape != SHAPE_GOOD || sheet_find(sheet, "head")->count < 2) {
        return shape != SHAPE_ODD;
    }
    const struct field *flow = sheet_find(sheet, "flow");
    bool has_flow = false; /* a gauge where runs meet has no one flow */
    for (size_t i = 0; flow && i < flow->count; i++) {
        has_flow = has_flow || isfinite(flow->numbers[i]);
    }
    figures_title(figures, has_flow ? "heads and flows at the gauges over time"
                                    : "heads at the gauges over time");
    const char *const words[] = {"head",
                                 "flow",
                                 "picture",
                                 figures->format,
                                 figures->title,
                                 has_trace ? "measured" : NULL,
                                 has_trace ? gauge->text : NULL,
                                 NULL};
    return figures_write_field(figures, sheet, "head", "head", failure) &&
           figures_write_field(figures, sheet, "flow", "flow", failure) &&
           (!has_trace ||
            figures_write_field(figures, sheet, "measured_head", "measured", failure)) &&
           figures_draw(figures, FIGURE_TIME, words, "time", failure);
}

static bool draw_valves(struct figures *figures, const struct sheet *sheet, struct failure *failure)
{
    static const struct wish wishes[] = {{"time", false, false, "time", NULL},
                                         {"valve", true, false, "valve", NULL},
                                         {"opening", false, false, "time", "valve"},
                                         {"valve_velocity", false, false, "time", "valve"},
                                         {"shut_time", false, true, "valve", NULL},
                                         {"first_reverse_velocity", false, true, "valve", NULL}};
    const enum shape shape = shape_of(sheet, sizeof wishes / sizeof *wishes, wishes, failure);
    if (shape != SHAPE_GOOD || sheet_find(sheet, "opening")->count < 2) {
        return shape != SHAPE_ODD;
    }
    figures_title(figures, "how the non-return valves shut");
    const char *const words[] = {"opening", "velocity",      "shut",         "reverse",
                                 "picture", figures->format, figures->title, NULL};
    return figures_write_field(figures, sheet, "opening", "opening", failure) &&
           figures_write_field(figures, sheet, "valve_velocity", "velocity", failure) &&
           figures_write_field(figures, sheet, "shut_time", "shut", failure) &&
           figures_write_field(figures, sheet, "first_reverse_velocity", "reverse", failure) &&
           figures_draw(figures, FIGURE_VALVES, words, "valves", failure);
}

bool surge_figures_time(struct figures *figures, struct failure *failure)
{
    struct sheet sheet;
    return reader_sheet(figures->reader, "/surge", &sheet, NULL, figures->arena, failure) &&
           draw_gauges(figures, &sheet, failure) && draw_valves(figures, &sheet, failure);
}
