#include "io/command/surge_size.h"

#include "io/door/units.h"
#include "io/nearest.h"
#include "io/results/trade_table.h"
#include "io/terminal/progress.h"
#include "io/terminal/table.h"

#include <math.h>
#include <string.h>

enum { TEXT_SIZE = 120 };

/* How a size is told. */
struct part_words {
    const char *name;
    const char *what; /* "air vessel" */
    enum quantity quantity;
    const char *unit;
    double factor;
};

static const struct part_words parts[] = {
    [SIZING_VESSEL] = {"vessel", "air vessel", QUANTITY_VOLUME, "L", 1e3},
    [SIZING_FLYWHEEL] = {"flywheel", "flywheel", QUANTITY_INERTIA, "kg m2", 1.0},
    [SIZING_RELIEF] = {"relief", "relief valve", QUANTITY_LENGTH, "mm", 1e3},
};
enum { PART_COUNT = sizeof parts / sizeof parts[0] };

struct measure_words {
    const char *name;
    enum quantity quantity;
    const char *otherwise; /* value where none is said; NULL: one must be */
    const char *unit;
    const char *head;
    double factor;
    int decimals;
};

static const struct measure_words measures[] = {
    [SIZING_HIGHEST] = {"highest", QUANTITY_HEAD, NULL, "m", "highest", 1.0, 1},
    [SIZING_LOWEST] = {"lowest", QUANTITY_HEAD, NULL, "m", "lowest", 1.0, 1},
    [SIZING_CLASS] = {"class", QUANTITY_NUMBER, "1", "%", "of class", 100.0, 1},
    [SIZING_REVERSE] = {"reverse", QUANTITY_VELOCITY, NULL, "m/s", "reverse flow", 1.0, 3},
    [SIZING_SLAM] = {"slam", QUANTITY_HEAD, NULL, "m", "slam", 1.0, 1},
};
enum { MEASURE_COUNT = sizeof measures / sizeof measures[0] };

static enum exit_code refuse(const struct work *work, const char *option, const char *text,
                             const char *why)
{
    complain(work->request->terminal, "--%s: '%s': %s", option, text, why);
    return EXIT_CODE_INPUT;
}

/* --- words --- */

/* A copy of at most TEXT_SIZE - 1 letters of `length`, without blanks at its ends. */
static void copy_trimmed(char into[TEXT_SIZE], const char *from, size_t length)
{
    while (length > 0 && (*from == ' ' || *from == '\t')) {
        from++;
        length--;
    }
    while (length > 0 && (from[length - 1] == ' ' || from[length - 1] == '\t')) {
        length--;
    }
    length = length < TEXT_SIZE - 1 ? length : TEXT_SIZE - 1;
    memcpy(into, from, length);
    into[length] = '\0';
}

/* The next piece up to a comma, and where to go on; NULL: that was the last one. */
static const char *next_piece(const char *text, char piece[TEXT_SIZE])
{
    const size_t length = strcspn(text, ",");
    copy_trimmed(piece, text, length);
    return text[length] == ',' ? text + length + 1 : NULL;
}

static bool read_quantity(const struct work *work, struct units *units, enum quantity quantity,
                          const char *text, double *value, char message[TEXT_SIZE * 2])
{
    struct amount amount = {.value = value};
    if (!units_read(units, quantity, text, 1, &amount, (size_t)TEXT_SIZE * 2, message)) {
        return false;
    }
    if (amount.is_pressure) {
        *value = water_head(&work->site->water, *value);
    }
    return true;
}

static int find_run(const struct network *network, const char *name)
{
    for (int i = 0; i < network->run_count; i++) {
        if (strcmp(network->runs[i].name, name) == 0) {
            return i;
        }
    }
    return NETWORK_NONE;
}

/* One limit: a measure, its value, and perhaps "in" and a run. */
static enum exit_code read_limit(const struct work *work, struct units *units, const char *piece,
                                 struct sizing_limit *limit)
{
    char name[TEXT_SIZE];
    char value[TEXT_SIZE];
    char message[TEXT_SIZE * 2];
    const size_t length = strcspn(piece, " ");
    const char *place = strstr(piece + length, " in ");
    copy_trimmed(name, piece, length);
    copy_trimmed(value, piece + length,
                 place ? (size_t)(place - piece) - length : strlen(piece + length));
    int measure = 0;
    while (measure < MEASURE_COUNT && strcmp(measures[measure].name, name) != 0) {
        measure++;
    }
    if (measure == MEASURE_COUNT) {
        return refuse(work, "limit", name,
                      "a limit is highest, lowest, class, reverse or slam, with its value, such as "
                      "\"highest 60 m, lowest 0 m in main\"");
    }
    limit->measure = (enum sizing_measure)measure;
    limit->run = NETWORK_NONE;
    if (place) {
        copy_trimmed(name, place + 4, strlen(place + 4));
        limit->run = find_run(work->site->network, name);
        if (limit->run == NETWORK_NONE) {
            return refuse(work, "limit", name, "no run is called so");
        }
    }
    const char *said =
        value[0] == '\0' && measures[measure].otherwise ? measures[measure].otherwise : value;
    if (!read_quantity(work, units, measures[measure].quantity, said, &limit->value, message)) {
        return refuse(work, "limit", piece, message);
    }
    return EXIT_CODE_DONE;
}

static enum exit_code read_limits(const struct work *work, struct units *units,
                                  struct sizing_wish *wish)
{
    char piece[TEXT_SIZE];
    const char *text = request_value(work->request, "limit", NULL);
    if (!text) {
        complain(work->request->terminal,
                 "--size: needs --limit, such as --limit \"highest 60 m, lowest 0 m in main\"");
        return EXIT_CODE_INPUT;
    }
    while (text) {
        text = next_piece(text, piece);
        if (wish->limit_count == SIZING_LIMIT_MAX) {
            return refuse(work, "limit", piece, "too many limits");
        }
        const enum exit_code code =
            read_limit(work, units, piece, &wish->limits[wish->limit_count++]);
        if (code != EXIT_CODE_DONE) {
            return code;
        }
    }
    return EXIT_CODE_DONE;
}

static enum exit_code read_range(const struct work *work, struct units *units,
                                 struct sizing_wish *wish)
{
    char piece[TEXT_SIZE];
    char message[TEXT_SIZE * 2];
    const char *text = request_value(work->request, "between", NULL);
    const struct link *link = &work->site->network->links[wish->link];
    sizing_default_range(link, wish->part, &wish->smallest, &wish->largest);
    if (!text) {
        return EXIT_CODE_DONE;
    }
    double *const ends[] = {&wish->smallest, &wish->largest};
    const char *rest = text;
    for (int i = 0; i < 2; i++) {
        rest = rest ? next_piece(rest, piece) : NULL;
        if (!read_quantity(work, units, parts[wish->part].quantity, piece, ends[i], message)) {
            return refuse(work, "between", piece, message);
        }
    }
    if (!(wish->smallest > 0 && wish->largest > wish->smallest) || rest) {
        return refuse(work, "between", text,
                      "two sizes above zero are expected, the smaller one first, such as \"50 L, 5 "
                      "m3\"");
    }
    return EXIT_CODE_DONE;
}

/* --- which part --- */

static enum exit_code refuse_name(const struct work *work, const struct sizing_wish *wish,
                                  const char *name)
{
    struct nearest nearest;
    const struct network *network = work->site->network;
    nearest_start(&nearest, name);
    for (int i = 0; i < network->link_count; i++) {
        if (sizing_is_part(&network->links[i], wish->part)) {
            nearest_offer(&nearest, network->links[i].name);
        }
    }
    complain(work->request->terminal, "--at: no %s is called '%s'%s",
             wish->part == SIZING_FLYWHEEL ? "pump" : parts[wish->part].what, name,
             nearest_hint(&(struct hint){{0}}, nearest.found, ""));
    return EXIT_CODE_INPUT;
}

static enum exit_code find_part(const struct work *work, struct sizing_wish *wish)
{
    int count = 0;
    const struct network *network = work->site->network;
    const char *name = request_value(work->request, "at", NULL);
    wish->link = sizing_find_part(network, wish->part, &count);
    if (count == 0) {
        complain(work->request->terminal,
                 "--size: the case has no %s; put one in with any size, and it will be changed",
                 wish->part == SIZING_FLYWHEEL ? "pump" : parts[wish->part].what);
        return EXIT_CODE_INPUT;
    }
    if (name) {
        wish->link = network_find_link(network, name);
        return wish->link != NETWORK_NONE && sizing_is_part(&network->links[wish->link], wish->part)
                   ? EXIT_CODE_DONE
                   : refuse_name(work, wish, name);
    }
    if (count > 1) {
        complain(work->request->terminal,
                 "--size: the case has %d of them; say which with --at NAME, such as --at '%s'",
                 count, network->links[wish->link].name);
        return EXIT_CODE_INPUT;
    }
    return EXIT_CODE_DONE;
}

static enum exit_code read_wish(const struct work *work, struct sizing_wish *wish)
{
    struct failure failure = {0};
    const char *name = request_value(work->request, "size", "");
    *wish = (struct sizing_wish){.precision = 0.02};
    for (int i = 0; i < PART_COUNT; i++) {
        if (strcmp(parts[i].name, name) == 0) {
            wish->part = (enum sizing_part)i;
        }
    }
    enum exit_code code = find_part(work, wish);
    if (code != EXIT_CODE_DONE) {
        return code;
    }
    struct units *units = units_new(&failure);
    if (!units) {
        return work_fail(work, &failure);
    }
    code = read_limits(work, units, wish);
    if (code == EXIT_CODE_DONE) {
        code = read_range(work, units, wish);
    }
    units_free(units);
    return code;
}

/* --- telling --- */

enum { FIXED_COLUMNS = 5 };

/* The sizes tried as a sheet. False: memory ended. */
static bool fill_sheet(const struct work *work, struct surge_size *size)
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
        for (int k = 0; k < wish->limit_count; k++) {
            numbers[(FIXED_COLUMNS + (size_t)k) * count + i] = try->value[k];
            numbers[(columns - 1 - (size_t)k) * count + i] = try->band[k];
        }
    }
    struct sheet *sheet = &size->sheet;
    sheet_init(sheet, "/surge/sizing");
    sheet_attribute_text(sheet, "part", work->site->network->links[wish->link].name);
    sheet_attribute_text(sheet, "kind", parts[wish->part].what);
    sheet_attribute_number(sheet, "size", found->size);
    sheet_attribute_number(sheet, "first_size", found->first_size);
    sheet_attribute_number(sheet, "is_confirmed", found->is_confirmed);
    sheet_attribute_number(sheet, "is_monotone", found->is_monotone);
    const int along = sheet_dimension(sheet, "size", count);
    sheet_numbers(
        sheet, (struct field_head){"size", quantity_unit(parts[wish->part].quantity), "size tried"},
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
    for (int k = 0; k < wish->limit_count; k++) {
        const struct measure_words *words = &measures[wish->limits[k].measure];
        sheet_numbers(sheet,
                      (struct field_head){names[k], quantity_unit(words->quantity), words->name},
                      along, numbers + (FIXED_COLUMNS + (size_t)k) * count);
        sheet_numbers(sheet,
                      (struct field_head){bands[k], quantity_unit(words->quantity),
                                          "the value is right within this"},
                      along, numbers + (columns - 1 - (size_t)k) * count);
    }
    return true;
}

/* The limits with the values of the try that confirmed them, and what is open within the bands. */
static void print_confirmation(const struct work *work, const struct surge_size *size)
{
    const struct sizing *found = &size->found;
    const struct part_words *part = &parts[size->wish.part];
    const struct sizing_try *try = sizing_confirmation(found);
    FILE *out = work->terminal.out;
    bool is_narrow = false;
    if (!try) {
        (void)fputs("Judged on one grid only: not confirmed on a finer one.\n", out);
        return;
    }
    if (found->size > found->first_size) {
        (void)fprintf(out, "On one grid %.4g %s would do; finer ones break a limit with it.\n",
                      part->factor * found->first_size, part->unit);
    }
    (void)fprintf(out, "Confirmed on %d grids:", try->grid_count);
    for (int k = 0; k < size->wish.limit_count; k++) {
        const struct sizing_limit *limit = &size->wish.limits[k];
        const struct measure_words *words = &measures[limit->measure];
        const double room = fabs(limit->value - try->value[k]);
        (void)fprintf(out, "%s %s %.*f", k > 0 ? "," : "", words->head, words->decimals + 1,
                      words->factor * try->value[k]);
        if (isfinite(try->band[k])) {
            (void)fprintf(out, " +- %.1g", words->factor * try->band[k]);
        }
        (void)fprintf(out, " %s", words->unit);
        is_narrow = is_narrow || room < try->band[k];
    }
    (void)fputs(".\n", out);
    if (is_narrow) {
        (void)fputs("Within its band (+-) a limit may still be broken: leave room when you state "
                    "the limits.\n",
                    out);
    }
}

static void print_answer(const struct work *work, const struct surge_size *size)
{
    const struct sizing *found = &size->found;
    const struct part_words *words = &parts[size->wish.part];
    FILE *out = work->terminal.out;
    const double factor = words->factor;
    switch (found->ending) {
    case SIZING_FOUND:
        (void)fprintf(out, "The smallest %s that keeps the limits: %.4g %s, to %.0f %%.\n",
                      words->what, factor * found->size, words->unit, 100 * size->wish.precision);
        print_confirmation(work, size);
        break;
    case SIZING_SMALLEST_SUFFICES:
        (void)fprintf(out,
                      "Even the smallest %s tried, %.3g %s, keeps the limits: perhaps none is "
                      "needed.\n",
                      words->what, factor * found->size, words->unit);
        print_confirmation(work, size);
        break;
    case SIZING_NONE_SUFFICES:
        (void)fprintf(out, "No %s up to %.4g %s keeps the limits.\n", words->what,
                      factor * size->wish.largest, words->unit);
        break;
    case SIZING_STOPPED:
        (void)fprintf(out, "The search was stopped.\n");
        break;
    }
    if (!found->is_monotone) {
        (void)fprintf(out,
                      "Some smaller ones also keep them, but not every one between: the limits do "
                      "not follow the size evenly.\n");
    }
    (void)fputc('\n', out);
}

bool surge_size_print(const struct work *work, const struct surge_size *size)
{
    struct column columns[SIZING_LIMIT_MAX + 4] = {{0}};
    const struct sizing_wish *wish = &size->wish;
    const struct part_words *words = &parts[wish->part];
    int count = 0;
    columns[count++] =
        (struct column){words->what, words->unit, wish->part == SIZING_FLYWHEEL ? 4 : 1};
    for (int k = 0; k < wish->limit_count; k++) {
        const struct measure_words *measure = &measures[wish->limits[k].measure];
        columns[count++] = (struct column){measure->head, measure->unit, measure->decimals};
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
            table_number(table, measures[wish->limits[k].measure].factor * try->value[k]);
        }
        table_number(table, try->grid_count);
        table_text(table, try->is_kept                ? "kept"
                          : try->ending != SURGE_DONE ? "no answer"
                          : try->has_run_empty        ? "ran empty"
                                                      : "broken");
    }
    table_print(table, &work->terminal);
    (void)fputc('\n', work->terminal.out);
    print_answer(work, size);
    return true;
}

/* --- the search --- */

static enum exit_code put_in(struct work *work, const struct surge_size *size)
{
    struct failure failure = {0};
    struct link *link = &work->site->network->links[size->wish.link];
    const void *data = sizing_data(link, size->wish.part, size->found.size, work->arena);
    if (!data) {
        (void)fail_memory(&failure, "sizing");
        return work_fail(work, &failure);
    }
    link->data = data;
    return EXIT_CODE_DONE;
}

enum exit_code surge_size_find(struct work *work, enum precision confirm, struct surge_size *size)
{
    struct failure failure = {0};
    struct progress progress;
    struct surge_options options = surge_defaults;
    size->is_wanted = true;
    enum exit_code code = read_wish(work, &size->wish);
    if (code != EXIT_CODE_DONE) {
        return code;
    }
    size->wish.confirm = confirm;
    progress_start(&progress, work->request->terminal, "sizing",
                   request_has(work->request, "quiet"));
    options.progress = progress_tell;
    options.user = &progress;
    const bool is_done = sizing_find(work->site, &size->wish, &options, &size->found, &failure);
    progress_end(&progress);
    if (is_done && !fill_sheet(work, size)) {
        (void)fail_memory(&failure, "sizing");
        return work_fail(work, &failure);
    }
    if (!is_done) {
        return work_fail(work, &failure);
    }
    return isfinite(size->found.size) ? put_in(work, size) : EXIT_CODE_NO_SOLUTION;
}
