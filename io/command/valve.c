#include "io/command/command.h"
#include "io/command/list.h"
#include "io/command/page.h"
#include "io/command/patience.h"
#include "io/command/valve_curves.h"
#include "io/door/door.h"
#include "io/nearest.h"
#include "io/plot/slam_figure.h"
#include "io/results/json.h"
#include "io/results/store.h"
#include "models/name.h"

#include <math.h>
#include <stddef.h>
#include <stdlib.h>
#include <string.h>

static const struct option options[] = {
    {"case", 'c', "CASE", NULL, "its own types and its water; without TYPE: all its valves"},
    {"mounting", 'm', "WAY", "up level down", "how the pipe stands: up (the default), level, down"},
    {"swept", 's', "SHARE", NULL,
     "of the water its part sweeps as it shuts, 0 to 1: else as the case states it, or 1"},
    {"picture", 'p', "FILE", NULL, "also draw the curves, to .svg or .png"},
    PATIENCE_OPTION,
    {NULL, 0, NULL, NULL, NULL},
};

/* Water of 10 degC at sea level. */
static const struct water plain_water = {
    .temperature_c = 10.0, .gravity = 9.81, .density = 999.7, .viscosity = 1.31e-6};

/* What is asked, and the valves it is asked of. */
struct work_of_valves {
    const struct request *request;
    struct arena *arena;
    struct faults faults;
    struct site *site; /* of --case; NULL: none */
    double swept;      /* share; below 0: not said */
    double patience;   /* s for the picture */
    int count;
    struct valve_entry *entries; /* [count] */
};

static const struct non_return_type *find_type(const struct request *request, const char *name)
{
    const char *nearest = NULL;
    const struct non_return_type *type = non_return_type_find(name, &nearest);
    if (!type) {
        complain(request->terminal, "no non-return valve is called '%s'%s", name,
                 nearest_hint(&(struct hint){{0}}, nearest, "; 'downsurge catalogue' lists them"));
    }
    return type;
}

/* Bores of own types, m: from a hose to a main. */
static const double bore_least = 0.002;
static const double bore_most = 3.0;

/* "DN50" or "50": m; 0: told. `type` is NULL for a case's own. */
static double read_size(const struct request *request, const char *text,
                        const struct non_return_type *type)
{
    const char *digits =
        strncmp(text, "DN", 2) == 0 || strncmp(text, "dn", 2) == 0 ? text + 2 : text;
    char *end = NULL;
    const double bore = strtod(digits, &end) * 1e-3;
    const double least = type ? type->smallest : bore_least;
    const double most = type ? type->largest : bore_most;
    if (end == digits || *end != '\0' || !(bore >= least - 1e-6) || !(bore <= most + 1e-6)) {
        complain(request->terminal, "size '%s': a '%s' is made from DN%.0f to DN%.0f", text,
                 type ? type->name : "non-return valve", 1e3 * least, 1e3 * most);
        return 0.0;
    }
    return bore;
}

/* Share of the swept water; false: told. */
static bool read_swept(struct work_of_valves *work)
{
    const char *text = request_value(work->request, "swept", NULL);
    char *end = NULL;
    work->swept = text ? strtod(text, &end) : -1.0;
    if (text && (end == text || *end != '\0' || !(work->swept >= 0.0) || !(work->swept <= 1.0))) {
        complain(work->request->terminal, "swept share '%s': a number from 0 to 1 is expected",
                 text);
        return false;
    }
    return true;
}

static enum mounting mounting_of(const struct request *request)
{
    const char *way = request_value(request, "mounting", "up");
    return *way == 'l' ? MOUNTING_LEVEL : *way == 'd' ? MOUNTING_DOWN : MOUNTING_UP;
}

static enum exit_code no_memory(const struct work_of_valves *work)
{
    complain(work->request->terminal, "memory ended while making room for the curves");
    return EXIT_CODE_NO_SOLUTION;
}

static enum exit_code tell_faults(const struct work_of_valves *work)
{
    complain_faults(work->request->terminal, &work->faults);
    return work->faults.memory_ended ? EXIT_CODE_NO_SOLUTION : EXIT_CODE_INPUT;
}

/* Takes a valve with the share of swept water that holds for it. */
static bool take(struct work_of_valves *work, const struct non_return *found,
                 const struct water *water, const char *place)
{
    struct non_return *valve = arena_take(work->arena, 1, sizeof *valve);
    struct valve_entry *entry = &work->entries[work->count];
    if (!valve) {
        return false;
    }
    *valve = *found;
    if (work->swept >= 0.0) {
        valve->own.rotation = work->swept;
    }
    entry->valve = valve;
    entry->water = water;
    (void)snprintf(entry->label, VALVE_LABEL_SIZE, "%.50s%s%.40s DN%.0f", place, *place ? ": " : "",
                   valve->type, 1e3 * valve->bore);
    work->count++;
    return true;
}

/* --- from the words of the command line --- */

static enum exit_code take_built_in(struct work_of_valves *work, const char *name, const char *size)
{
    const struct non_return_type *type = find_type(work->request, name);
    const double bore = type ? read_size(work->request, size, type) : 0.0;
    struct non_return valve;
    if (!(bore > 0.0)) {
        return EXIT_CODE_INPUT;
    }
    non_return_make(type, bore, mounting_of(work->request), &plain_water, &valve);
    return take(work, &valve, &plain_water, "") ? EXIT_CODE_DONE : no_memory(work);
}

static enum exit_code take_of_case(struct work_of_valves *work, const char *name, const char *size)
{
    const struct place asked = {.file = work->site->path, .line = 1, .column = 1};
    const struct non_return *valve = NULL;
    const double bore = read_size(work->request, size, non_return_type_find(name, NULL));
    if (!(bore > 0.0)) {
        return EXIT_CODE_INPUT;
    }
    if (!read_valve_of_case(work->site, name, bore, mounting_of(work->request), asked, work->arena,
                            &valve, &work->faults)) {
        return tell_faults(work);
    }
    return take(work, valve, &work->site->water, "") ? EXIT_CODE_DONE : no_memory(work);
}

static enum exit_code take_named(struct work_of_valves *work)
{
    const struct request *request = work->request;
    enum exit_code code = EXIT_CODE_DONE;
    if (request->operand_count % 2 != 0) {
        complain(request->terminal, "valve '%s': its size is missing, such as DN50",
                 request->operands[request->operand_count - 1]);
        return EXIT_CODE_INPUT;
    }
    if (request->operand_count == 0) {
        complain(request->terminal,
                 "valve wants a TYPE and its SIZE, such as 'swing flap' DN50, or "
                 "--case CASE for the valves of a case");
        return EXIT_CODE_INPUT;
    }
    for (int i = 0; code == EXIT_CODE_DONE && i < request->operand_count; i += 2) {
        const char *name = request->operands[i];
        const char *size = request->operands[i + 1];
        code = work->site ? take_of_case(work, name, size) : take_built_in(work, name, size);
    }
    return code;
}

/* --- as they stand in the case --- */

static enum exit_code take_placed(struct work_of_valves *work)
{
    const struct site *site = work->site;
    for (int i = 0; i < site->valve_count; i++) {
        const struct link *link = &site->network->links[site->valves[i].link];
        if (link->element == &non_return_element &&
            !take(work, link->data, &site->water, link->name)) {
            return no_memory(work);
        }
    }
    if (work->count == 0) {
        complain(work->request->terminal,
                 "%s: it has no non-return valve; name a TYPE and its SIZE", site->path);
        return EXIT_CODE_INPUT;
    }
    return EXIT_CODE_DONE;
}

static enum exit_code gather(struct work_of_valves *work)
{
    const char *path = request_value(work->request, "case", NULL);
    faults_init(&work->faults, work->arena);
    if (!read_swept(work) || !patience_read(work->request, &work->patience)) {
        return EXIT_CODE_INPUT;
    }
    if (path && !read_site(path, work->arena, &work->site, &work->faults)) {
        return tell_faults(work);
    }
    const int most = work->site && work->request->operand_count == 0 ? work->site->valve_count
                                                                     : OPERAND_COUNT_MAX / 2;
    work->entries = arena_take(work->arena, (size_t)most, sizeof *work->entries);
    if (!work->entries) {
        return no_memory(work);
    }
    return work->site && work->request->operand_count == 0 ? take_placed(work) : take_named(work);
}

/* --- telling --- */

static bool draw(const struct work_of_valves *work, const struct sheet *sheet,
                 struct failure *failure)
{
    const struct request *request = work->request;
    const char *path = request_value(request, "picture", NULL);
    bool has_makers = false;
    if (!path) {
        return true;
    }
    struct bench bench;
    const size_t length = strlen(path);
    const char *form = length > 4 && strcmp(path + length - 4, ".png") == 0 ? "png" : "svg";
    bool is_good = bench_open(&bench, work->patience, failure) &&
                   slam_figure_write(sheet, &bench, &has_makers, failure);
    const char *const words[] = {"curves",
                                 "picture",
                                 form,
                                 "Velocity backward as the valve shuts",
                                 has_makers ? "makers" : NULL,
                                 NULL};
    is_good = is_good && bench_plot(&bench, "slam.gp", words, "picture", path, failure);
    bench_close(&bench);
    return is_good;
}

static bool store(const struct request *request, const struct sheet *sheet, struct failure *failure)
{
    const char *path = request_value(request, "output", NULL);
    if (!path) {
        return true;
    }
    struct store *file = store_new(path, failure);
    const bool is_good = file && store_sheet(file, sheet, failure) && store_finish(file, failure);
    store_free(file);
    return is_good;
}

static enum exit_code tell(const struct work_of_valves *work)
{
    const struct request *request = work->request;
    struct failure failure = {0};
    struct sheet sheet;
    struct json json;
    if (!valve_curves_fill(work->count, work->entries, &sheet, work->arena)) {
        return no_memory(work);
    }
    if (request_has(request, "json")) {
        json_start(&json, request->terminal->out);
        json_open_object(&json);
        json_key(&json, "valve");
        json_sheet(&json, &sheet);
        json_close_object(&json);
    } else if (!request_has(request, "quiet") &&
               !valve_curves_print(work->count, work->entries, &sheet, request->terminal,
                                   work->arena)) {
        return no_memory(work);
    }
    if (!store(request, &sheet, &failure) || !draw(work, &sheet, &failure)) {
        complain_failure(request->terminal, &failure);
        return exit_code_of(&failure);
    }
    return EXIT_CODE_DONE;
}

static enum exit_code run(const struct request *request)
{
    struct work_of_valves work = {.request = request, .arena = arena_new()};
    if (!work.arena) {
        return no_memory(&work);
    }
    enum exit_code code = gather(&work);
    if (code == EXIT_CODE_DONE) {
        code = tell(&work);
    }
    arena_free(work.arena);
    return code;
}

const struct command command_valve = {
    .name = "valve",
    .operands = "[TYPE] [SIZE] [TYPE] [SIZE]",
    .summary = "How fast the water runs backward as a non-return valve shuts",
    .details =
        "For a row of decelerations of the water, by the valve's own motion, for one valve\n"
        "or two to compare, or with --case for every valve of a case with the numbers it\n"
        "states; where it states a maker's curve ('slam deceleration', 'slam velocity'), that\n"
        "stands beside the computed one. Whatever the site: a surge run tells which\n"
        "deceleration it has.\n"
        "The part pushes the water it sweeps out through its own gap as it shuts; surge\n"
        "and choose reckon with that too, by the case's 'swept share' (1 if not said).",
    .example = "  downsurge valve 'swing flap' DN50 'spring disc' DN50 --picture slam.svg\n"
               "  downsurge valve --case site.yaml 'my flap' DN50 'swing flap' DN50\n"
               "  downsurge valve --case site.yaml --output valves.h5",
    .options = options,
    .run = run,
};
