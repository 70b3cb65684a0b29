#include "io/plot/slam_figure.h"

#include "io/results/shape.h"

#include <math.h>
#include <string.h>

/* A quotation mark in a name would end it for gnuplot. */
static void write_name(const char *name, FILE *file)
{
    (void)fputc('"', file);
    for (; *name; name++) {
        (void)fputc(*name == '"' ? '\'' : *name, file);
    }
    (void)fputs("\"\n", file);
}

/* A block for each valve, two empty lines between; rows without a finite second column are left
 * out, and blocks without rows. */
static bool write_blocks(const struct sheet *sheet, int count, const char *const names[],
                         const struct bench *bench, const char *file_name, struct failure *failure)
{
    const struct field *valve = sheet_find(sheet, "row_valve");
    const struct field *second = sheet_find(sheet, names[1]);
    FILE *file = bench_file(bench, file_name, failure);
    const char *last = NULL;
    if (!file) {
        return false;
    }
    for (size_t i = 0; i < valve->count; i++) {
        if (!isfinite(second->numbers[i])) {
            continue;
        }
        if (!last || strcmp(last, valve->texts[i]) != 0) {
            (void)fputs(last ? "\n\n" : "", file);
            write_name(valve->texts[i], file);
            last = valve->texts[i];
        }
        for (int k = 0; k < count; k++) {
            (void)fprintf(file, "%.9g ", sheet_find(sheet, names[k])->numbers[i]);
        }
        (void)fputc('\n', file);
    }
    return figures_close_data(file, failure);
}

static const char *const computed[] = {"deceleration", "reverse_velocity", "plain_deceleration",
                                       "plain_reverse_velocity"};
static const char *const stated[] = {"deceleration", "stated_reverse_velocity",
                                     "plain_deceleration", "plain_stated_velocity"};
enum { DRAWN_COLUMNS = 4 };

static enum shape rows_shape(const struct sheet *sheet, const char *const names[DRAWN_COLUMNS],
                             struct failure *failure)
{
    struct wish wishes[DRAWN_COLUMNS + 1] = {{"row_valve", true, false, "row_valve", NULL}};
    for (int i = 0; i < DRAWN_COLUMNS; i++) {
        wishes[i + 1] = (struct wish){names[i], false, false, "row_valve", NULL};
    }
    const enum shape shape = shape_of(sheet, DRAWN_COLUMNS + 1, wishes, failure);
    const bool is_short = shape == SHAPE_GOOD && sheet_find(sheet, "row_valve")->count < 2;
    return is_short ? SHAPE_LACKS : shape;
}

bool slam_figure_write(const struct sheet *sheet, const struct bench *bench, bool *has_makers,
                       struct failure *failure)
{
    const enum shape shape = rows_shape(sheet, stated, failure);
    *has_makers = shape == SHAPE_GOOD;
    return shape != SHAPE_ODD &&
           write_blocks(sheet, DRAWN_COLUMNS, computed, bench, "curves", failure) &&
           (!*has_makers || write_blocks(sheet, DRAWN_COLUMNS, stated, bench, "makers", failure));
}

bool slam_figure(struct figures *figures, struct failure *failure)
{
    struct sheet sheet;
    bool has_makers = false;
    if (!reader_sheet(figures->reader, "/valve", &sheet, NULL, figures->arena, failure)) {
        return false;
    }
    const enum shape shape = rows_shape(&sheet, computed, failure);
    if (shape != SHAPE_GOOD) {
        return shape == SHAPE_LACKS;
    }
    if (!slam_figure_write(&sheet, figures->bench, &has_makers, failure)) {
        return false;
    }
    figures_title(figures, "velocity backward as the valve shuts");
    const char *const words[] = {
        "curves", "picture", figures->format, figures->title, has_makers ? "makers" : NULL, NULL};
    return figures_draw(figures, FIGURE_SLAM, words, "slam", failure);
}
