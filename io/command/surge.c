#include "io/command/list.h"
#include "io/command/surge_size.h"
#include "io/command/work.h"
#include "io/results/cavities_sheet.h"
#include "io/results/findings_sheet.h"
#include "io/results/surge_sheet.h"
#include "io/results/trade_table.h"
#include "io/terminal/progress.h"
#include "io/terminal/table.h"
#include "solver/surge/precision.h"

#include <math.h>

static const struct trade_column run_columns[] = {
    {"run", "run", "", 1.0, TABLE_TEXT},
    {"run_highest", "highest", "m", 1.0, 1},
    {"run_highest_band", "+-", "m", 1.0, 1},
    {"run_highest_at", "at", "m along", 1.0, 1},
    {"run_allowed", "class allows", "m", 1.0, 1},
    {"run_highest_share", "of class", "%", 100.0, 0},
    {"run_lowest", "lowest", "m", 1.0, 1},
    {"run_lowest_band", "+-", "m", 1.0, 1},
    {"run_lowest_at", "at", "m along", 1.0, 1},
    {"run_lowest_margin", "above boiling", "m", 1.0, 1},
    {NULL, NULL, NULL, 0.0, 0},
};

static const struct trade_column valve_columns[] = {
    {"valve", "non-return valve", "", 1.0, TABLE_TEXT},
    {"valve_type", "type", "", 1.0, TABLE_TEXT},
    {"shut_time", "shut at", "s", 1.0, 3},
    {"deceleration", "slowing", "m/s2", 1.0, 2},
    {"first_reverse_velocity", "first reverse", "m/s", 1.0, 3},
    {"first_reverse_velocity_band", "+-", "m/s", 1.0, 3},
    {"reverse_velocity", "hardest reverse", "m/s", 1.0, 3},
    {"reverse_velocity_band", "+-", "m/s", 1.0, 3},
    {"slam_head", "slam", "m", 1.0, 1},
    {"slam_head_band", "+-", "m", 1.0, 1},
    {"shuts", "met its seat", "times", 1.0, 0},
    {"opening_end", "open at end", "%", 100.0, 0},
    {NULL, NULL, NULL, 0.0, 0},
};

static const struct trade_column vessel_columns[] = {
    {"vessel", "air vessel", "", 1.0, TABLE_TEXT},
    {"vessel_volume", "volume", "L", 1e3, 0},
    {"vessel_gas_start", "gas at start", "L", 1e3, 1},
    {"vessel_gas_min", "least", "L", 1e3, 1},
    {"vessel_gas_max", "most", "L", 1e3, 1},
    {"vessel_pressure_min", "pressure lowest", "m", 1.0, 1},
    {"vessel_pressure_max", "highest", "m", 1.0, 1},
    {"vessel_empty_time", "empty at", "s", 1.0, 2},
    {NULL, NULL, NULL, 0.0, 0},
};

static const struct trade_column air_valve_columns[] = {
    {"air_valve", "air valve", "", 1.0, TABLE_TEXT},
    {"air_open_time", "opened at", "s", 1.0, 2},
    {"air_volume_max", "most air", "L", 1e3, 2},
    {"air_mass_max", "of mass", "g", 1e3, 2},
    {"air_mass_end", "at end", "g", 1e3, 2},
    {"air_shuts", "let it all out", "times", 1.0, 0},
    {NULL, NULL, NULL, 0.0, 0},
};

/* Vacuum over that at which the ideal wall buckles: a wall out of round or soft with time bears
 * less, so half is the most (safety of 2, common practice). */
static const double buckling_share = 0.5;

static void print_events(const struct work *work)
{
    const struct surge_plan *plan = &work->site->surge;
    FILE *out = work->terminal.out;
    for (int i = 0; i < plan->event_count; i++) {
        const struct surge_event *event = &plan->events[i];
        const char *name = work->site->network->links[event->link].name;
        if (event->kind == SURGE_EVENT_STOP) {
            (void)fprintf(out, "  %.2f s: %s loses its power\n", event->at, name);
        } else {
            (void)fprintf(out, "  %.2f s: %s goes to %.3g in %.2f s\n", event->at, name,
                          event->value, event->ramp);
        }
    }
    (void)fputc('\n', out);
}

static void print_pumps(const struct work *work, const struct surge *surge)
{
    int count = work->site->pump_place_count;
    FILE *out = work->terminal.out;
    for (int i = 0; i < count && surge->time_count > 0; i++) {
        const double *speed = surge->speed + i;
        double first = speed[0];
        double last = speed[(ptrdiff_t)(surge->time_count - 1) * count];
        double lowest = first;
        for (int at = 0; at < surge->time_count; at++) {
            lowest = fmin(lowest, speed[(ptrdiff_t)at * count]);
        }
        (void)fprintf(out, "Pump %s: speed %.0f %% of rated at the start, %.0f %% at the end%s.\n",
                      work->site->network->links[work->site->pump_places[i].link].name,
                      100.0 * first, 100.0 * last,
                      lowest < -0.01 ? "; on the way it turned backward" : "");
    }
}

/* What makers' curves say, where a case gives them: they rule over what was computed. */
static void print_curves(const struct work *work, const struct surge *surge)
{
    for (int i = 0; i < surge->valve_count; i++) {
        const struct surge_valve *valve = &surge->valves[i];
        if (isfinite(valve->stated_reverse_velocity)) {
            (void)fprintf(work->terminal.out,
                          "Valve %s: by its maker's curve %.3f m/s backward at %.2f m/s2, slam "
                          "%.1f m; this rules over the computed %.3f m/s.\n",
                          work->site->network->links[valve->link].name,
                          valve->stated_reverse_velocity, valve->deceleration,
                          valve->stated_slam_head, valve->first_reverse_velocity);
        }
    }
}

/* How far the run is from what was measured, by the sheet, which compared them. */
static void print_measured(const struct work *work, const struct sheet *sheet)
{
    const struct attribute *gauge = sheet_find_attribute(sheet, "measured_gauge");
    if (!gauge) {
        return;
    }
    FILE *out = work->terminal.out;
    const double count = sheet_find_attribute(sheet, "measured_compared")->number;
    if (!(count > 0.0)) {
        (void)fprintf(out, "Measured at %s: no instant of it lies within the run.\n", gauge->text);
        return;
    }
    (void)fprintf(out,
                  "Measured at %s, %.0f instants: the run differs by at most %.3g m (%.3f s), by "
                  "%.3g m root mean square.\n",
                  gauge->text, count,
                  fabs(sheet_find_attribute(sheet, "measured_difference")->number),
                  sheet_find_attribute(sheet, "measured_difference_time")->number,
                  sheet_find_attribute(sheet, "measured_difference_rms")->number);
}

/* How hard, where and when a cavity shut. */
static void print_collapse(const struct work *work, const struct surge_collapse *collapse,
                           const char *place)
{
    FILE *out = work->terminal.out;
    if (collapse->count == 0) {
        (void)fputs("      none of them shut before the run ended: run it for longer\n", out);
        return;
    }
    (void)fprintf(out,
                  "      and shut again with a blow, and pressures after that are uncertain\n"
                  "      the hardest blow: %.1f m",
                  collapse->pressure);
    if (isfinite(collapse->band)) {
        (void)fprintf(out, " +- %.1f m", collapse->band);
    }
    (void)fprintf(out, " over the pipe at %s", place);
    if (isfinite(collapse->distance)) {
        (void)fprintf(out, ", %.1f m along it", collapse->distance);
    }
    (void)fprintf(out,
                  ", %.3f s into the run; the cavity there had shut at %.3f s\n      (the highest "
                  "within %.3g s, a wave's way there and back, of one of %d shuttings)\n",
                  collapse->time, collapse->shut_time, collapse->window, collapse->count);
}

static void print_boiling(const struct work *work, const struct surge *surge)
{
    const struct terminal *to = &work->terminal;
    terminal_say(to, TONE_ERROR, "exceeded");
    (void)fprintf(to->out, ": the water boils, first %.3f s into the run at %s", surge->vapour_time,
                  surge_vapour_place(work->site->network, surge));
    if (isfinite(surge->vapour_distance)) {
        (void)fprintf(to->out, ", %.1f m along it", surge->vapour_distance);
    }
    (void)fprintf(to->out, "; cavities of up to %.3g L open", 1e3 * surge->largest_cavity);
    if (isfinite(surge->largest_time)) {
        (void)fprintf(to->out, " (%.3f s, %s)", surge->largest_time,
                      surge_largest_place(work->site->network, surge));
    }
    (void)fputc('\n', to->out);
    print_collapse(work, &surge->collapse, surge_collapse_place(work->site->network, surge));
}

/* Warns of what the tables only show. */
static void print_warnings(const struct work *work, const struct surge *surge,
                           const struct sheet *sheet)
{
    const struct field *name = sheet_find(sheet, "run");
    const struct field *share = sheet_find(sheet, "run_highest_share");
    const struct field *vacuum = sheet_find(sheet, "run_buckling_share");
    const struct field *buckling = sheet_find(sheet, "run_buckling");
    const struct terminal *to = &work->terminal;
    if (surge->is_boiling) {
        print_boiling(work, surge);
    }
    for (size_t i = 0; i < name->count; i++) {
        if (share->numbers[i] > 1.0) {
            terminal_say(to, TONE_ERROR, "exceeded");
            (void)fprintf(to->out,
                          ": %s: the highest pressure is %.0f %% of what the pipe's class allows\n",
                          name->texts[i], 100.0 * share->numbers[i]);
        }
        if (vacuum->numbers[i] > buckling_share) {
            terminal_say(to, TONE_ERROR, "exceeded");
            (void)fprintf(to->out,
                          ": %s: the vacuum is %.0f %% of the %.1f m at which its wall alone "
                          "buckles, short term;\n      at most half is common practice: thicker "
                          "pipe, an air valve, or a slower stop\n",
                          name->texts[i], 100.0 * vacuum->numbers[i], buckling->numbers[i]);
        }
    }
}

/* Where the energy came from and went, kJ. */
static void print_energy(const struct work *work, const struct surge *surge)
{
    const struct surge_energy *energy = &surge->energy;
    (void)fprintf(work->terminal.out,
                  "Energy: pumps gave the water %.3g kJ and tanks, outlets and draws %.3g kJ; lost "
                  "in pipes %.3g kJ, in parts\n%.3g kJ; into vessels %.3g kJ; held more in pipes "
                  "%.3g kJ; unexplained %.1g kJ.\n",
                  1e-3 * energy->from_pumps, 1e-3 * energy->from_ends, 1e-3 * energy->lost_in_pipes,
                  1e-3 * energy->lost_in_parts, 1e-3 * energy->to_vessels, 1e-3 * energy->stored,
                  1e-3 * energy->residual);
}

static void print_certificate(const struct work *work, const struct surge *surge)
{
    FILE *out = work->terminal.out;
    (void)fprintf(out,
                  "Proof: %d steps of %.3g ms; %.2g L of water gained or lost over the run; before "
                  "the first event no head\nmoved by more than %.2g m; the parts' laws met within "
                  "%.2g m; wave speeds adjusted by at most %.1f %%",
                  surge->step_count, 1e3 * surge->step, 1e3 * surge->mass_residual, surge->drift,
                  surge->law_residual, 100.0 * surge->largest_wave_speed_change);
    if (surge->changed_link >= 0) {
        (void)fprintf(out, " (%s)", work->site->network->links[surge->changed_link].name);
    }
    (void)fprintf(out, "; %d short pipe%s interpolated.\n", surge->stub_count,
                  surge->stub_count == 1 ? "" : "s");
    print_energy(work, surge);
    if (surge->grid_count > 1) {
        (void)fprintf(out, "The bands (+-) come from runs on %d grids", surge->grid_count);
        if (isfinite(surge->order)) {
            (void)fprintf(out, "; observed order of convergence %.1f", surge->order);
        }
        (void)fputs(".\n", out);
    }
}

static bool print_text(const struct work *work, const struct surge *surge,
                       const struct sheet *sheet)
{
    const struct terminal *to = &work->terminal;
    (void)fprintf(to->out, "%s: surge over %.2f s%s\n",
                  work->site->name ? work->site->name : "Site", surge->time_reached,
                  surge->ending == SURGE_DONE ? "" : ", where the run had to stop");
    print_events(work);
    if (!trade_table(sheet, "Pressure along each run, metres of water over the pipe", run_columns,
                     NULL, to, work->arena) ||
        !trade_table(sheet, "Non-return valves", valve_columns, NULL, to, work->arena)) {
        return false;
    }
    if ((surge->protection.vessel_count > 0 &&
         !trade_table(sheet, "Air vessels", vessel_columns, NULL, to, work->arena)) ||
        (surge->protection.air_valve_count > 0 &&
         !trade_table(sheet, "Air valves", air_valve_columns, NULL, to, work->arena))) {
        return false;
    }
    print_curves(work, surge);
    print_pumps(work, surge);
    print_measured(work, sheet);
    print_warnings(work, surge, sheet);
    (void)fputc('\n', to->out);
    print_certificate(work, surge);
    return true;
}

static bool put_runs(const struct work *work, const struct surge *surge, struct store *store,
                     struct json *json, struct failure *failure)
{
    struct sheet sheet;
    bool is_good = true;
    for (int i = 0; is_good && i < surge->run_count; i++) {
        is_good = surge_run_sheet(work->site, &surge->runs[i], &sheet, work->arena, failure);
        if (is_good && store) {
            is_good = store_sheet(store, &sheet, failure);
        }
        if (is_good && json) {
            json_key(json, work->site->network->runs[surge->runs[i].run].name);
            json_sheet(json, &sheet);
        }
    }
    return is_good;
}

static enum exit_code store_surge(const struct work *work, const struct surge *surge,
                                  const struct sheet *sheet, const struct surge_size *size)
{
    struct failure failure = {0};
    struct store *store = work_store(work);
    if (!store) {
        return EXIT_CODE_FILE;
    }
    if (!store_sheet(store, sheet, &failure) || !put_runs(work, surge, store, NULL, &failure) ||
        (size->is_wanted && !store_sheet(store, &size->sheet, &failure))) {
        store_free(store);
        return work_fail(work, &failure);
    }
    return work_write(work, store);
}

static bool print_json(const struct work *work, const struct surge *surge,
                       const struct sheet *sheet, const struct surge_size *size)
{
    struct failure failure = {0};
    struct json json;
    work_json(work, &json);
    if (size->is_wanted) {
        json_key(&json, "sizing");
        json_sheet(&json, &size->sheet);
    }
    json_key(&json, "surge");
    json_sheet(&json, sheet);
    json_key(&json, "runs");
    json_open_object(&json);
    bool is_good = put_runs(work, surge, NULL, &json, &failure);
    json_close_object(&json);
    json_close_object(&json);
    return is_good;
}

static enum exit_code judge_ending(const struct work *work, const struct surge *surge)
{
    if (surge->ending == SURGE_DONE) {
        return EXIT_CODE_DONE;
    }
    const char *point = surge->group_failed_point == NETWORK_NONE
                            ? NULL
                            : work->site->network->points[surge->group_failed_point].name;
    complain(work->request->terminal, "surge: %s%s%s after %.4g s",
             surge_ending_text(surge->ending), point ? ", at " : "", point ? point : "",
             surge->time_reached);
    return EXIT_CODE_NO_SOLUTION;
}

static bool has_exceeded_limit(const struct surge *surge, const struct sheet *sheet)
{
    const struct field *share = sheet_find(sheet, "run_highest_share");
    const struct field *vacuum = sheet_find(sheet, "run_buckling_share");
    for (size_t i = 0; i < share->count; i++) {
        if (share->numbers[i] > 1.0 || vacuum->numbers[i] > buckling_share) {
            return true;
        }
    }
    return surge->is_boiling;
}

/* Tells and writes what was reached, also when the run could not go to its end. */
static enum exit_code tell(const struct work *work, const struct surge *surge,
                           const struct surge_size *size)
{
    struct failure failure = {0};
    struct sheet sheet;
    enum exit_code code = EXIT_CODE_DONE;
    if (!surge_sheet(work->site, surge, &sheet, work->arena, &failure)) {
        return work_fail(work, &failure);
    }
    bool has_exceeded = has_exceeded_limit(surge, &sheet);
    if (request_has(work->request, "output")) {
        code = store_surge(work, surge, &sheet, size);
    }
    if (code != EXIT_CODE_DONE) {
        return code;
    }
    bool is_told = request_has(work->request, "json") ? print_json(work, surge, &sheet, size)
                                                      : print_text(work, surge, &sheet);
    if (!is_told) {
        (void)fail_memory(&failure, "the tables");
        return work_fail(work, &failure);
    }
    code = judge_ending(work, surge);
    return code == EXIT_CODE_DONE ? work_verdict(work, has_exceeded) : code;
}

static enum precision asked_precision(const struct request *request)
{
    const char *word = request_value(request, "precision", "normal");
    return word[0] == 'q' ? PRECISION_QUICK : word[0] == 'f' ? PRECISION_FINE : PRECISION_NORMAL;
}

/* With --size: the search; its table comes first. Where none suffices there is no run to tell. */
static enum exit_code find_size(struct work *work, struct surge_size *size)
{
    const bool is_json = request_has(work->request, "json");
    if (!request_has(work->request, "size")) {
        return EXIT_CODE_DONE;
    }
    enum exit_code code = surge_size_find(work, asked_precision(work->request), size);
    if (size->found.try_count == 0) {
        return code;
    }
    if (is_json && code != EXIT_CODE_DONE) {
        struct json json;
        work_json(work, &json);
        json_key(&json, "sizing");
        json_sheet(&json, &size->sheet);
        json_close_object(&json);
    } else if (!is_json && !surge_size_print(work, size)) {
        return EXIT_CODE_NO_SOLUTION;
    }
    if (code != EXIT_CODE_DONE) {
        complain(work->request->terminal, "surge: no size in the range keeps the limits");
    }
    return code;
}

static enum exit_code solve(struct work *work)
{
    struct failure failure = {0};
    struct surge surge = {0};
    struct progress progress;
    struct surge_options chosen = surge_defaults;
    struct surge_size size = {0};
    if (!work->site->surge.is_given) {
        complain(work->request->terminal,
                 "%s: the case says nothing of surge; give it a section 'surge' with a duration "
                 "and events",
                 work->request->operands[0]);
        return EXIT_CODE_INPUT;
    }
    enum exit_code code = find_size(work, &size);
    if (code == EXIT_CODE_DONE) {
        code = work_steady(work);
    }
    if (code != EXIT_CODE_DONE) {
        return code;
    }
    progress_start(&progress, work->request->terminal, "surge",
                   request_has(work->request, "quiet"));
    chosen.progress = progress_tell;
    chosen.user = &progress;
    bool is_done =
        surge_run_precisely(work->site, work->site->network, &work->steady, &chosen,
                            asked_precision(work->request), &surge, work->arena, &failure);
    progress_end(&progress);
    return is_done ? tell(work, &surge, &size) : work_fail(work, &failure);
}

static enum exit_code run(const struct request *request)
{
    return work_run(request, solve);
}

static const struct option options[] = {
    {.name = "precision",
     .value = "WORD",
     .words = "quick normal fine",
     .help = "one grid, two with error bands, or three; each further one costs four times more"},
    {.name = "size",
     .value = "PART",
     .words = "vessel flywheel relief",
     .help = "find the smallest such part of the case that keeps the limits"},
    {.name = "limit",
     .value = "LIMITS",
     .help = "what it must keep: highest, lowest, class, reverse, slam, each with its value"},
    {.name = "at",
     .value = "NAME",
     .help = "which vessel, pump or relief valve, where there are several"},
    {.name = "between",
     .value = "SIZES",
     .help = "the smallest and the largest to try: \"50 L, 5 m3\""},
    {0},
};

const struct command command_surge = {
    .name = "surge",
    .operands = "CASE",
    .summary = "What the pipes feel after a pump stops or a valve moves",
    .details =
        "Starts from the steady flow and follows the events of the case's section 'surge'.\n"
        "With --size it first looks for the smallest vessel, flywheel or relief valve of the\n"
        "case that keeps the limits, by whole runs on one grid, sees to it that it keeps them\n"
        "with its whole error band on the grids of --precision, else takes a larger one, and\n"
        "then tells of the run with that one.\n"
        "Limits: highest and lowest pressure (metres of water or bar) along all runs or 'in'\n"
        "one, class (share of what the pipes allow), reverse (m/s) and slam of valves.",
    .example =
        "  downsurge surge site.yaml --output site.h5\n  downsurge plot site.h5\n"
        "  downsurge surge site.yaml --size vessel --limit 'highest 60 m, lowest 1 m in main'",
    .options = options,
    .run = run,
};
