#include "io/command/surge_size_tell.h"

#include "io/results/trade_table.h"
#include "io/terminal/prose.h"
#include "io/terminal/table.h"

#include <math.h>

const struct size_part size_parts[SIZE_PART_COUNT] = {
    [SIZING_VESSEL] = {"vessel", "air vessel", QUANTITY_VOLUME, "L", 1e3,
                       "it stands on a point: end the run there and begin the next one, as in "
                       "'points: {v: {elevation: 2 m, air vessel: {volume: 200 L, gas: 80 L}}}'"},
    [SIZING_FLYWHEEL] = {"flywheel", "flywheel", QUANTITY_INERTIA, "kg m2", 1.0,
                         "it stands on the shaft of a pump that is in a run"},
    [SIZING_RELIEF] = {"relief", "relief valve", QUANTITY_LENGTH, "mm", 1e3,
                       "it is an outlet at the end of a short run, as in "
                       "'outlets: {relief: {elevation: 2 m, bore: 25 mm, opens at: 60 m}}'"},
};

const struct size_measure size_measures[SIZE_MEASURE_COUNT] = {
    [SIZING_HIGHEST] = {"highest", QUANTITY_HEAD, NULL, "m", "highest", 1.0, 1},
    [SIZING_LOWEST] = {"lowest", QUANTITY_HEAD, NULL, "m", "lowest", 1.0, 1},
    [SIZING_CLASS] = {"class", QUANTITY_NUMBER, "1", "%", "of class", 100.0, 1},
    [SIZING_REVERSE] = {"reverse", QUANTITY_VELOCITY, NULL, "m/s", "reverse flow", 1.0, 3},
    [SIZING_SLAM] = {"slam", QUANTITY_HEAD, NULL, "m", "slam", 1.0, 1},
};

enum { FIXED_COLUMNS = 6 };

static void start_sheet(const struct work *work, struct surge_size *size)
{
    const struct sizing *found = &size->found;
    const struct sizing_wish *wish = &size->wish;
    struct sheet *sheet = &size->sheet;
    sheet_init(sheet, "/surge/sizing");
    sheet_attribute_text(sheet, "part", work->site->network->links[wish->link].name);
    sheet_attribute_text(sheet, "kind", size_parts[wish->part].what);
    sheet_attribute_number(sheet, "size", found->size);
    sheet_attribute_number(sheet, "first_size", found->first_size);
    sheet_attribute_number(sheet, "doubtful_size", found->doubtful_size);
    sheet_attribute_number(sheet, "broken_above", found->broken_above);
    sheet_attribute_number(sheet, "is_confirmed", found->is_confirmed);
    sheet_attribute_number(sheet, "is_monotone", found->is_monotone);
}

bool surge_size_fill(const struct work *work, struct surge_size *size)
{
    static const char *const names[SIZING_LIMIT_MAX] = {"value_1", "value_2", "value_3", "value_4",
                                                        "value_5", "value_6", "value_7", "value_8"};
    static const char *const bands[SIZING_LIMIT_MAX] = {"band_1", "band_2", "band_3", "band_4",
                                                        "band_5", "band_6", "band_7", "band_8"};
    const struct sizing *found = &size->found;
    const struct sizing_wish *wish = &size->wish;
    const size_t count = (size_t)found->try_count;
    const size_t columns = FIXED_COLUMNS + 2 * (size_t)wish->limit_count;
    double *numbers = arena_take(work->arena, count * columns, sizeof *numbers);
    if (!numbers) {
        return false;
    }
    for (size_t i = 0; i < count; i++) {
        const struct sizing_try *try = &found->tries[i];
        numbers[i] = try->size;
        numbers[count + i] = try->is_kept;
        numbers[2 * count + i] = try->has_run_empty;
        numbers[3 * count + i] = try->ending != SURGE_DONE;
        numbers[4 * count + i] = try->grid_count;
        numbers[5 * count + i] = try->is_doubtful;
        for (int k = 0; k < wish->limit_count; k++) {
            numbers[(FIXED_COLUMNS + (size_t)k) * count + i] = try->value[k];
            numbers[(columns - 1 - (size_t)k) * count + i] = try->band[k];
        }
    }
    struct sheet *sheet = &size->sheet;
    start_sheet(work, size);
    const int along = sheet_dimension(sheet, "size", count);
    sheet_numbers(
        sheet,
        (struct field_head){"size", quantity_unit(size_parts[wish->part].quantity), "size tried"},
        along, numbers);
    sheet_wholes(sheet, (struct field_head){"is_kept", "1", "1: it keeps every limit"}, along,
                 numbers + count);
    sheet_wholes(sheet, (struct field_head){"has_run_empty", "1", "1: the vessel ran empty"}, along,
                 numbers + 2 * count);
    sheet_wholes(sheet, (struct field_head){"is_broken_off", "1", "1: the run found no answer"},
                 along, numbers + 3 * count);
    sheet_wholes(sheet,
                 (struct field_head){"grids", "1", "1: of the search; more: of a confirmation"},
                 along, numbers + 4 * count);
    sheet_wholes(sheet,
                 (struct field_head){"is_doubtful", "1",
                                     "1: its values keep every limit, but not all of their bands"},
                 along, numbers + 5 * count);
    for (int k = 0; k < wish->limit_count; k++) {
        const struct size_measure *words = &size_measures[wish->limits[k].measure];
        sheet_numbers(sheet,
                      (struct field_head){names[k], quantity_unit(words->quantity), words->name},
                      along, numbers + (FIXED_COLUMNS + (size_t)k) * count);
        sheet_numbers(sheet,
                      (struct field_head){bands[k], quantity_unit(words->quantity),
                                          "the value may be so much worse"},
                      along, numbers + (columns - 1 - (size_t)k) * count);
    }
    return true;
}

/* A size with its unit, without powers of ten. */
static void print_size(struct prose *out, const struct size_part *part, double size)
{
    const double told = part->factor * size;
    prose_add(out, told < 1e4 ? "%.4g %s" : "%.0f %s", told, part->unit);
}

/* What a try gave for each limit, with how much worse it may be. */
static void print_values(struct prose *out, const struct sizing_wish *wish,
                         const struct sizing_try *try)
{
    for (int k = 0; k < wish->limit_count; k++) {
        const struct size_measure *words = &size_measures[wish->limits[k].measure];
        prose_add(out, "%s %s %.*f", k > 0 ? "," : "", words->head, words->decimals + 1,
                  words->factor * try->value[k]);
        if (isfinite(try->band[k])) {
            prose_add(out, " +- %.1g", words->factor * try->band[k]);
        }
        prose_add(out, " %s", words->unit);
    }
    prose_text(out, ".\n");
}

/* A band hangs on the grids as well as on the site: more of them may make do with less. */
static void print_finer(struct prose *out, const struct surge_size *size)
{
    if (size->wish.confirm != PRECISION_FINE) {
        prose_text(out,
                   "'--precision fine' makes the bands narrower and may find a smaller one, in "
                   "three to five times the time.\n");
    }
}

/* The largest size tried that is at most `most`, or NULL. */
static const struct sizing_try *largest_try(const struct sizing *found, double most)
{
    const struct sizing_try *largest = NULL;
    for (int i = 0; i < found->try_count; i++) {
        const struct sizing_try *here = &found->tries[i];
        if (here->size <= most && (!largest || here->size > largest->size)) {
            largest = here;
        }
    }
    return largest;
}

/* Limits that large sizes, far apart, break by next to the same: no size mends those. */
static void print_stuck(struct prose *out, const struct sizing_wish *wish,
                        const struct sizing *found)
{
    const double same = 0.01; /* of the distance to the limit */
    const double far = 2.0;   /* times another size */
    const struct sizing_try *largest = largest_try(found, (double)INFINITY);
    const struct sizing_try *other = largest ? largest_try(found, largest->size / far) : NULL;
    for (int k = 0; other && k < wish->limit_count; k++) {
        const struct sizing_limit *limit = &wish->limits[k];
        const struct size_measure *words = &size_measures[limit->measure];
        const double sign = limit->measure == SIZING_LOWEST ? -1.0 : 1.0;
        const double over = sign * (largest->value[k] - limit->value);
        if (over > 0.0 && fabs(largest->value[k] - other->value[k]) < same * over) {
            prose_add(out,
                      "The %s value stays at %.*f %s however large it is: something else sets it, "
                      "such as the steady flow in a suction pipe.%s\n",
                      words->head, words->decimals, words->factor * largest->value[k], words->unit,
                      limit->run == NETWORK_NONE ? " A limit 'in' one run leaves the others out."
                                                 : "");
        }
    }
}

/* Why the size is not the one that the search on one grid found. */
static void print_first(struct prose *out, const struct size_part *part,
                        const struct surge_size *size)
{
    const struct sizing *found = &size->found;
    if (isnan(found->first_size)) {
        prose_text(out, "On one grid every size tried breaks a limit; finer ones keep them.\n");
    } else if (found->size > found->first_size) {
        const struct sizing_try *finer = sizing_confirmation(found, found->first_size);
        prose_text(out, "On one grid ");
        print_size(out, part, found->first_size);
        prose_text(out,
                   finer && finer->is_doubtful
                       ? " would do. On finer ones its error band reaches over a limit, so this "
                         "is the next larger one that keeps them with its whole band.\n"
                       : " would do; finer ones break a limit with it.\n");
        if (finer && finer->is_doubtful) {
            print_finer(out, size);
        }
    }
}

/* What the finer grids say of the size found. */
static void print_confirmation(struct prose *out, const struct size_part *part,
                               const struct surge_size *size)
{
    const struct sizing *found = &size->found;
    const struct sizing_try *try =
        found->is_confirmed ? sizing_confirmation(found, found->size) : NULL;
    if (!try) {
        prose_text(out, "Judged on one grid only: not confirmed on a finer one.\n");
    } else {
        print_first(out, part, size);
        prose_add(out, "Confirmed on %d grids, with the whole error band (+-):", try->grid_count);
        print_values(out, &size->wish, try);
    }
    if (isfinite(found->broken_above)) {
        prose_text(out, "Larger is not always better: ");
        print_size(out, part, found->broken_above);
        prose_text(out, " breaks a limit again.\n");
    }
    if (!found->is_monotone) {
        prose_text(out,
                   "Some smaller ones also keep them, but not every one between: the limits do not "
                   "follow the size evenly.\n");
    }
}

/* How near the sizes came where none keeps the limits. */
static void print_none(struct prose *out, const struct size_part *part,
                       const struct surge_size *size)
{
    const struct sizing *found = &size->found;
    const bool has_doubt = isfinite(found->doubtful_size);
    const bool has_first = isfinite(found->first_size);
    const struct sizing_try *nearest = sizing_nearest(found);
    const double near = has_doubt   ? found->doubtful_size
                        : has_first ? found->first_size
                                    : nearest->size;
    const struct sizing_try *finer = sizing_confirmation(found, near);
    prose_add(out, "None of the sizes tried, ");
    print_size(out, part, size->wish.smallest);
    prose_text(out, " to ");
    print_size(out, part, size->wish.largest);
    prose_text(out, ", keeps the limits.\n");
    if (has_first) {
        prose_text(out, "On the one grid of the search ");
        print_size(out, part, found->first_size);
        prose_text(out, " would do, but on finer grids none was found that does.\n");
    }
    prose_text(out, has_doubt ? "Within the error band (+-) of " : "Nearest is ");
    print_size(out, part, near);
    prose_text(out, has_doubt ? " a limit may be broken, though its values keep them:" : ":");
    print_values(out, &size->wish, finer ? finer : nearest);
    if (has_doubt) {
        print_finer(out, size);
    }
    print_stuck(out, &size->wish, found);
}

static void print_answer(const struct work *work, const struct surge_size *size)
{
    const struct sizing *found = &size->found;
    const struct size_part *part = &size_parts[size->wish.part];
    struct prose prose;
    struct prose *out = &prose;
    prose_answers(out, &work->terminal);
    switch (found->ending) {
    case SIZING_FOUND:
        prose_add(out, "The smallest %s that keeps the limits: ", part->what);
        print_size(out, part, found->size);
        prose_add(out, ", to %.0f %%.\n", 100 * size->wish.precision);
        print_confirmation(out, part, size);
        break;
    case SIZING_SMALLEST_SUFFICES:
        prose_add(out, "Even the smallest %s tried, ", part->what);
        print_size(out, part, found->size);
        prose_text(out, ", keeps the limits: perhaps none is needed.\n");
        print_confirmation(out, part, size);
        break;
    case SIZING_NONE_SUFFICES:
        print_none(out, part, size);
        break;
    case SIZING_STOPPED:
        prose_text(out, "The search was stopped.\n");
        break;
    }
    prose_add(out, "\n");
}

/* How a try stands to the limits. */
static const char *verdict(const struct sizing_try *try)
{
    if (try->ending != SURGE_DONE) {
        return "no answer";
    }
    if (try->has_run_empty) {
        return "ran empty";
    }
    return try->is_kept ? "kept" : try->is_doubtful ? "in doubt" : "broken";
}

_Static_assert(2 * SIZING_LIMIT_MAX + 3 <= TABLE_COLUMN_MAX, "a table of all limits");

bool surge_size_print(const struct work *work, const struct surge_size *size)
{
    struct column columns[2 * SIZING_LIMIT_MAX + 4] = {{0}};
    const struct sizing_wish *wish = &size->wish;
    const struct size_part *words = &size_parts[wish->part];
    int count = 0;
    columns[count++] =
        (struct column){words->what, words->unit, wish->part == SIZING_FLYWHEEL ? 4 : 1};
    for (int k = 0; k < wish->limit_count; k++) {
        const struct size_measure *measure = &size_measures[wish->limits[k].measure];
        columns[count++] = (struct column){measure->head, measure->unit, measure->decimals};
        columns[count++] = (struct column){"+-", measure->unit, measure->decimals};
    }
    columns[count++] = (struct column){"grids", "", 0};
    columns[count++] = (struct column){"limits", "", TABLE_TEXT};
    struct table *table = table_new(columns, work->arena);
    if (!table) {
        return false;
    }
    for (int i = 0; i < size->found.try_count; i++) {
        const struct sizing_try *try = &size->found.tries[i];
        table_number(table, words->factor * try->size);
        for (int k = 0; k < wish->limit_count; k++) {
            const double factor = size_measures[wish->limits[k].measure].factor;
            table_number(table, factor * try->value[k]);
            table_number(table, factor * try->band[k]);
        }
        table_number(table, try->grid_count);
        table_text(table, verdict(try));
    }
    table_print(table, &work->terminal);
    (void)fputc('\n', work->terminal.out);
    print_answer(work, size);
    return true;
}
