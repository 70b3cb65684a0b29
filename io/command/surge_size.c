#include "io/command/surge_size.h"

#include "io/door/plausible.h"
#include "io/door/units.h"
#include "io/nearest.h"
#include "io/terminal/progress.h"

#include <math.h>
#include <string.h>

enum { TEXT_SIZE = 120, MESSAGE_SIZE = 320 };

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
                          const char *text, double *value, char message[MESSAGE_SIZE])
{
    /* The one length that is asked for is a bore. */
    const enum plausible kind =
        quantity == QUANTITY_LENGTH ? PLAUSIBLE_BORE : PLAUSIBLE_BY_QUANTITY;
    struct amount amount = {.value = value};
    if (!units_read(units, quantity, text, 1, &amount, MESSAGE_SIZE, message)) {
        return false;
    }
    if (amount.is_pressure) {
        *value = water_head(&work->site->water, *value);
    }
    return plausible_option(text, plausible_of(kind, quantity), *value, MESSAGE_SIZE, message);
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

static enum exit_code refuse_run(const struct work *work, const char *name)
{
    struct nearest nearest;
    const struct network *network = work->site->network;
    nearest_start(&nearest, name);
    for (int i = 0; i < network->run_count; i++) {
        nearest_offer(&nearest, network->runs[i].name);
    }
    complain(
        work->request->terminal,
        "--limit: '%s': no run is called so%s A limit holds along a whole run: to hold a part of "
        "one to its own, end the run at a point there",
        name, nearest_hint(&(struct hint){{0}}, nearest.found, "."));
    return EXIT_CODE_INPUT;
}

/* One limit: a measure, its value, and perhaps "in" and a run. */
static enum exit_code read_limit(const struct work *work, struct units *units, const char *piece,
                                 struct sizing_limit *limit)
{
    char name[TEXT_SIZE];
    char value[TEXT_SIZE];
    char message[MESSAGE_SIZE];
    const size_t length = strcspn(piece, " ");
    const char *place = strstr(piece + length, " in ");
    copy_trimmed(name, piece, length);
    copy_trimmed(value, piece + length,
                 place ? (size_t)(place - piece) - length : strlen(piece + length));
    int measure = 0;
    while (measure < SIZE_MEASURE_COUNT && strcmp(size_measures[measure].name, name) != 0) {
        measure++;
    }
    if (measure == SIZE_MEASURE_COUNT) {
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
            return refuse_run(work, name);
        }
    }
    const char *said = value[0] == '\0' && size_measures[measure].otherwise
                           ? size_measures[measure].otherwise
                           : value;
    if (!read_quantity(work, units, size_measures[measure].quantity, said, &limit->value,
                       message)) {
        return refuse(work, "limit", piece, message);
    }
    if (limit->measure == SIZING_CLASS && !(limit->value > 0)) {
        return refuse(work, "limit", piece,
                      "a share of the class is above 0, such as 'class 80 %'");
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
    char message[MESSAGE_SIZE];
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
        if (!read_quantity(work, units, size_parts[wish->part].quantity, piece, ends[i], message)) {
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
             wish->part == SIZING_FLYWHEEL ? "pump" : size_parts[wish->part].what, name,
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
                 "--size: the case has no %s; put one in with any size, and it will be changed; %s",
                 wish->part == SIZING_FLYWHEEL ? "pump" : size_parts[wish->part].what,
                 size_parts[wish->part].how);
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
    for (int i = 0; i < SIZE_PART_COUNT; i++) {
        if (strcmp(size_parts[i].name, name) == 0) {
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
    if (is_done && !surge_size_fill(work, size)) {
        (void)fail_memory(&failure, "sizing");
        return work_fail(work, &failure);
    }
    if (!is_done) {
        return work_fail(work, &failure);
    }
    return isfinite(size->found.size) ? put_in(work, size) : EXIT_CODE_NO_SOLUTION;
}
