#include "io/plot/figures.h"

#include "io/plot/study_figures.h"
#include "io/results/columns.h"
#include "io/sketch/sketch.h"

#include <errno.h>
#include <math.h>
#include <string.h>

static bool write_field(const struct figures *figures, const struct sheet *sheet, const char *name,
                        const char *file_name, struct failure *failure)
{
    const struct field *field = sheet_find(sheet, name);
    FILE *file = bench_file(figures->bench, file_name, failure);
    if (!file) {
        return false;
    }
    if (field) {
        columns_field(sheet, field, COLUMNS_BLANK, file);
    }
    return figures_close_data(file, failure);
}

static bool draw_profile(struct figures *figures, const char *group, struct failure *failure)
{
    static const char *const columns[] = {"distance", "elevation", "head_start", "head_max",
                                          "head_min", "rating",    "vapour"};
    char what[FIGURE_NAME_SIZE];
    struct sheet sheet;
    struct sheet picked;
    if (!reader_sheet(figures->reader, group, &sheet, NULL, figures->arena, failure)) {
        return false;
    }
    sheet_init(&picked, group);
    for (size_t i = 0; i < sizeof columns / sizeof columns[0]; i++) {
        const struct field *field = sheet_find(&sheet, columns[i]);
        if (!field || field->rank != 1) {
            return true; /* not a profile of ours */
        }
        if (i == 0) {
            (void)sheet_dimension(&picked, "distance", field->count);
        }
        struct field moved = *field;
        moved.dimension[0] = 0;
        sheet_field(&picked, &moved);
    }
    if (picked.dimensions[0].count < 2) {
        return true;
    }
    FILE *file = bench_file(figures->bench, "profile", failure);
    if (!file) {
        return false;
    }
    columns_along(&picked, 0, NULL, COLUMNS_BLANK, file);
    const struct attribute *run = sheet_find_attribute(&sheet, "run");
    const char *name = run && run->text ? run->text : strrchr(group, '/') + 1;
    (void)snprintf(what, sizeof what, "highest and lowest head along %s", name);
    figures_title(figures, what);
    const char *const words[] = {"profile", "picture", figures->format, figures->title, NULL};
    (void)snprintf(what, sizeof what, "profile-%s", name);
    return figures_close_data(file, failure) &&
           figures_draw(figures, FIGURE_PROFILE, words, what, failure);
}

static bool draw_time(struct figures *figures, struct failure *failure)
{
    struct sheet sheet;
    if (!reader_sheet(figures->reader, "/surge", &sheet, NULL, figures->arena, failure)) {
        return false;
    }
    const struct field *head = sheet_find(&sheet, "head");
    const struct field *opening = sheet_find(&sheet, "opening");
    if (!head || !opening || (head->count < 2 && opening->count < 2)) {
        return true;
    }
    figures_title(figures, "heads at the gauges and the non-return valves over time");
    const struct attribute *gauge = sheet_find_attribute(&sheet, "measured_gauge");
    const bool has_trace = gauge && gauge->text && sheet_find(&sheet, "measured_head");
    const char *const words[] = {"head",
                                 "opening",
                                 "flow",
                                 "picture",
                                 figures->format,
                                 figures->title,
                                 has_trace ? "measured" : NULL,
                                 has_trace ? gauge->text : NULL,
                                 NULL};
    return write_field(figures, &sheet, "head", "head", failure) &&
           (!has_trace || write_field(figures, &sheet, "measured_head", "measured", failure)) &&
           write_field(figures, &sheet, "opening", "opening", failure) &&
           write_field(figures, &sheet, "valve_flow", "flow", failure) &&
           figures_draw(figures, FIGURE_TIME, words, "time", failure);
}

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
    for (size_t i = 0; time && level && text && text->texts && i < time->count; i++) {
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

static bool is_drawable(const struct sheet *sheet)
{
    static const char *const needed[] = {"time",    "tank",          "tank_moves", "level", "pump",
                                         "running", "energy_so_far", "link",       "flow"};
    for (size_t i = 0; i < sizeof needed / sizeof needed[0]; i++) {
        const struct field *field = sheet_find(sheet, needed[i]);
        const bool is_text = i == 1 || i == 4 || i == 7;
        if (!field || (field->kind == FIELD_TEXT) != is_text) {
            return false;
        }
    }
    const struct field *level = sheet_find(sheet, "level");
    return sheet_find(sheet, "time")->count > 1 && level->rank == 2 && level->count > 1;
}

static bool draw_filling(struct figures *figures, struct failure *failure)
{
    struct sheet sheet;
    int count = 0;
    if (!reader_sheet(figures->reader, "/filling", &sheet, NULL, figures->arena, failure)) {
        return false;
    }
    if (!is_drawable(&sheet)) {
        return true;
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
           write_field(figures, &sheet, "running", "running", failure) &&
           write_field(figures, &sheet, "energy_so_far", "energy", failure) &&
           write_marks(figures, &sheet, failure) &&
           figures_draw(figures, FIGURE_FILLING, words, "filling", failure);
}

/* --- choice --- */

struct choice {
    const struct field *place;
    const struct field *label;
    const struct field *rank;
    const struct field *handicap;
    const struct field *reasons;
    const struct field *surged; /* NULL: not told */
};

/* The label of a row, with a word where slam could not be judged. */
static const char *label_of(const struct figures *figures, const struct choice *choice, size_t row)
{
    char text[FIGURE_NAME_SIZE];
    const char *label = choice->label->texts[row];
    if (!choice->surged || choice->surged->numbers[row] > 0.0 ||
        !(choice->rank->numbers[row] > 0.0)) {
        return label;
    }
    (void)snprintf(text, sizeof text, "%.200s, slam not judged", label);
    const char *copy = arena_text(figures->arena, text);
    return copy ? copy : label;
}

static bool find_choice(const struct sheet *sheet, struct choice *choice)
{
    choice->place = sheet_find(sheet, "place");
    choice->label = sheet_find(sheet, "label");
    choice->rank = sheet_find(sheet, "rank");
    choice->handicap = sheet_find(sheet, "handicap");
    choice->reasons = sheet_find(sheet, "reasons");
    choice->surged = sheet_find(sheet, "is_surged");
    if (choice->surged && choice->surged->kind == FIELD_TEXT) {
        choice->surged = NULL;
    }
    return choice->place && choice->label && choice->rank && choice->handicap && choice->reasons &&
           choice->place->kind == FIELD_TEXT && choice->label->kind == FIELD_TEXT &&
           choice->reasons->kind == FIELD_TEXT && choice->rank->kind != FIELD_TEXT &&
           choice->handicap->kind != FIELD_TEXT;
}

/* The rows of one place, as columns of the script. */
static bool write_place(const struct figures *figures, const struct choice *choice,
                        const char *place, struct failure *failure)
{
    size_t count = choice->place->count;
    double *numbers = arena_take(figures->arena, 2 * count + 1, sizeof *numbers);
    const char **texts = arena_take(figures->arena, 2 * count + 1, sizeof *texts);
    FILE *file = numbers && texts ? bench_file(figures->bench, "choice", failure) : NULL;
    struct sheet sheet;
    size_t rows = 0;
    if (!file) {
        return numbers && texts ? false : fail_memory(failure, "a picture");
    }
    for (size_t i = 0; i < count; i++) {
        if (strcmp(choice->place->texts[i], place) == 0) {
            texts[rows] = label_of(figures, choice, i);
            texts[count + rows] = choice->reasons->texts[i];
            numbers[rows] = choice->rank->numbers[i];
            numbers[count + rows] = choice->handicap->numbers[i];
            rows++;
        }
    }
    sheet_init(&sheet, "/");
    int along = sheet_dimension(&sheet, "candidate", rows);
    sheet_texts(&sheet, (struct field_head){"candidate", "1", ""}, along, texts);
    sheet_numbers(&sheet, (struct field_head){"rank", "1", ""}, along, numbers);
    sheet_numbers(&sheet, (struct field_head){"handicap", "1", ""}, along, numbers + count);
    sheet_texts(&sheet, (struct field_head){"reasons", "1", ""}, along, texts + count);
    columns_along(&sheet, 0, NULL, COLUMNS_BLANK, file);
    return figures_close_data(file, failure);
}

static bool draw_choice(struct figures *figures, struct failure *failure)
{
    char what[FIGURE_NAME_SIZE];
    struct sheet sheet;
    struct choice choice;
    if (!reader_sheet(figures->reader, "/choose", &sheet, NULL, figures->arena, failure)) {
        return false;
    }
    if (!find_choice(&sheet, &choice)) {
        return true;
    }
    for (size_t i = 0; i < choice.place->count; i++) {
        const char *place = choice.place->texts[i];
        if (i > 0 && strcmp(place, choice.place->texts[i - 1]) == 0) {
            continue; /* the rows of a place stand together */
        }
        (void)snprintf(what, sizeof what, "non-return valves for %s", place);
        figures_title(figures, what);
        const char *const words[] = {"choice", "picture", figures->format, figures->title, NULL};
        (void)snprintf(what, sizeof what, "choice-%s", place);
        if (!write_place(figures, &choice, place, failure) ||
            !figures_draw(figures, FIGURE_CHOICE, words, what, failure)) {
            return false;
        }
    }
    return true;
}

bool figures_make(struct figures *figures, struct failure *failure)
{
    static const char folder[] = "/surge/runs/";
    int count = 0;
    const char *const *groups = reader_groups(figures->reader, &count, figures->arena, failure);
    bool is_good = groups != NULL;
    for (int i = 0; is_good && i < count; i++) {
        if (strncmp(groups[i], folder, sizeof folder - 1) == 0) {
            is_good = draw_profile(figures, groups[i], failure);
        } else if (strcmp(groups[i], "/surge") == 0) {
            is_good = draw_time(figures, failure);
        } else if (strcmp(groups[i], "/filling") == 0) {
            is_good = draw_filling(figures, failure);
        } else if (strcmp(groups[i], "/choose") == 0) {
            is_good = draw_choice(figures, failure);
        } else if (strcmp(groups[i], "/study") == 0) {
            is_good = study_figures_front(figures, failure);
        } else if (strcmp(groups[i], "/study/alone") == 0) {
            is_good = study_figures_alone(figures, failure);
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
