#include "io/results/study_sheet.h"

#include "solver/study/bootstrap.h"

#include <math.h>
#include <string.h>

static bool memory(struct failure *failure)
{
    return fail_memory(failure, "the results of the study");
}

/* A name for a field: HDF5 takes '/' for a group. */
static const char *field_name(const char *name, struct arena *arena)
{
    char *copy = arena_text(arena, name);
    for (char *at = copy; at && *at; at++) {
        if (*at == '/') {
            *at = '_';
        }
    }
    return copy;
}

/* --- the rows --- */

static bool add_text_input(const struct variants *variants, int input, int along,
                           struct sheet *sheet, struct arena *arena)
{
    const struct study_input *here = &variants->case_study.study.inputs[input];
    const int inputs = variants->case_study.study.design.input_count;
    const char **texts = arena_take(arena, (size_t)variants->count, sizeof(const char *));
    double ignored = 0.0;
    const char *name = field_name(here->path, arena);
    if (!texts || !name) {
        return false;
    }
    for (int i = 0; i < variants->count; i++) {
        const double coordinate = variants->coordinates[(ptrdiff_t)i * inputs + input];
        texts[i] = isnan(coordinate) ? study_input_base(&variants->case_study, input, &ignored)
                                     : here->labels[(int)coordinate];
    }
    sheet_texts(sheet, (struct field_head){name, "1", here->path}, along, texts);
    return true;
}

static bool add_number_input(const struct variants *variants, int input, int along,
                             struct sheet *sheet, struct arena *arena)
{
    const struct study_input *here = &variants->case_study.study.inputs[input];
    const int inputs = variants->case_study.study.design.input_count;
    double *numbers = arena_take(arena, (size_t)variants->count, sizeof *numbers);
    double base = 0.0;
    const char *name = field_name(here->path, arena);
    if (!numbers || !name) {
        return false;
    }
    (void)study_input_base(&variants->case_study, input, &base);
    for (int i = 0; i < variants->count; i++) {
        const double coordinate = variants->coordinates[(ptrdiff_t)i * inputs + input];
        const bool is_listed = here->label_count > 0;
        numbers[i] = isnan(coordinate) ? base
                     : is_listed       ? here->numbers[(int)coordinate]
                                       : coordinate;
    }
    const char *unit = here->unit[0] ? here->unit : "1";
    sheet_numbers(sheet, (struct field_head){name, unit, here->path}, along, numbers);
    return true;
}

static bool add_measures(const struct study *study, const struct rows *rows, int along,
                         struct sheet *sheet, struct arena *arena)
{
    for (int i = 0; i < study->measure_count; i++) {
        const struct measure *measure = &study->measures[i];
        const double *column = rows_column(rows, i, arena);
        const char *name = field_name(measure->name, arena);
        if (!column || !name) {
            return false;
        }
        sheet_numbers(sheet,
                      (struct field_head){name, measure->kind->unit, measure->kind->long_name},
                      along, column);
    }
    return true;
}

static bool add_verdicts(const struct study *study, const struct rows *rows, int along,
                         struct sheet *sheet, struct arena *arena, struct failure *failure)
{
    const size_t count = (size_t)rows->count;
    double *within = arena_take(arena, count, sizeof *within);
    double *front = arena_take(arena, count, sizeof *front);
    bool *is_on_front = arena_take(arena, count, sizeof *is_on_front);
    const char **status = arena_take(arena, count, sizeof(const char *));
    if (!within || !front || !is_on_front || !status) {
        return memory(failure);
    }
    if (!rows_find_front(rows, study, is_on_front, failure)) {
        return false;
    }
    for (int i = 0; i < rows->count; i++) {
        within[i] = rows_are_within(rows, i, study) ? 1.0 : 0.0;
        front[i] = is_on_front[i] ? 1.0 : 0.0;
        status[i] = rows->is_done[i] ? row_status_text(rows->status[i]) : "not run";
    }
    sheet_wholes(sheet,
                 (struct field_head){"within_limits", "1", "1: it has an answer within all limits"},
                 along, within);
    sheet_wholes(sheet,
                 (struct field_head){"on_front", "1",
                                     "1: no other row within the limits beats it in the compared "
                                     "measures"},
                 along, front);
    sheet_texts(sheet, (struct field_head){"status", "1", "how the work on it ended"}, along,
                status);
    sheet_texts(sheet, (struct field_head){"reason", "1", "why it has no answer"}, along,
                rows->reason);
    return true;
}

static void add_attributes(const struct study *study, struct sheet *sheet)
{
    static const char *const kinds[] = {"grid", "one at a time", "latin hypercube", "sobol",
                                        "importance"};
    static const char *const names[] = {"compare_1", "compare_2", "compare_3"};
    sheet_attribute_text(sheet, "combine", kinds[study->design.kind]);
    sheet_attribute_number(sheet, "seed", (double)study->design.seed);
    sheet_attribute_text(sheet, "run", study_runs_text(study->runs));
    for (int i = 0; i < study->compare_count && i < STUDY_COMPARE_MAX; i++) {
        sheet_attribute_text(sheet, names[i], study->measures[study->compare[i]].name);
    }
}

bool study_sheet(const struct variants *variants, const struct rows *rows, struct sheet *sheet,
                 struct arena *arena, struct failure *failure)
{
    const struct study *study = &variants->case_study.study;
    double *number = arena_take(arena, (size_t)rows->count, sizeof *number);
    if (!number) {
        return memory(failure);
    }
    for (int i = 0; i < rows->count; i++) {
        number[i] = (double)i + 1.0;
    }
    sheet_init(sheet, "/study");
    add_attributes(study, sheet);
    const int along = sheet_dimension(sheet, "variant", (size_t)rows->count);
    sheet_wholes(sheet, (struct field_head){"variant", "1", "number of the variant"}, along,
                 number);
    for (int i = 0; i < study->design.input_count; i++) {
        const bool is_added = study->inputs[i].is_text
                                  ? add_text_input(variants, i, along, sheet, arena)
                                  : add_number_input(variants, i, along, sheet, arena);
        if (!is_added) {
            return memory(failure);
        }
    }
    return (add_measures(study, rows, along, sheet, arena) || memory(failure)) &&
           add_verdicts(study, rows, along, sheet, arena, failure);
}

/* --- what they say together --- */

static bool add_measure_scale(const struct study *study, struct sheet *sheet, int *along,
                              struct arena *arena)
{
    const size_t count = (size_t)study->measure_count;
    const char **names = arena_take(arena, count, sizeof(const char *));
    const char **units = arena_take(arena, count, sizeof(const char *));
    if (!names || !units) {
        return false;
    }
    for (int i = 0; i < study->measure_count; i++) {
        names[i] = study->measures[i].name;
        units[i] = study->measures[i].kind->unit;
    }
    *along = sheet_dimension(sheet, "measure", count);
    sheet_texts(sheet, (struct field_head){"measure", "1", "what was kept of each variant"}, *along,
                names);
    sheet_texts(sheet, (struct field_head){"unit", "1", "unit of its values"}, *along, units);
    return true;
}

static bool add_input_scale(const struct study *study, struct sheet *sheet, int *along,
                            struct arena *arena)
{
    const size_t count = (size_t)study->design.input_count;
    const char **names = arena_take(arena, count, sizeof(const char *));
    if (!names) {
        return false;
    }
    for (int i = 0; i < study->design.input_count; i++) {
        names[i] = study->inputs[i].path;
    }
    *along = sheet_dimension(sheet, "input", count);
    sheet_texts(sheet, (struct field_head){"input", "1", "what was varied"}, *along, names);
    return true;
}

bool study_summary_sheet(const struct study *study, const struct rows *rows, struct sheet *sheet,
                         struct arena *arena, struct failure *failure)
{
    static const struct {
        struct field_head head;
        size_t offset;
    } parts[] = {
        {{"mean", "1", "mean, in the measure's unit"}, offsetof(struct summary, mean)},
        {{"deviation", "1", "standard deviation"}, offsetof(struct summary, deviation)},
        {{"least", "1", "least value"}, offsetof(struct summary, least)},
        {{"low", "1", "5 of 100 lie below"}, offsetof(struct summary, low)},
        {{"median", "1", "median"}, offsetof(struct summary, median)},
        {{"high", "1", "5 of 100 lie above"}, offsetof(struct summary, high)},
        {{"greatest", "1", "greatest value"}, offsetof(struct summary, greatest)},
    };
    enum { PART_COUNT = sizeof parts / sizeof *parts };
    int along = 0;
    const size_t count = (size_t)study->measure_count;
    double *values = arena_take(arena, PART_COUNT * count, sizeof *values);
    double *known = arena_take(arena, count, sizeof *known);
    sheet_init(sheet, "/study/summary");
    if (!values || !known || !add_measure_scale(study, sheet, &along, arena)) {
        return memory(failure);
    }
    for (size_t i = 0; i < count; i++) {
        struct summary summary;
        const double *column = rows_column(rows, (int)i, arena);
        if (!column || !summary_make(rows->count, column, &summary, failure)) {
            return memory(failure);
        }
        known[i] = summary.count;
        for (size_t k = 0; k < PART_COUNT; k++) {
            memcpy(&values[k * count + i], (const char *)&summary + parts[k].offset,
                   sizeof *values);
        }
    }
    sheet_wholes(sheet, (struct field_head){"count", "1", "variants that have a value"}, along,
                 known);
    for (size_t k = 0; k < PART_COUNT; k++) {
        sheet_numbers(sheet, parts[k].head, along, values + k * count);
    }
    return true;
}

bool study_limits_sheet(const struct study *study, const struct rows *rows, struct sheet *sheet,
                        struct arena *arena, struct failure *failure)
{
    enum { EXCEEDED, KNOWN, SHARE, LOW, HIGH, COLUMN_COUNT };
    const size_t count = (size_t)study->limit_count;
    const char **names = arena_take(arena, count, sizeof(const char *));
    double *column = arena_take(arena, COLUMN_COUNT * count, sizeof *column);
    if (!names || !column) {
        return memory(failure);
    }
    for (int i = 0; i < study->limit_count; i++) {
        const struct study_limit *limit = &study->limits[i];
        int exceeded = 0;
        int known = 0;
        for (int k = 0; k < rows->count; k++) {
            const double value = rows->value[(ptrdiff_t)k * rows->measure_count + limit->measure];
            known += isfinite(value);
            exceeded += isfinite(value) && !study_limit_is_kept(limit, value);
        }
        const struct probability share = probability_of(exceeded, known);
        const double all[COLUMN_COUNT] = {exceeded, known, share.estimate, share.low, share.high};
        for (size_t k = 0; k < COLUMN_COUNT; k++) {
            column[k * count + (size_t)i] = all[k];
        }
        names[i] = limit->name;
    }
    sheet_init(sheet, "/study/limits");
    const int along = sheet_dimension(sheet, "limit", count);
    sheet_texts(sheet, (struct field_head){"limit", "1", "what a measure must keep to"}, along,
                names);
    sheet_wholes(sheet, (struct field_head){"exceeded", "1", "variants that do not keep to it"},
                 along, column + EXCEEDED * count);
    sheet_wholes(sheet, (struct field_head){"known", "1", "variants that have the measure"}, along,
                 column + KNOWN * count);
    sheet_numbers(sheet, (struct field_head){"share", "1", "share of them that exceeds it"}, along,
                  column + SHARE * count);
    sheet_numbers(sheet, (struct field_head){"share_low", "1", "95 % interval, Wilson 1927"}, along,
                  column + LOW * count);
    sheet_numbers(sheet, (struct field_head){"share_high", "1", "95 % interval, Wilson 1927"},
                  along, column + HIGH * count);
    return true;
}

/* Which input matters for one measure, with the ends of the intervals. */
struct importance {
    struct indices *found; /* [input_count], as are the others */
    struct indices *low;
    struct indices *high;
};

enum { FIRST, FIRST_LOW, FIRST_HIGH, TOTAL, TOTAL_LOW, TOTAL_HIGH, IMPORTANCE_COUNT };

static const struct field_head importance_heads[IMPORTANCE_COUNT] = {
    [FIRST] = {"first", "1", "share of the variance by itself (Saltelli et al. 2010)"},
    [FIRST_LOW] = {"first_low", "1", "95 % interval, bootstrap over the base samples"},
    [FIRST_HIGH] = {"first_high", "1", "95 % interval, bootstrap over the base samples"},
    [TOTAL] = {"total", "1", "share of the variance with all it takes part in (Jansen 1999)"},
    [TOTAL_LOW] = {"total_low", "1", "95 % interval, bootstrap over the base samples"},
    [TOTAL_HIGH] = {"total_high", "1", "95 % interval, bootstrap over the base samples"},
};

/* Column `m` of the grids [IMPORTANCE_COUNT][inputs][measures]. */
static bool fill_importance(const struct study *study, const struct rows *rows, size_t m,
                            const struct importance *here, double *grids, double *used,
                            struct arena *arena, struct failure *failure)
{
    const size_t inputs = (size_t)study->design.input_count;
    const size_t measures = (size_t)study->measure_count;
    const double *column = rows_column(rows, (int)m, arena);
    int sample_count = 0;
    if (!column || !bootstrap_indices((int)inputs, study->design.samples, column,
                                      study->design.seed, here->low, here->high, failure)) {
        return memory(failure);
    }
    indices_find((int)inputs, study->design.samples, column, here->found, &sample_count);
    *used = sample_count;
    for (size_t i = 0; i < inputs; i++) {
        const double all[IMPORTANCE_COUNT] = {
            [FIRST] = here->found[i].first,     [FIRST_LOW] = here->low[i].first,
            [FIRST_HIGH] = here->high[i].first, [TOTAL] = here->found[i].total,
            [TOTAL_LOW] = here->low[i].total,   [TOTAL_HIGH] = here->high[i].total,
        };
        for (size_t k = 0; k < IMPORTANCE_COUNT; k++) {
            grids[(k * inputs + i) * measures + m] = all[k];
        }
    }
    return true;
}

bool study_importance_sheet(const struct study *study, const struct rows *rows, struct sheet *sheet,
                            struct arena *arena, struct failure *failure)
{
    const size_t inputs = (size_t)study->design.input_count;
    const size_t measures = (size_t)study->measure_count;
    double *grids = arena_take(arena, IMPORTANCE_COUNT * inputs * measures, sizeof *grids);
    double *used = arena_take(arena, measures, sizeof *used);
    struct indices *room = arena_take(arena, 3 * inputs, sizeof *room);
    int by_input = 0;
    int by_measure = 0;
    sheet_init(sheet, "/study/importance");
    if (!grids || !used || !room || !add_input_scale(study, sheet, &by_input, arena) ||
        !add_measure_scale(study, sheet, &by_measure, arena)) {
        return memory(failure);
    }
    const struct importance here = {room, room + inputs, room + 2 * inputs};
    for (size_t m = 0; m < measures; m++) {
        if (!fill_importance(study, rows, m, &here, grids, &used[m], arena, failure)) {
            return false;
        }
    }
    sheet_wholes(sheet, (struct field_head){"samples_used", "1", "base samples with all answers"},
                 by_measure, used);
    for (size_t k = 0; k < IMPORTANCE_COUNT; k++) {
        sheet_grid(sheet, importance_heads[k], by_input, by_measure, grids + k * inputs * measures);
    }
    return true;
}

bool study_alone_sheet(const struct study *study, const struct rows *rows, struct sheet *sheet,
                       struct arena *arena, struct failure *failure)
{
    const size_t inputs = (size_t)study->design.input_count;
    const size_t measures = (size_t)study->measure_count;
    double *least = arena_take(arena, inputs * measures, sizeof *least);
    double *most = arena_take(arena, inputs * measures, sizeof *most);
    int by_input = 0;
    int by_measure = 0;
    sheet_init(sheet, "/study/alone");
    if (!least || !most || !add_input_scale(study, sheet, &by_input, arena) ||
        !add_measure_scale(study, sheet, &by_measure, arena)) {
        return memory(failure);
    }
    size_t row = 1; /* the first row is the case as it stands */
    for (size_t i = 0; i < inputs; i++) {
        const int levels = spread_level_count(&study->design.spreads[i], study->design.levels);
        for (size_t m = 0; m < measures; m++) {
            double low = rows->value[m];
            double high = rows->value[m];
            for (size_t k = row; k < row + (size_t)levels; k++) {
                low = fmin(low, rows->value[k * measures + m]);
                high = fmax(high, rows->value[k * measures + m]);
            }
            least[i * measures + m] = low;
            most[i * measures + m] = high;
        }
        row += (size_t)levels;
    }
    sheet_numbers(sheet, (struct field_head){"base", "1", "the case as it stands"}, by_measure,
                  rows->value);
    sheet_grid(sheet, (struct field_head){"least", "1", "least value with this input varied"},
               by_input, by_measure, least);
    sheet_grid(sheet, (struct field_head){"greatest", "1", "greatest value with this input varied"},
               by_input, by_measure, most);
    return true;
}
