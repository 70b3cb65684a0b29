#include "io/command/command.h"
#include "io/command/list.h"
#include "io/command/page.h"
#include "io/nearest.h"
#include "io/plot/gnuplot.h"
#include "io/results/json.h"
#include "io/results/store.h"
#include "io/results/trade_table.h"
#include "io/terminal/table.h"
#include "models/name.h"
#include "solver/slam/characteristic.h"

#include <errno.h>
#include <math.h>
#include <stddef.h>
#include <stdlib.h>
#include <string.h>

enum { VALVES_MOST = OPERAND_COUNT_MAX / 2, LABEL_SIZE = 80 };

static const struct option options[] = {
    {"mounting", 'm', "WAY", "up level down", "how the pipe stands: up (the default), level, down"},
    {"swept", 's', "SHARE", NULL, "of the water its part sweeps as it shuts: 1 (the default) to 0"},
    {"picture", 'p', "FILE", NULL, "also draw the curves, to .svg or .png"},
    {NULL, 0, NULL, NULL, NULL},
};

/* Water of 10 degC at sea level. */
static const struct water water = {
    .temperature_c = 10.0, .gravity = 9.81, .density = 999.7, .viscosity = 1.31e-6};

/* The curves, one row for each valve and deceleration. */
struct curves {
    int valve_count;
    int count;                           /* rows */
    char label[VALVES_MOST][LABEL_SIZE]; /* "swing flap DN50" */
    const char **name;                   /* [count] */
    double *column;                      /* [COLUMNS][count] */
};

enum { DECELERATION, REVERSE, BAND, SEAT_SPEED, PLAIN_DECELERATION, PLAIN_REVERSE, COLUMNS };

static const struct field_head heads[COLUMNS] = {
    {"deceleration", "m s-2", "at which the water in its bore slows"},
    {"reverse_velocity", "m s-1", "backward in its bore as it meets its seat"},
    {"reverse_velocity_band", "m s-1", "difference from the step twice as long"},
    {"seat_speed", "m s-1", "of the middle of the moving part then"},
    {"plain_deceleration", "1", "deceleration x bore / v_0^2, v_0 holds it fully open"},
    {"plain_reverse_velocity", "1", "reverse velocity / v_0"},
};

static const struct trade_column columns[] = {
    {"row_valve", "non-return valve", "", 1.0, TABLE_TEXT},
    {"deceleration", "slowing", "m/s2", 1.0, 1},
    {"reverse_velocity", "reverse velocity", "m/s", 1.0, 4},
    {"reverse_velocity_band", "+-", "m/s", 1.0, 4},
    {"seat_speed", "part at its seat", "m/s", 1.0, 3},
    {"plain_deceleration", "D/v0^2 dv/dt", "", 1.0, 4},
    {"plain_reverse_velocity", "vR/v0", "", 1.0, 4},
    {NULL, NULL, NULL, 0.0, 0},
};

static const struct non_return_type *find_type(const struct request *request, const char *name)
{
    const char *nearest = NULL;
    const struct non_return_type *type = non_return_type_find(name, &nearest);
    if (!type) {
        complain(request->terminal, "no non-return valve is called '%s'; did you mean '%s'?", name,
                 nearest);
    }
    return type;
}

/* "DN50" or "50": m; 0: told. */
static double read_size(const struct request *request, const char *text,
                        const struct non_return_type *type)
{
    const char *digits =
        strncmp(text, "DN", 2) == 0 || strncmp(text, "dn", 2) == 0 ? text + 2 : text;
    char *end = NULL;
    const double bore = strtod(digits, &end) * 1e-3;
    if (end == digits || *end != '\0' || !(bore >= type->smallest - 1e-6) ||
        !(bore <= type->largest + 1e-6)) {
        complain(request->terminal, "size '%s': a '%s' is made from DN%.0f to DN%.0f", text,
                 type->name, 1e3 * type->smallest, 1e3 * type->largest);
        return 0.0;
    }
    return bore;
}

/* Share of the swept water, below 0: told. */
static double read_swept(const struct request *request)
{
    const char *text = request_value(request, "swept", "1");
    char *end = NULL;
    const double share = strtod(text, &end);
    if (end == text || *end != '\0' || !(share >= 0.0) || !(share <= 1.0)) {
        complain(request->terminal, "swept share '%s': a number from 0 to 1 is expected", text);
        return -1.0;
    }
    return share;
}

static enum mounting mounting_of(const struct request *request)
{
    const char *way = request_value(request, "mounting", "up");
    return *way == 'l' ? MOUNTING_LEVEL : *way == 'd' ? MOUNTING_DOWN : MOUNTING_UP;
}

static void fill_row(struct curves *curves, int row, const char *label,
                     const struct slam_point *point)
{
    const double values[COLUMNS] = {
        point->deceleration,       point->reverse,      point->band, point->seat_speed,
        point->plain_deceleration, point->plain_reverse};
    curves->name[row] = label;
    for (int i = 0; i < COLUMNS; i++) {
        curves->column[(ptrdiff_t)i * curves->count + row] = values[i];
    }
}

/* False: told. */
static bool work_out(const struct request *request, struct arena *arena, struct curves *curves)
{
    const int points = slam_row_count();
    const double swept = read_swept(request);
    if (!(swept >= 0.0)) {
        return false;
    }
    curves->valve_count = request->operand_count / 2;
    curves->count = curves->valve_count * points;
    curves->name = arena_take(arena, (size_t)curves->count, sizeof *curves->name);
    curves->column = arena_take(arena, (size_t)curves->count * COLUMNS, sizeof(double));
    if (!curves->name || !curves->column) {
        complain(request->terminal, "memory ended while making room for the curves");
        return false;
    }
    for (int i = 0; i < curves->valve_count; i++) {
        const struct non_return_type *type =
            find_type(request, request->operands[2 * (ptrdiff_t)i]);
        const double bore = type ? read_size(request, request->operands[2 * i + 1], type) : 0.0;
        struct non_return valve;
        if (!(bore > 0.0)) {
            return false;
        }
        non_return_make(type, bore, mounting_of(request), &water, &valve);
        valve.own.rotation = swept;
        (void)snprintf(curves->label[i], LABEL_SIZE, "%.60s DN%.0f", type->name, 1e3 * bore);
        for (int j = 0; j < points; j++) {
            const struct slam_point point = slam_point_at(&valve, &water, slam_row_at(j));
            fill_row(curves, i * points + j, curves->label[i], &point);
        }
    }
    return true;
}

static void fill_sheet(const struct curves *curves, struct sheet *sheet)
{
    sheet_init(sheet, "/valve");
    const int along = sheet_dimension(sheet, "row_valve", (size_t)curves->count);
    sheet_texts(sheet, (struct field_head){"row_valve", "1", "the non-return valve of the row"},
                along, curves->name);
    for (int i = 0; i < COLUMNS; i++) {
        sheet_numbers(sheet, heads[i], along, curves->column + (ptrdiff_t)i * curves->count);
    }
}

/* Blocks for gnuplot, two empty lines between valves. */
static bool write_data(const struct curves *curves, struct bench *bench, struct failure *failure)
{
    FILE *file = bench_file(bench, "curves", failure);
    if (!file) {
        return false;
    }
    const struct place nowhere = {0};
    const int points = curves->count / curves->valve_count;
    for (int i = 0; i < curves->count; i++) {
        if (i % points == 0) {
            (void)fprintf(file, "%s\"%s\"\n", i > 0 ? "\n\n" : "", curves->name[i]);
        }
        for (int k = 0; k < COLUMNS; k++) {
            (void)fprintf(file, "%.9g ", curves->column[(ptrdiff_t)k * curves->count + i]);
        }
        (void)fputc('\n', file);
    }
    return fclose(file) == 0 ||
           fail(failure, FAILURE_FILE, nowhere, "the picture's data: %s", strerror(errno));
}

static bool draw(const struct request *request, const struct curves *curves,
                 struct failure *failure)
{
    const char *path = request_value(request, "picture", NULL);
    if (!path) {
        return true;
    }
    struct bench bench;
    const size_t length = strlen(path);
    const char *form = length > 4 && strcmp(path + length - 4, ".png") == 0 ? "png" : "svg";
    const char *const words[] = {"curves", "picture", form, "Velocity backward as the valve shuts",
                                 NULL};
    bool is_good = bench_open(&bench, failure) && write_data(curves, &bench, failure) &&
                   bench_plot(&bench, "slam.gp", words, "picture", path, failure);
    bench_close(&bench);
    return is_good;
}

static bool store(const struct request *request, const struct sheet *sheet, struct failure *failure)
{
    const char *path = request_value(request, "output", NULL);
    if (!path) {
        return true;
    }
    struct store *file = store_new(failure);
    const bool is_good =
        file && store_sheet(file, sheet, failure) && store_finish(file, path, failure);
    store_free(file);
    return is_good;
}

static enum exit_code tell(const struct request *request, const struct curves *curves,
                           struct arena *arena)
{
    struct failure failure = {0};
    struct sheet sheet;
    struct json json;
    fill_sheet(curves, &sheet);
    if (request_has(request, "json")) {
        json_start(&json, request->terminal->out);
        json_open_object(&json);
        json_key(&json, "valve");
        json_sheet(&json, &sheet);
        json_close_object(&json);
    } else if (!request_has(request, "quiet")) {
        if (!trade_table(&sheet, "Velocity backward as the valve shuts, water slowing evenly",
                         columns, NULL, request->terminal, arena)) {
            complain(request->terminal, "memory ended while making room for the curves");
            return EXIT_CODE_NO_SOLUTION;
        }
        (void)fputs("Computed from the catalogue's mass, spring and travel, most of them "
                    "placeholders; not measured.\n",
                    request->terminal->out);
    }
    if (!store(request, &sheet, &failure) || !draw(request, curves, &failure)) {
        complain_failure(request->terminal, &failure);
        return exit_code_of(&failure);
    }
    return EXIT_CODE_DONE;
}

static enum exit_code run(const struct request *request)
{
    struct curves curves;
    if (request->operand_count % 2 != 0) {
        complain(request->terminal, "valve '%s': its size is missing, such as DN50",
                 request->operands[request->operand_count - 1]);
        return EXIT_CODE_INPUT;
    }
    struct arena *arena = arena_new();
    enum exit_code code = EXIT_CODE_NO_SOLUTION;
    if (!arena) {
        complain(request->terminal, "memory ended while making room for the curves");
    } else if (work_out(request, arena, &curves)) {
        code = tell(request, &curves, arena);
    } else {
        code = EXIT_CODE_INPUT;
    }
    arena_free(arena);
    return code;
}

const struct command command_valve = {
    .name = "valve",
    .operands = "TYPE SIZE [TYPE] [SIZE]",
    .summary = "How fast the water runs backward as a non-return valve shuts",
    .details =
        "For a row of decelerations of the water, by the valve's own motion, for one valve\n"
        "or two to compare. Whatever the site: a surge run tells which deceleration it has.\n"
        "The part pushes the water it sweeps out through its own gap as it shuts; a surge run\n"
        "reckons with that where the case says 'swept share'.",
    .example = "  downsurge valve 'swing flap' DN50 'spring disc' DN50 --picture slam.svg",
    .options = options,
    .run = run,
};
