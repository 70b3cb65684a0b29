#include "io/command/study_tell.h"

#include "io/results/study_sheet.h"
#include "io/results/trade_table.h"
#include "io/results/trade_unit.h"
#include "io/terminal/prose.h"
#include "io/terminal/table.h"

#include <math.h>
#include <string.h>

enum { ROWS_SHOWN = 30, REASONS_SHOWN = 5, INPUTS_SHOWN = 6, COLUMN_ROOM = 16 };

/* Enough decimals to tell the values of an input apart. */
static int decimals_of(const struct field *field)
{
    double most = 0.0;
    for (size_t i = 0; i < field->count; i++) {
        most = fmax(most, fabs(field->numbers[i]));
    }
    return most >= 1000.0 ? 0 : most >= 100.0 ? 1 : most >= 1.0 ? 2 : 5;
}

/* Columns of the rows' table: inputs, then measures. The sheet holds them in that order after the
 * variant's number. */
static void make_columns(const struct study *study, const struct sheet *sheet,
                         struct trade_column columns[COLUMN_ROOM + 1])
{
    int count = 0;
    columns[count++] = (struct trade_column){"variant", "variant", "", 1.0, 0};
    for (int i = 0; i < study->design.input_count && i < INPUTS_SHOWN; i++) {
        const struct field *field = &sheet->fields[1 + i];
        columns[count++] =
            (struct trade_column){field->name, field->long_name, study->inputs[i].unit, 1.0,
                                  field->kind == FIELD_TEXT ? TABLE_TEXT : decimals_of(field)};
    }
    for (int i = 0; i < study->measure_count && count < COLUMN_ROOM - 1; i++) {
        const struct field *field = &sheet->fields[1 + study->design.input_count + i];
        const struct trade_unit unit = trade_unit_for(field->units, field->count, field->numbers);
        columns[count++] = (struct trade_column){field->name, study->measures[i].name, unit.unit,
                                                 unit.factor, unit.decimals};
    }
    columns[count++] = (struct trade_column){"status", "status", "", 1.0, TABLE_TEXT};
    columns[count] = (struct trade_column){NULL, NULL, NULL, 0.0, 0};
}

/* A mask of at most ROWS_SHOWN rows: those on the front, or all when they are so few. */
static bool add_mask(struct sheet *sheet, struct arena *arena, bool *is_cut)
{
    const struct field *front = sheet_find(sheet, "on_front");
    double *mask = arena_take(arena, front->count, sizeof *mask);
    int shown = 0;
    *is_cut = false;
    for (size_t i = 0; mask && i < front->count; i++) {
        const bool is_wanted = front->count <= ROWS_SHOWN || front->numbers[i] > 0.0;
        *is_cut = *is_cut || (is_wanted && shown == ROWS_SHOWN);
        mask[i] = is_wanted && shown < ROWS_SHOWN ? 1.0 : 0.0;
        shown += mask[i] > 0.0;
    }
    sheet_wholes(sheet, (struct field_head){"is_shown", "1", ""}, front->dimension[0], mask);
    return mask != NULL;
}

static bool tell_rows(const struct study_keep *keep, const struct terminal *terminal,
                      struct failure *failure)
{
    const struct study *study = &keep->variants->case_study.study;
    struct trade_column columns[COLUMN_ROOM + 1];
    struct sheet sheet;
    char title[400] = "Variants";
    bool is_cut = false;
    if (!study_sheet(keep->variants, &keep->rows, &sheet, keep->arena, failure)) {
        return false;
    }
    make_columns(study, &sheet, columns);
    if (keep->rows.count > ROWS_SHOWN) {
        (void)snprintf(
            title, sizeof title, "Within the limits, and beaten by none in %.100s%s%.100s",
            study->measures[study->compare[0]].name, study->compare_count > 1 ? " and " : "",
            study->compare_count > 1 ? study->measures[study->compare[1]].name : "");
    }
    if (!add_mask(&sheet, keep->arena, &is_cut) ||
        !trade_table(&sheet, title, columns, "is_shown", terminal, keep->arena)) {
        return fail_memory(failure, "the tables");
    }
    if (is_cut) {
        (void)fprintf(terminal->out, "Only the first %d are shown.\n\n", ROWS_SHOWN);
    }
    return true;
}

static void tell_failed(const struct study_keep *keep, const struct terminal *terminal)
{
    const struct rows *rows = &keep->rows;
    int count = 0;
    for (int i = 0; i < rows->count; i++) {
        if (rows->status[i] == ROW_DONE) {
            continue;
        }
        if (count < REASONS_SHOWN) {
            prose_mark(terminal, TONE_WARNING, "without answer", "variant %d: %s: %s\n", i + 1,
                       row_status_text(rows->status[i]), rows->reason[i] ? rows->reason[i] : "");
        }
        count++;
    }
    if (count > REASONS_SHOWN) {
        (void)fprintf(terminal->out, "and %d more; the results file has them all\n",
                      count - REASONS_SHOWN);
    }
    (void)fputs(count > 0 ? "\n" : "", terminal->out);
}

static bool tell_limits(const struct study_keep *keep, const struct terminal *terminal,
                        struct failure *failure)
{
    static const struct trade_column columns[] = {
        {"limit", "limit", "", 1.0, TABLE_TEXT},
        {"exceeded", "exceeded by", "variants", 1.0, 0},
        {"known", "of", "", 1.0, 0},
        {"share", "share", "%", 100.0, 2},
        {"share_low", "95 % from", "%", 100.0, 2},
        {"share_high", "to", "%", 100.0, 2},
        {NULL, NULL, NULL, 0.0, 0},
    };
    /* On a grid the shares are of listed cases, not chances. */
    static const struct trade_column counts[] = {
        {"limit", "limit", "", 1.0, TABLE_TEXT},
        {"exceeded", "exceeded by", "variants", 1.0, 0},
        {"known", "of", "", 1.0, 0},
        {NULL, NULL, NULL, 0.0, 0},
    };
    const struct study *study = &keep->variants->case_study.study;
    const bool is_sampled =
        study->design.kind == DESIGN_LATIN_HYPERCUBE || study->design.kind == DESIGN_SOBOL;
    struct sheet sheet;
    if (study->limit_count == 0) {
        return true;
    }
    return study_limits_sheet(study, &keep->rows, &sheet, keep->arena, failure) &&
           (trade_table(&sheet, "Limits", is_sampled ? columns : counts, NULL, terminal,
                        keep->arena) ||
            fail_memory(failure, "the tables"));
}

/* Two fields of a grid of inputs by measures, for one measure, as a table. */
static bool tell_inputs(const struct study_keep *keep, const struct sheet *grid, int measure,
                        const char *const names[2], const struct trade_column columns[],
                        const struct terminal *terminal)
{
    const struct study *study = &keep->variants->case_study.study;
    const struct field *input = sheet_find(grid, "input");
    char title[300];
    struct sheet sheet;
    sheet_init(&sheet, "/table");
    const int along = sheet_dimension(&sheet, "input", input->count);
    sheet_texts(&sheet, (struct field_head){"input", "1", ""}, along, input->texts);
    for (int k = 0; names[k]; k++) {
        const struct field *field = sheet_find(grid, names[k]);
        double *column = arena_take(keep->arena, input->count, sizeof *column);
        if (!column) {
            return false;
        }
        for (size_t i = 0; i < input->count; i++) {
            column[i] = field->numbers[i * (size_t)study->measure_count + (size_t)measure];
        }
        sheet_numbers(&sheet, (struct field_head){names[k], "1", ""}, along, column);
    }
    (void)snprintf(title, sizeof title, "What moves: %.200s", study->measures[measure].name);
    return trade_table(&sheet, title, columns, NULL, terminal, keep->arena);
}

static bool tell_importance(const struct study_keep *keep, const struct terminal *terminal,
                            struct failure *failure)
{
    static const char *const names[] = {"first",     "first_low",  "first_high", "total",
                                        "total_low", "total_high", NULL};
    static const struct trade_column columns[] = {
        {"input", "input", "", 1.0, TABLE_TEXT},     {"first", "by itself", "%", 100.0, 1},
        {"first_low", "from", "%", 100.0, 1},        {"first_high", "to", "%", 100.0, 1},
        {"total", "with the others", "%", 100.0, 1}, {"total_low", "from", "%", 100.0, 1},
        {"total_high", "to", "%", 100.0, 1},         {NULL, NULL, NULL, 0.0, 0},
    };
    const struct study *study = &keep->variants->case_study.study;
    struct sheet grid;
    if (!study_importance_sheet(study, &keep->rows, &grid, keep->arena, failure)) {
        return false;
    }
    for (int i = 0; i < study->compare_count; i++) {
        if (!tell_inputs(keep, &grid, study->compare[i], names, columns, terminal)) {
            return fail_memory(failure, "the tables");
        }
    }
    prose_tell(terminal,
               "Shares of the variance: Sobol's indices from %.0f base samples, with 95 %% "
               "intervals (bootstrap).\n\n",
               sheet_find(&grid, "samples_used")->numbers[study->compare[0]]);
    return true;
}

static bool tell_alone(const struct study_keep *keep, const struct terminal *terminal,
                       struct failure *failure)
{
    static const char *const names[] = {"least", "greatest", NULL};
    const struct study *study = &keep->variants->case_study.study;
    struct sheet grid;
    if (!study_alone_sheet(study, &keep->rows, &grid, keep->arena, failure)) {
        return false;
    }
    for (int i = 0; i < study->compare_count; i++) {
        const struct measure *measure = &study->measures[study->compare[i]];
        const struct trade_unit unit = trade_unit_of(measure->kind->unit);
        const struct trade_column columns[] = {
            {"input", "varied alone", "", 1.0, TABLE_TEXT},
            {"least", "least", unit.unit, unit.factor, unit.decimals},
            {"greatest", "greatest", unit.unit, unit.factor, unit.decimals},
            {NULL, NULL, NULL, 0.0, 0},
        };
        if (!tell_inputs(keep, &grid, study->compare[i], names, columns, terminal)) {
            return fail_memory(failure, "the tables");
        }
    }
    return true;
}

static bool tell_summary(const struct study_keep *keep, const struct terminal *terminal,
                         struct failure *failure)
{
    static const struct trade_column columns[] = {
        {"measure", "measure", "", 1.0, TABLE_TEXT},
        {"unit", "SI unit", "", 1.0, TABLE_TEXT},
        {"mean", "mean", "", 1.0, 4},
        {"deviation", "deviation", "", 1.0, 4},
        {"low", "5 % below", "", 1.0, 4},
        {"median", "median", "", 1.0, 4},
        {"high", "5 % above", "", 1.0, 4},
        {NULL, NULL, NULL, 0.0, 0},
    };
    const struct study *study = &keep->variants->case_study.study;
    struct sheet sheet;
    return study_summary_sheet(study, &keep->rows, &sheet, keep->arena, failure) &&
           (trade_table(&sheet, "Spread of the measures", columns, NULL, terminal, keep->arena) ||
            fail_memory(failure, "the tables"));
}

bool study_tell(const struct study_keep *keep, const struct terminal *terminal,
                struct failure *failure)
{
    const struct study *study = &keep->variants->case_study.study;
    const struct site *site = keep->variants->site;
    prose_tell(terminal, "%s: study of %d variants, %s\n\n", site->name ? site->name : "Site",
               keep->rows.count, study_runs_text(study->runs));
    if (study->design.kind != DESIGN_IMPORTANCE && !tell_rows(keep, terminal, failure)) {
        return false;
    }
    tell_failed(keep, terminal);
    bool is_good = tell_limits(keep, terminal, failure);
    switch (study->design.kind) {
    case DESIGN_GRID:
        break;
    case DESIGN_ONE_AT_A_TIME:
        is_good = is_good && tell_alone(keep, terminal, failure);
        break;
    case DESIGN_LATIN_HYPERCUBE:
    case DESIGN_SOBOL:
        is_good = is_good && tell_summary(keep, terminal, failure);
        break;
    case DESIGN_IMPORTANCE:
        is_good = is_good && tell_importance(keep, terminal, failure);
        break;
    }
    return is_good;
}
