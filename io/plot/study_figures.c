#include "io/plot/study_figures.h"

#include "io/results/columns.h"
#include "io/results/shape.h"
#include "io/results/trade_unit.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

static const char *const compare_names[] = {"compare_1", "compare_2", "compare_3"};
enum { COMPARE_COUNT = sizeof compare_names / sizeof *compare_names };

/* "flow of delivery [L/s]" */
static void axis_of(const char *name, const struct trade_unit *unit, char axis[FIGURE_NAME_SIZE])
{
    (void)snprintf(axis, FIGURE_NAME_SIZE, "%.200s%s%s%s", name, *unit->unit ? " [" : "",
                   unit->unit, *unit->unit ? "]" : "");
}

/* The field of a compared measure; its name in results has no '/'. NULL: there is none. */
static const struct field *compared(const struct sheet *sheet, int index)
{
    char name[FIGURE_NAME_SIZE];
    const struct attribute *attribute = sheet_find_attribute(sheet, compare_names[index]);
    if (!attribute || !attribute->text) {
        return NULL;
    }
    (void)snprintf(name, sizeof name, "%s", attribute->text);
    for (char *at = name; *at; at++) {
        if (*at == '/') {
            *at = '_';
        }
    }
    return sheet_find(sheet, name);
}

/* --- front --- */

struct dot {
    double x;
    double y;
    double within;
    double front;
    double third; /* NAN: not compared, or not known */
    double variant;
};

static int compare_dots(const void *left, const void *right)
{
    const struct dot *a = left;
    const struct dot *b = right;
    if (a->x < b->x || a->x > b->x) {
        return a->x < b->x ? -1 : 1;
    }
    return (a->y > b->y) - (a->y < b->y);
}

/* Rows of x, y, within, front, third, variant, by rising x; only the front when asked. */
static bool write_dots(const struct figures *figures, const char *name, size_t count,
                       const struct dot dots[], bool only_front, struct failure *failure)
{
    FILE *file = bench_file(figures->bench, name, failure);
    if (!file) {
        return false;
    }
    (void)fputs("x y within front third variant\n", file);
    for (size_t i = 0; i < count; i++) {
        const struct dot *dot = &dots[i];
        if (isfinite(dot->x) && isfinite(dot->y) && (!only_front || dot->front > 0.0)) {
            (void)fprintf(file, "%.10g %.10g %.0f %.0f %.10g %.0f\n", dot->x, dot->y, dot->within,
                          dot->front, dot->third, dot->variant);
        }
    }
    return figures_close_data(file, failure);
}

/* Fills dots by rising x. */
static void fill_dots(const struct sheet *sheet, const struct field *axes[COMPARE_COUNT],
                      const struct trade_unit units[COMPARE_COUNT], struct dot dots[])
{
    const double *within = sheet_find(sheet, "within_limits")->numbers;
    const double *front = sheet_find(sheet, "on_front")->numbers;
    const struct field *variant = sheet_find(sheet, "variant");
    for (size_t i = 0; i < axes[0]->count; i++) {
        dots[i] = (struct dot){units[0].factor * axes[0]->numbers[i],
                               units[1].factor * axes[1]->numbers[i],
                               within[i],
                               front[i],
                               axes[2] ? units[2].factor * axes[2]->numbers[i] : (double)NAN,
                               variant ? variant->numbers[i] : (double)i + 1.0};
    }
    qsort(dots, axes[0]->count, sizeof *dots, compare_dots);
}

static enum shape front_shape(const struct sheet *sheet, const struct field *axes[COMPARE_COUNT],
                              struct failure *failure)
{
    struct wish wishes[COMPARE_COUNT + 3] = {{"within_limits", false, false, "within_limits", NULL},
                                             {"on_front", false, false, "within_limits", NULL},
                                             {"variant", false, true, "within_limits", NULL}};
    size_t count = 3;
    for (int k = 0; k < COMPARE_COUNT; k++) {
        if (axes[k]) {
            wishes[count++] = (struct wish){axes[k]->name, false, false, "within_limits", NULL};
        }
    }
    return shape_of(sheet, count, wishes, failure);
}

bool study_figures_front(struct figures *figures, struct failure *failure)
{
    char axis[COMPARE_COUNT][FIGURE_NAME_SIZE] = {""};
    struct trade_unit units[COMPARE_COUNT] = {{0}};
    const struct field *axes[COMPARE_COUNT];
    struct sheet sheet;
    if (!reader_sheet(figures->reader, "/study", &sheet, NULL, figures->arena, failure)) {
        return false;
    }
    for (int k = 0; k < COMPARE_COUNT; k++) {
        axes[k] = compared(&sheet, k);
    }
    if (!axes[0] || !axes[1]) {
        return true;
    }
    const enum shape shape = front_shape(&sheet, axes, failure);
    if (shape != SHAPE_GOOD || axes[0]->count < 2) {
        return shape != SHAPE_ODD;
    }
    struct dot *dots = arena_take(figures->arena, axes[0]->count, sizeof *dots);
    if (!dots) {
        return fail_memory(failure, "a picture");
    }
    for (int k = 0; k < COMPARE_COUNT && axes[k]; k++) {
        units[k] = trade_unit_for(axes[k]->units, axes[k]->count, axes[k]->numbers);
        axis_of(axes[k]->name, &units[k], axis[k]);
    }
    fill_dots(&sheet, axes, units, dots);
    figures_title(figures, "variants, and those that none beats");
    const char *const words[] = {"dots",  "picture", figures->format, figures->title,
                                 axis[0], axis[1],   "front",         *axis[2] ? axis[2] : NULL,
                                 NULL};
    return write_dots(figures, "dots", axes[0]->count, dots, false, failure) &&
           write_dots(figures, "front", axes[0]->count, dots, true, failure) &&
           figures_draw(figures, FIGURE_FRONT, words, "study-front", failure);
}

/* --- one input alone --- */

struct bar {
    const char *input;
    double least;
    double greatest;
};

static int compare_bars(const void *left, const void *right)
{
    const struct bar *a = left;
    const struct bar *b = right;
    const double wide_a = a->greatest - a->least;
    const double wide_b = b->greatest - b->least;
    return (wide_a < wide_b) - (wide_a > wide_b);
}

static bool write_bars(const struct figures *figures, size_t count, struct bar bars[],
                       struct failure *failure)
{
    struct sheet sheet;
    const char **inputs = arena_take(figures->arena, count, sizeof(const char *));
    double *ends = arena_take(figures->arena, 2 * count, sizeof *ends);
    FILE *file = inputs && ends ? bench_file(figures->bench, "alone", failure) : NULL;
    if (!file) {
        return inputs && ends ? false : fail_memory(failure, "a picture");
    }
    qsort(bars, count, sizeof *bars, compare_bars);
    for (size_t i = 0; i < count; i++) {
        inputs[i] = bars[i].input;
        ends[i] = bars[i].least;
        ends[count + i] = bars[i].greatest;
    }
    sheet_init(&sheet, "/");
    const int along = sheet_dimension(&sheet, "input", count);
    sheet_texts(&sheet, (struct field_head){"input", "1", ""}, along, inputs);
    sheet_numbers(&sheet, (struct field_head){"least", "1", ""}, along, ends);
    sheet_numbers(&sheet, (struct field_head){"greatest", "1", ""}, along, ends + count);
    columns_along(&sheet, 0, NULL, COLUMNS_BLANK, file);
    return figures_close_data(file, failure);
}

/* One measure, by its place in the group's scale. */
static bool draw_alone(struct figures *figures, const struct sheet *sheet, size_t measure,
                       struct failure *failure)
{
    char what[FIGURE_NAME_SIZE];
    char axis[FIGURE_NAME_SIZE];
    char base[40];
    const struct field *names = sheet_find(sheet, "measure");
    const struct field *input = sheet_find(sheet, "input");
    const struct trade_unit unit = trade_unit_of(sheet_find(sheet, "unit")->texts[measure]);
    const double *least = sheet_find(sheet, "least")->numbers;
    const double *greatest = sheet_find(sheet, "greatest")->numbers;
    const double centre = unit.factor * sheet_find(sheet, "base")->numbers[measure];
    struct bar *bars = arena_take(figures->arena, input->count, sizeof *bars);
    if (!bars) {
        return fail_memory(failure, "a picture");
    }
    if (!isfinite(centre)) {
        return true; /* the case as it stands has no answer: nothing to move from */
    }
    for (size_t i = 0; i < input->count; i++) {
        bars[i] = (struct bar){input->texts[i], unit.factor * least[i * names->count + measure],
                               unit.factor * greatest[i * names->count + measure]};
    }
    const char *name = names->texts[measure];
    (void)snprintf(what, sizeof what, "what moves the %.200s", name);
    figures_title(figures, what);
    axis_of(name, &unit, axis);
    (void)snprintf(base, sizeof base, "%.10g", centre);
    (void)snprintf(what, sizeof what, "study-alone-%.200s", name);
    const char *const words[] = {"alone", "picture", figures->format, figures->title, axis,
                                 base,    NULL};
    return write_bars(figures, input->count, bars, failure) &&
           figures_draw(figures, FIGURE_ALONE, words, what, failure);
}

bool study_figures_alone(struct figures *figures, struct failure *failure)
{
    static const struct wish wishes[] = {{"measure", true, false, "measure", NULL},
                                         {"unit", true, false, "measure", NULL},
                                         {"base", false, false, "measure", NULL},
                                         {"input", true, false, "input", NULL},
                                         {"least", false, false, "input", "measure"},
                                         {"greatest", false, false, "input", "measure"}};
    struct sheet study;
    struct sheet sheet;
    if (!reader_sheet(figures->reader, "/study", &study, NULL, figures->arena, failure) ||
        !reader_sheet(figures->reader, "/study/alone", &sheet, NULL, figures->arena, failure)) {
        return false;
    }
    const enum shape shape = shape_of(&sheet, sizeof wishes / sizeof *wishes, wishes, failure);
    if (shape != SHAPE_GOOD) {
        return shape == SHAPE_LACKS; /* not of ours */
    }
    const struct field *names = sheet_find(&sheet, "measure");
    for (size_t k = 0; k < COMPARE_COUNT; k++) {
        const struct attribute *attribute = sheet_find_attribute(&study, compare_names[k]);
        for (size_t m = 0; attribute && attribute->text && m < names->count; m++) {
            if (strcmp(names->texts[m], attribute->text) == 0 &&
                !draw_alone(figures, &sheet, m, failure)) {
                return false;
            }
        }
    }
    return true;
}
