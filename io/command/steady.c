#include "io/command/large.h"
#include "io/command/list.h"
#include "io/command/work.h"
#include "io/results/findings_sheet.h"
#include "io/results/steady_sheet.h"
#include "io/results/trade_columns.h"
#include "io/terminal/prose.h"
#include "io/terminal/table.h"

static bool print_tables(const struct work *work, const struct sheet *sheet)
{
    const struct terminal *to = &work->terminal;
    struct arena *arena = work->arena;
    return trade_table(sheet, "Tanks", steady_tank_columns, NULL, to, arena) &&
           trade_table(sheet, "Runs", steady_run_columns, NULL, to, arena) &&
           trade_table(sheet, "Pumps", steady_pump_columns, NULL, to, arena) &&
           trade_table(sheet, "Non-return valves", steady_valve_columns, NULL, to, arena) &&
           trade_table(sheet, "Points", steady_point_columns, "is_named", to, arena);
}

static void print_zones(const struct work *work)
{
    const struct steady *steady = &work->steady;
    const struct network *network = work->site->network;
    struct prose prose;
    for (int zone = 0; zone < steady->zone_count; zone++) {
        int shown = 0;
        prose_answers(&prose, &work->terminal);
        prose_add(&prose,
                  "Zone %d is cut off from every tank and outlet; no pressure is defined in it:",
                  zone + 1);
        for (int i = 0; i < network->point_count && shown < 8; i++) {
            if (steady->zone[i] == zone) {
                prose_add(&prose, " %s", network->points[i].name);
                shown++;
            }
        }
        prose_add(&prose, "%s\n", shown == 8 ? " ..." : "");
    }
}

static void print_certificate(const struct work *work)
{
    const struct steady *steady = &work->steady;
    prose_tell(&work->terminal,
               "Proof: %s after %d linear systems. At every point inflow and outflow agree to "
               "%.2g L/s; along every part head and law agree to %.2g m; every shut or limited "
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
