#include "io/command/large.h"
#include "io/command/list.h"
#include "io/command/work.h"
#include "io/results/findings_sheet.h"
#include "io/results/steady_sheet.h"
#include "io/results/trade_table.h"
#include "io/terminal/table.h"

static const struct trade_column tank_columns[] = {
    {"tank", "tank", "", 1.0, TABLE_TEXT},
    {"tank_level", "level", "m", 1.0, 2},
    {"tank_inflow", "net inflow", "L/s", 1e3, 3},
    {"tank_inflow", "", "m3/h", 3600.0, 2},
    {NULL, NULL, NULL, 0.0, 0},
};

static const struct trade_column run_columns[] = {
    {"run", "run", "", 1.0, TABLE_TEXT},      {"run_from", "from", "", 1.0, TABLE_TEXT},
    {"run_to", "to", "", 1.0, TABLE_TEXT},    {"run_flow", "flow", "L/s", 1e3, 3},
    {"run_flow", "", "m3/h", 3600.0, 2},      {"run_velocity", "fastest pipe", "m/s", 1.0, 2},
    {"run_rise", "head gained", "m", 1.0, 2}, {NULL, NULL, NULL, 0.0, 0},
};

static const struct trade_column pump_columns[] = {
    {"pump", "pump", "", 1.0, TABLE_TEXT},
    {"pump_flow", "flow", "L/s", 1e3, 3},
    {"pump_head", "head", "m", 1.0, 2},
    {"pump_power", "shaft power", "kW", 1e-3, 3},
    {"npsh_available", "NPSH there", "m", 1.0, 2},
    {"npsh_required", "required", "m", 1.0, 2},
    {"npsh_margin", "margin", "m", 1.0, 2},
    {NULL, NULL, NULL, 0.0, 0},
};

static const struct trade_column valve_columns[] = {
    {"valve", "non-return valve", "", 1.0, TABLE_TEXT},
    {"valve_type", "type", "", 1.0, TABLE_TEXT},
    {"valve_flow", "flow", "L/s", 1e3, 3},
    {"valve_velocity", "velocity", "m/s", 1.0, 2},
    {"valve_head", "head taken", "m", 1.0, 3},
    {"valve_opening", "open", "%", 100.0, 0},
    {NULL, NULL, NULL, 0.0, 0},
};

static const struct trade_column point_columns[] = {
    {"point", "point", "", 1.0, TABLE_TEXT}, {"elevation", "elevation", "m", 1.0, 2},
    {"head", "head", "m", 1.0, 2},           {"pressure", "pressure", "bar", 1e-5, 3},
    {"draw", "drawn off", "L/s", 1e3, 3},    {NULL, NULL, NULL, 0.0, 0},
};

static bool print_tables(const struct work *work, const struct sheet *sheet)
{
    const struct terminal *to = &work->terminal;
    struct arena *arena = work->arena;
    return trade_table(sheet, "Tanks", tank_columns, NULL, to, arena) &&
           trade_table(sheet, "Runs", run_columns, NULL, to, arena) &&
           trade_table(sheet, "Pumps", pump_columns, NULL, to, arena) &&
           trade_table(sheet, "Non-return valves", valve_columns, NULL, to, arena) &&
           trade_table(sheet, "Points", point_columns, "is_named", to, arena);
}

static void print_zones(const struct work *work)
{
    const struct steady *steady = &work->steady;
    const struct network *network = work->site->network;
    for (int zone = 0; zone < steady->zone_count; zone++) {
        int shown = 0;
        (void)fprintf(
            work->terminal.out,
            "Zone %d is cut off from every tank and outlet; no pressure is defined in it:",
            zone + 1);
        for (int i = 0; i < network->point_count && shown < 8; i++) {
            if (steady->zone[i] == zone) {
                (void)fprintf(work->terminal.out, " %s", network->points[i].name);
                shown++;
            }
        }
        (void)fputs(shown == 8 ? " ...\n" : "\n", work->terminal.out);
    }
}

static void print_certificate(const struct work *work)
{
    const struct steady *steady = &work->steady;
    (void)fprintf(work->terminal.out,
                  "Proof: %s after %d linear systems. At every point inflow and outflow agree to "
                  "%.2g L/s;\nalong every part head and law agree to %.2g m; every shut or limited "
                  "part is on its right side to %.2g m.\n\n",
                  steady_ending_text(steady->ending), steady->steps, 1e3 * steady->mass_residual,
                  steady->energy_residual, steady->complementarity);
}

static enum exit_code print_text(const struct work *work)
{
    struct failure failure = {0};
    struct sheet sheet;
    if (!steady_sheet(work->site, &work->steady, &sheet, work->arena, &failure)) {
        return work_fail(work, &failure);
    }
    (void)fprintf(work->terminal.out, "%s: steady flow, water at %.1f degC\n\n",
                  work->site->name ? work->site->name : "Site", work->site->water.temperature_c);
    if (!print_tables(work, &sheet)) {
        (void)fail_memory(&failure, "the tables");
        return work_fail(work, &failure);
    }
    large_print(work->site, &work->steady, &work->terminal);
    print_zones(work);
    print_certificate(work);
    findings_print(&work->findings, &work->terminal);
    return EXIT_CODE_DONE;
}

static enum exit_code print_json(const struct work *work)
{
    struct failure failure = {0};
    struct json json;
    struct sheet sheet;
    work_json(work, &json);
    bool is_good = steady_sheet(work->site, &work->steady, &sheet, work->arena, &failure);
    if (is_good) {
        json_key(&json, "steady");
        json_sheet(&json, &sheet);
        is_good =
            findings_sheet(&work->findings, "/steady/findings", &sheet, work->arena, &failure);
    }
    if (is_good) {
        json_key(&json, "findings");
        json_sheet(&json, &sheet);
    }
    json_close_object(&json);
    return is_good ? EXIT_CODE_DONE : work_fail(work, &failure);
}

static enum exit_code solve(struct work *work)
{
    enum exit_code code = work_steady(work);
    if (code != EXIT_CODE_DONE) {
        return code;
    }
    if (request_has(work->request, "output")) {
        struct store *store = work_store(work);
        code = store ? work_write(work, store) : EXIT_CODE_FILE;
    }
    if (code == EXIT_CODE_DONE) {
        code = request_has(work->request, "json") ? print_json(work) : print_text(work);
    }
    return code == EXIT_CODE_DONE ? work_verdict(work, false) : code;
}

static enum exit_code run(const struct request *request)
{
    return work_run(request, solve);
}

const struct command command_steady = {
    .name = "steady",
    .operands = "CASE",
    .summary = "Flows, heads, duty points, suction and what is to be said of them",
    .details = NULL,
    .example =
        "  downsurge steady site.yaml\n  downsurge steady site.yaml --output site.h5 --quiet",
    .options = NULL,
    .run = run,
};
