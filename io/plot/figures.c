#include "io/plot/figures.h"

#include "io/plot/failure_figure.h"
#include "io/plot/slam_figure.h"
#include "io/plot/study_figures.h"
#include "io/plot/surge_figures.h"
#include "io/results/columns.h"
#include "io/results/shape.h"
#include "io/sketch/sketch.h"

#include <errno.h>
#include <math.h>
#include <string.h>

/* --- filling --- */

static int find_text(const struct field *field, const char *text)
{
    for (size_t i = 0; i < field->count; i++) {
        if (strcmp(field->texts[i], text) == 0) {
            return (int)i;
        }
    }
    return -1;
}

/* Columns of a grid over time that belong to `names`, found among `all`. */
static bool write_columns(const struct figures *figures, const struct sheet *sheet,
                          const struct field *grid, const struct field *all, int name_count,
                          const char *const names[], const char *file_name, struct failure *failure)
{
    const size_t times = grid->count / (all->count > 0 ? all->count : 1);
    double *numbers = arena_take(figures->arena, times * (size_t)name_count, sizeof *numbers);
    FILE *file = numbers ? bench_file(figures->bench, file_name, failure) : NULL;
    struct sheet picked;
    if (!file) {
        return numbers ? false : fail_memory(failure, "a picture");
    }
    for (int k = 0; k < name_count; k++) {
        const int column = find_text(all, names[k]);
        for (size_t i = 0; i < times; i++) {
            numbers[i * (size_t)name_count + (size_t)k] =
                column < 0 ? (double)NAN : grid->numbers[i * all->count + (size_t)column];
        }
    }
    sheet_init(&picked, "/");
    const int time = sheet_dimension(&picked, "time", times);
    const int along = sheet_dimension(&picked, "name", (size_t)name_count);
    sheet_numbers(&picked, (struct field_head){"time", "s", ""}, time,
                  sheet_find(sheet, "time")->numbers);
    sheet_texts(&picked, (struct field_head){"name", "1", ""}, along, names);
    sheet_grid(&picked, (struct field_head){grid->name, grid->units, ""}, time, along,
               grid->numbers ? numbers : NULL);
    columns_field(&picked, sheet_find(&picked, grid->name), COLUMNS_BLANK, file);
    return figures_close_data(file, failure);
}

/* Starts and stops at the levels that caused them: lines of time, level, 1 or 0. */
static bool write_marks(const struct figures *figures, const struct sheet *sheet,
                        struct failure *failure)
{
    const struct field *time = sheet_find(sheet, "event_time");
    const struct field *level = sheet_find(sheet, "event_level");
    const struct field *text = sheet_find(sheet, "event_text");
    FILE *file = bench_file(figures->bench, "marks", failure);
    if (!file) {
        return false;
    }
    (void)fputs("time level starts\n", file);
    for (size_t i = 0; time && level && text && i < time->count; i++) {
        const bool starts = strcmp(text->texts[i], "starts") == 0;
        if ((starts || strcmp(text->texts[i], "stops") == 0) && isfinite(level->numbers[i])) {
            (void)fprintf(file, "%.17g %.17g %d\n", time->numbers[i], level->numbers[i], starts);
        }
    }
    return figures_close_data(file, failure);
}

/* Names of the tanks whose level moves. */
static const char **moving_tanks(const struct figures *figures, const struct sheet *sheet,
                                 int *count)
{
    const struct field *tank = sheet_find(sheet, "tank");
    const struct field *moves = sheet_find(sheet, "tank_moves");
    const char **names = arena_take(figures->arena, tank->count, sizeof *names);
    *count = 0;
    for (size_t i = 0; names && i < tank->count; i++) {
        if (moves->numbers[i] > 0.5) {
            names[(*count)++] = tank->texts[i];
        }
    }
    return names;
}

static enum shape filling_shape(const struct sheet *sheet, struct failure *failure)
{
    static const struct wish wishes[] = {{"time", false, false, "time", NULL},
                                         {"tank", true, false, "tank", NULL},
                                         {"tank_moves", false, false, "tank", NULL},
                                         {"level", false, false, "time", "tank"},
                                         {"pump", true, false, "pump", NULL},
                                         {"running", false, false, "time", "pump"},
                                         {"energy_so_far", false, false, "time", "pump"},
                                         {"link", true, false, "link", NULL},
                                         {"flow", false, false, "time", "link"},
                                         {"event", true, true, "event", NULL},
                                         {"event_time", false, true, "event", NULL},
                                         {"event_level", false, true, "event", NULL},
                                         {"event_text", true, true, "event", NULL}};
    const enum shape shape = shape_of(sheet, sizeof wishes / sizeof *wishes, wishes, failure);
    const bool is_drawable = shape == SHAPE_GOOD && sheet_find(sheet, "time")->count > 1 &&
                             sheet_find(sheet, "level")->count > 1;
    return shape == SHAPE_GOOD && !is_drawable ? SHAPE_LACKS : shape;
}

static bool draw_filling(struct figures *figures, struct failure *failure)
{
    struct sheet sheet;
    int count = 0;
    if (!reader_sheet(figures->reader, "/filling", &sheet, NULL, figures->arena, failure)) {
        return false;
    }
    const enum shape shape = filling_shape(&sheet, failure);
    if (shape != SHAPE_GOOD) {
        return shape == SHAPE_LACKS;
    }
    const char **tanks = moving_tanks(figures, &sheet, &count);
    if (!tanks) {
        return fail_memory(failure, "a picture");
    }
    if (count == 0) {
        return true;
    }
    const struct field *pump = sheet_find(&sheet, "pump");
    figures_title(figures, "levels, pumps and energy over time");
    const char *const words[] = {"level",   "flow",          "running",      "energy", "marks",
                                 "picture", figures->format, figures->title, NULL};
    return write_columns(figures, &sheet, sheet_find(&sheet, "level"), sheet_find(&sheet, "tank"),
                         count, tanks, "level", failure) &&
           write_columns(figures, &sheet, sheet_find(&sheet, "flow"), sheet_find(&sheet, "link"),
                         (int)pump->count, pump->texts, "flow", failure) &&
           figures_write_field(figures, &sheet, "running", "running", failure) &&
           figures_write_field(figures, &sheet, "energy_so_far", "energy", failure) &&
           write_marks(figures, &sheet, failure) &&
           figures_draw(figures, FIGURE_FILLING, words, "filling", failure);
}

/* --- curves --- */

static const struct wish pump_wishes[] = {
    {"flow", false, false, "flow", NULL},        {"pump_head", false, false, "flow", NULL},
    {"system_head", false, false, "flow", NULL}, {"duty", true, false, "duty", NULL},
    {"duty_flow", false, false, "duty", NULL},   {"duty_head", false, false, "duty", NULL}};
static const struct wish place_wishes[] = {
    {"flow", false, false, "flow", NULL},        {"pump_head", false, false, "flow", NULL},
    {"system_head", false, false, "flow", NULL}, {"candidate", true, false, "candidate", NULL},
    {"rank", false, false, "candidate", NULL},   {"valve_head", false, false, "flow", "candidate"}};

/* The curves of `group`, of a pump or of the candidates of a place. */
static bool draw_curves(struct figures *figures, const char *group, enum figure_kind kind,
                        struct failure *failure)
{
    char what[FIGURE_NAME_SIZE];
    struct sheet sheet;
    const bool is_pump = kind == FIGURE_PUMP;
    if (!reader_sheet(figures->reader, group, &sheet, NULL, figures->arena, failure)) {
        return false;
    }
    const struct attribute *subject = sheet_find_attribute(&sheet, is_pump ? "pump" : "place");
    const enum shape shape =
        is_pump
            ? shape_of(&sheet, sizeof pump_wishes / sizeof *pump_wishes, pump_wishes, failure)
            : shape_of(&sheet, sizeof place_wishes / sizeof *place_wishes, place_wishes, failure);
    if (shape != SHAPE_GOOD || !subject || !subject->text) {
        return shape != SHAPE_ODD; /* not of ours */
    }
    FILE *file = bench_file(figures->bench, "curves", failure);
    if (!file) {
        return false;
    }
    columns_sheet(&sheet, COLUMNS_BLANK, file);
    (void)snprintf(what, sizeof what,
                   is_pump ? "what %s gives and what the site asks of it"
                           : "head that the valves for %s take",
                   subject->text);
    figures_title(figures, what);
    (void)snprintf(what, sizeof what, "%s-%s", is_pump ? "pump" : "curves", subject->text);
    const char *const words[] = {"curves", "picture", figures->format, figures->title, NULL};
    return figures_close_data(file, failure) && figures_draw(figures, kind, words, what, failure);
}

/* --- choice --- */

/* What the script choice.gp asks of the rows. */
static const struct wish choice_wishes[] = {
    {"place", true, false, "place", NULL},     {"label", true, false, "place", NULL},
    {"reasons", true, false, "place", NULL},   {"rank", false, false, "place", NULL},
    {"handicap", false, false, "place", NULL}, {"is_surged", false, false, "place", NULL},
    {"is_open", false, false, "place", NULL}};

/* Lays the rows on the bench, the places by number: a name may hold what gnuplot reads otherwise.
 */
static bool write_choice(const struct figures *figures, const struct sheet *choose,
                         struct failure *failure)
{
    struct sheet sheet = *choose;
    const struct field *place = sheet_find(choose, "place");
    const char **numbers = arena_take(figures->arena, place->count + 1, sizeof *numbers);
    FILE *file = numbers ? bench_file(figures->bench, "choice", failure) : NULL;
    if (!file) {
        return numbers ? false : fail_memory(failure, "a picture");
    }
    size_t first = 0;
    for (size_t i = 0; i < place->count; i++) {
        char text[24];
        first = strcmp(place->texts[i], place->texts[first]) == 0 ? first : i;
        (void)snprintf(text, sizeof text, "%zu", first);
        numbers[i] = arena_text(figures->arena, text);
    }
    for (int k = 0; k < sheet.field_count; k++) {
        if (strcmp(sheet.fields[k].name, "place") == 0) {
            sheet.fields[k].texts = numbers;
        }
    }
    columns_along(&sheet, sheet_find(&sheet, "rank")->dimension[0], NULL, COLUMNS_BLANK, file);
    return figures_close_data(file, failure);
}

static bool draw_choice(struct figures *figures, struct failure *failure)
{
    char what[FIGURE_NAME_SIZE];
    char number[24];
    struct sheet sheet;
    if (!reader_sheet(figures->reader, "/choose", &sheet, NULL, figures->arena, failure)) {
        return false;
    }
    const enum shape shape =
        shape_of(&sheet, sizeof choice_wishes / sizeof *choice_wishes, choice_wishes, failure);
    if (shape != SHAPE_GOOD) {
        return shape == SHAPE_LACKS;
    }
    if (!write_choice(figures, &sheet, failure)) {
        return false;
    }
    const struct field *places = sheet_find(&sheet, "place");
    for (size_t i = 0; i < places->count; i++) {
        const char *place = places->texts[i];
        if (i > 0 && strcmp(place, places->texts[i - 1]) == 0) {
            continue; /* the rows of a place stand together */
        }
        (void)snprintf(what, sizeof what, "non-return valves for %s", place);
        figures_title(figures, what);
        (void)snprintf(number, sizeof number, "%zu", i);
        const char *const words[] = {"choice",        number,         "picture",
                                     figures->format, figures->title, NULL};
        (void)snprintf(what, sizeof what, "choice-%s", place);
        if (!figures_draw(figures, FIGURE_CHOICE, words, what, failure)) {
            return false;
        }
    }
    return true;
}

bool figures_make(struct figures *figures, struct failure *failure)
{
    static const char folder[] = "/surge/runs/";
    static const char pumps[] = "/steady/curves/";
    static const char places[] = "/choose/curves/";
    int count = 0;
    const char *const *groups = reader_groups(figures->reader, &count, figures->arena, failure);
    bool is_good = groups != NULL;
    for (int i = 0; is_good && i < count; i++) {
        if (strncmp(groups[i], folder, sizeof folder - 1) == 0) {
            is_good = surge_figures_profile(figures, groups[i], failure);
        } else if (strcmp(groups[i], "/surge") == 0) {
            is_good = surge_figures_time(figures, failure);
        } else if (strncmp(groups[i], pumps, sizeof pumps - 1) == 0) {
            is_good =
                figures->without_pumps || draw_curves(figures, groups[i], FIGURE_PUMP, failure);
        } else if (strncmp(groups[i], places, sizeof places - 1) == 0) {
            is_good = draw_curves(figures, groups[i], FIGURE_CURVES, failure);
        } else if (strcmp(groups[i], "/filling") == 0) {
            is_good = draw_filling(figures, failure);
        } else if (strcmp(groups[i], "/choose") == 0) {
            is_good = draw_choice(figures, failure);
        } else if (strcmp(groups[i], "/study") == 0) {
            is_good = study_figures_front(figures, failure);
        } else if (strcmp(groups[i], "/study/alone") == 0) {
            is_good = study_figures_alone(figures, failure);
        } else if (strcmp(groups[i], "/failures") == 0) {
            is_good = failure_figure(figures, failure);
        } else if (strcmp(groups[i], "/valve") == 0) {
            is_good = slam_figure(figures, failure);
        }
    }
    return is_good;
}

bool figures_sketch(struct figures *figures, struct failure *failure)
{
    char path[FIGURE_PATH_SIZE];
    struct sheet steady;
    bool has_steady = figures->reader && reader_kind_at(figures->reader, "/steady") == READER_GROUP;
    if (has_steady &&
        !reader_sheet(figures->reader, "/steady", &steady, NULL, figures->arena, failure)) {
        return false;
    }
    FILE *file = bench_file(figures->bench, "sketch", failure);
    if (!file) {
        return false;
    }
    sketch_write(figures->site, has_steady ? &steady : NULL, file);
    figures_path(figures, "sketch", path);
    if (!figures_close_data(file, failure) ||
        !bench_sketch(figures->bench, "sketch", figures->format, path, failure)) {
        return false;
    }
    (void)snprintf(figures->title, sizeof figures->title, "%.200s: sketch of the site",
                   figures->site->name);
    figures_note(figures, FIGURE_SKETCH, path);
    return true;
}
