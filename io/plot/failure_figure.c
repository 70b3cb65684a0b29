#include "io/plot/failure_figure.h"

#include <math.h>

static const double HOUR = 3600.0;
static const double DAY = 86400.0;
static const double MARGIN_SMALL = 2.0; /* m above boiling: little enough to tell */
static const double SHARE_NEAR = 0.9;   /* of what the pipe allows */
static const double SPEED_HALF = -0.5;  /* share of rated */
static const double SPEED_RATED = -1.0; /* beyond it machines are in danger of flying apart */
static const double BACK_SLIGHT = 0.05; /* of the sound site's flow */
static const double BACK_SERIOUS = 0.5;

enum { FIGURE_SIZE = 24 };

/* One square: 0 nothing to 3 grave, and what is written in it. */
struct cell {
    int grade;
    char figure[FIGURE_SIZE];
};

/* What is measured by the sound site. */
struct sound {
    double delivered; /* m3/s */
};

static void put_water(double delivered, const struct sound *sound, struct cell *cell)
{
    const double share = delivered / sound->delivered;
    if (isfinite(share)) {
        cell->grade = share >= 0.95 ? 0 : share >= 0.5 ? 1 : share > 0.05 ? 2 : 3;
        (void)snprintf(cell->figure, sizeof cell->figure, "%.0f %%", 100.0 * share);
    }
}

static void put_time(double time, const struct sound *sound, struct cell *cell)
{
    (void)sound;
    if (isfinite(time)) {
        cell->grade = time < HOUR ? 3 : time < DAY ? 2 : 1;
        (void)snprintf(cell->figure, sizeof cell->figure, time < DAY ? "%.1f h" : "%.0f days",
                       time < DAY ? time / HOUR : time / DAY);
    }
}

static void put_back(double flow, const struct sound *sound, struct cell *cell)
{
    if (flow > 0.0) {
        const double share = flow / sound->delivered;
        cell->grade = share < BACK_SLIGHT ? 1 : share < BACK_SERIOUS ? 2 : 3;
        (void)snprintf(cell->figure, sizeof cell->figure, "%.2f L/s", 1e3 * flow);
    }
}

static void put_speed(double speed, const struct sound *sound, struct cell *cell)
{
    (void)sound;
    if (speed < 0.0) {
        cell->grade = speed > SPEED_HALF ? 1 : speed > SPEED_RATED ? 2 : 3;
        (void)snprintf(cell->figure, sizeof cell->figure, "%.0f %%", -100.0 * speed);
    }
}

static void put_prime(double loses, const struct sound *sound, struct cell *cell)
{
    (void)sound;
    if (loses > 0.0) {
        cell->grade = 2;
        (void)snprintf(cell->figure, sizeof cell->figure, "at risk");
    }
}

static void put_share(double share, const struct sound *sound, struct cell *cell)
{
    (void)sound;
    if (isfinite(share)) {
        cell->grade = share > 1.0 ? 3 : share > SHARE_NEAR ? 1 : 0;
        (void)snprintf(cell->figure, sizeof cell->figure, "%.0f %%", 100.0 * share);
    }
}

static void put_margin(double margin, const struct sound *sound, struct cell *cell)
{
    (void)sound;
    if (isfinite(margin)) {
        cell->grade = margin <= 0.0 ? 3 : margin < MARGIN_SMALL ? 1 : 0;
        (void)snprintf(cell->figure, sizeof cell->figure, margin <= 0.0 ? "boils" : "%.1f m",
                       margin);
    }
}

static const struct consequence {
    const char *field; /* of the sheet */
    const char *name;
    void (*put)(double value, const struct sound *sound, struct cell *cell);
} consequences[] = {
    {"highest_share", "pressure\\nof allowed", put_share},
    {"lowest_margin", "above\\nboiling", put_margin},
    {"overflow_time", "tank runs\\nover in", put_time},
    {"dry_time", "tank is\\ndry in", put_time},
    {"delivered", "water\\npumped", put_water},
    {"loses_prime", "prime", put_prime},
    {"flow_back", "runs\\nback", put_back},
    {"lowest_speed", "spins\\nback", put_speed},
};
enum { CONSEQUENCE_COUNT = sizeof consequences / sizeof *consequences };

static bool write_columns(const struct figures *figures, struct failure *failure)
{
    FILE *file = bench_file(figures->bench, "columns", failure);
    if (!file) {
        return false;
    }
    (void)fputs("name\n", file);
    for (size_t k = 0; k < CONSEQUENCE_COUNT; k++) {
        (void)fprintf(file, "\"%s\"\n", consequences[k].name);
    }
    return figures_close_data(file, failure);
}

static bool write_cells(const struct figures *figures, const struct sheet *sheet, size_t count,
                        const struct sound *sound, struct failure *failure)
{
    FILE *file = bench_file(figures->bench, "cells", failure);
    if (!file) {
        return false;
    }
    (void)fputs("row column grade figure\n", file);
    for (size_t k = 0; k < CONSEQUENCE_COUNT; k++) {
        const struct field *field = sheet_find(sheet, consequences[k].field);
        for (size_t i = 0; field && field->numbers && i < count; i++) {
            struct cell cell = {0, ""};
            consequences[k].put(field->numbers[i], sound, &cell);
            (void)fprintf(file, "%zu %zu %d \"%s\"\n", i + 1, k + 1, cell.grade, cell.figure);
        }
    }
    return figures_close_data(file, failure);
}

bool failure_figure(struct figures *figures, struct failure *failure)
{
    struct sheet sheet;
    if (!reader_sheet(figures->reader, "/failures", &sheet, NULL, figures->arena, failure)) {
        return false;
    }
    const struct field *labels = sheet_find(&sheet, "failure");
    const struct attribute *delivered = sheet_find_attribute(&sheet, "sound_delivered_m3_s");
    if (!labels || !labels->texts || labels->count == 0 || !delivered) {
        return true; /* not of ours */
    }
    const struct sound sound = {delivered->number};
    figures_title(figures, "when one thing fails");
    const char *const words[] = {"cells",   "picture", figures->format, figures->title, "rows",
                                 "columns", NULL};
    return figures_write_field(figures, &sheet, "failure", "rows", failure) &&
           write_columns(figures, failure) &&
           write_cells(figures, &sheet, labels->count, &sound, failure) &&
           figures_draw(figures, FIGURE_FAILURES, words, "failures", failure);
}
