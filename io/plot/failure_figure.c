#include "io/plot/failure_figure.h"

#include "io/results/shape.h"

#include <math.h>

static const double HOUR = 3600.0; /* s */
static const double DAY = 86400.0; /* s */

enum { FIGURE_SIZE = 24 };

/* What is written in a square: share of the sound site's water, or "" where there is nothing. */
static void put_water(double delivered, double sound, char figure[FIGURE_SIZE])
{
    const double share = delivered / sound;
    if (isfinite(share)) {
        (void)snprintf(figure, FIGURE_SIZE, "%.0f %%", 100.0 * share);
    }
}

static void put_time(double time, double sound, char figure[FIGURE_SIZE])
{
    (void)sound;
    if (isfinite(time)) {
        (void)snprintf(figure, FIGURE_SIZE, time < DAY ? "%.1f h" : "%.0f days",
                       time < DAY ? time / HOUR : time / DAY);
    }
}

static void put_back(double flow, double sound, char figure[FIGURE_SIZE])
{
    (void)sound;
    if (flow > 0.0) {
        (void)snprintf(figure, FIGURE_SIZE, "%.2f L/s", 1e3 * flow);
    }
}

static void put_speed(double speed, double sound, char figure[FIGURE_SIZE])
{
    (void)sound;
    if (speed < 0.0) {
        (void)snprintf(figure, FIGURE_SIZE, "%.0f %%", -100.0 * speed);
    }
}

static void put_prime(double loses, double sound, char figure[FIGURE_SIZE])
{
    (void)sound;
    (void)snprintf(figure, FIGURE_SIZE, "%s", loses > 0.0 ? "at risk" : "");
}

static void put_share(double share, double sound, char figure[FIGURE_SIZE])
{
    (void)sound;
    if (isfinite(share)) {
        (void)snprintf(figure, FIGURE_SIZE, "%.0f %%", 100.0 * share);
    }
}

static void put_margin(double margin, double sound, char figure[FIGURE_SIZE])
{
    (void)sound;
    if (isfinite(margin)) {
        (void)snprintf(figure, FIGURE_SIZE, margin <= 0.0 ? "boils" : "%.1f m", margin);
    }
}

/* In the order of the sheet's dimension "consequence", which holds how grave each is. */
static const struct column {
    const char *field; /* of the sheet */
    const char *name;
    void (*put)(double value, double sound, char figure[FIGURE_SIZE]);
} columns[] = {
    {"highest_share", "pressure\\nof allowed", put_share},
    {"lowest_margin", "above\\nboiling", put_margin},
    {"overflow_time", "tank runs\\nover in", put_time},
    {"dry_time", "tank is\\ndry in", put_time},
    {"delivered", "water\\npumped", put_water},
    {"loses_prime", "prime", put_prime},
    {"flow_back", "runs\\nback", put_back},
    {"lowest_speed", "spins\\nback", put_speed},
};
enum { COLUMN_COUNT = sizeof columns / sizeof *columns };

static bool write_columns(const struct figures *figures, struct failure *failure)
{
    FILE *file = bench_file(figures->bench, "columns", failure);
    if (!file) {
        return false;
    }
    (void)fputs("name\n", file);
    for (size_t k = 0; k < COLUMN_COUNT; k++) {
        (void)fprintf(file, "\"%s\"\n", columns[k].name);
    }
    return figures_close_data(file, failure);
}

static bool write_cells(const struct figures *figures, const struct sheet *sheet, size_t count,
                        double sound, struct failure *failure)
{
    const double *severity = sheet_find(sheet, "severity")->numbers;
    FILE *file = bench_file(figures->bench, "cells", failure);
    if (!file) {
        return false;
    }
    (void)fputs("row column grade figure\n", file);
    for (size_t k = 0; k < COLUMN_COUNT; k++) {
        const struct field *field = sheet_find(sheet, columns[k].field);
        for (size_t i = 0; field && i < count; i++) {
            char figure[FIGURE_SIZE] = "";
            columns[k].put(field->numbers[i], sound, figure);
            (void)fprintf(file, "%zu %zu %.0f \"%s\"\n", i + 1, k + 1,
                          severity[i * COLUMN_COUNT + k], figure);
        }
    }
    return figures_close_data(file, failure);
}

static enum shape shape_of_failures(const struct sheet *sheet, struct failure *failure)
{
    struct wish wishes[COLUMN_COUNT + 3] = {{"failure", true, false, "failure", NULL},
                                            {"consequence", true, false, "consequence", NULL},
                                            {"severity", false, false, "failure", "consequence"}};
    for (size_t k = 0; k < COLUMN_COUNT; k++) {
        wishes[k + 3] = (struct wish){columns[k].field, false, true, "failure", NULL};
    }
    return shape_of(sheet, COLUMN_COUNT + 3, wishes, failure);
}

bool failure_figure(struct figures *figures, struct failure *failure)
{
    struct sheet sheet;
    if (!reader_sheet(figures->reader, "/failures", &sheet, NULL, figures->arena, failure)) {
        return false;
    }
    const struct attribute *delivered = sheet_find_attribute(&sheet, "sound_delivered_m3_s");
    const enum shape shape = shape_of_failures(&sheet, failure);
    const struct field *labels = sheet_find(&sheet, "failure");
    if (shape != SHAPE_GOOD || labels->count == 0 || !delivered ||
        sheet_find(&sheet, "severity")->count != labels->count * COLUMN_COUNT) {
        return shape != SHAPE_ODD; /* not of ours */
    }
    figures_title(figures, "when one thing fails");
    const char *const words[] = {"cells",   "picture", figures->format, figures->title, "rows",
                                 "columns", NULL};
    return figures_write_field(figures, &sheet, "failure", "rows", failure) &&
           write_columns(figures, failure) &&
           write_cells(figures, &sheet, labels->count, delivered->number, failure) &&
           figures_draw(figures, FIGURE_FAILURES, words, "failures", failure);
}
