#include "io/command/list.h"
#include "io/command/time_option.h"
#include "io/command/work.h"
#include "io/door/plausible.h"
#include "io/door/units.h"
#include "io/results/filling_sheet.h"
#include "io/results/trade_columns.h"
#include "io/terminal/progress.h"
#include "io/terminal/prose.h"
#include "io/terminal/table.h"

#include <math.h>

static const struct option options[] = {
    {"for", 0, "TIME", NULL, "how long: 24 h, 7 days, 1 year; else as the case says, or 24 h"},
    {NULL, 0, NULL, NULL, NULL},
};

/* "24", "h" of the command line, or "24 h" in one word, in seconds; 0: not given. */
static enum exit_code read_time(const struct request *request, double *seconds)
{
    const char *number = request_value(request, "for", NULL);
    const char *unit = request->operand_count > 1 ? request->operands[1] : "";
    char text[TIME_OPTION_SIZE];
    char message[FAILURE_MESSAGE_SIZE];
    *seconds = 0.0;
    if (!number) {
        if (*unit) {
            complain(request->terminal, "'%s': one case at a time", unit);
        }
        return *unit ? EXIT_CODE_INPUT : EXIT_CODE_DONE;
    }
    const enum exit_code code = time_option_read(request, "for", number, unit, text, seconds);
    if (code != EXIT_CODE_DONE ||
        plausible_option(text, PLAUSIBLE_TIME, *seconds, sizeof message, message)) {
        return code;
    }
    complain(request->terminal, "--for %s: %s", text, message);
    return EXIT_CODE_INPUT;
}

/* --- telling --- */

static void print_time(FILE *out, double seconds)
{
    const double minute = 60.0;
    const int hours = (int)(seconds / 3600.0);
    const int minutes = (int)(fmod(seconds, 3600.0) / minute);
    (void)fprintf(out, "%3d:%02d:%04.1f", hours, minutes, fmod(seconds, minute));
}

/* The first events; the results hold all. */
static void print_events(const struct work *work, const struct filling *filling)
{
    enum { SHOWN = 24 };
    FILE *out = work->terminal.out;
    if (filling->event_count == 0) {
        (void)fprintf(out, "%s\n\n",
                      work->site->filling.timer_count > 0
                          ? "Nothing switches but what the clock opens and shuts."
                          : "Nothing switches.");
        return;
    }
    terminal_say(&work->terminal, TONE_STRONG, "What happens, hours from the start");
    (void)fputc('\n', out);
    for (int i = 0; i < filling->event_count && i < SHOWN; i++) {
        const struct filling_event *event = &filling->events[i];
        (void)fputs("  ", out);
        print_time(out, event->time);
        (void)fprintf(out, "  %s %s",
                      filling_event_subject(work->site, event->kind, event->subject),
                      filling_event_text(event->kind));
        if (isfinite(event->level)) {
            (void)fprintf(out, " (level %.3f m)", event->level);
        }
        (void)fputc('\n', out);
    }
    if (filling->switch_count > SHOWN) {
        (void)fprintf(out, "  and %.0f more\n",
                      filling->switch_count - fmin(SHOWN, filling->event_count));
    }
    (void)fputc('\n', out);
}

static const char exceeded[] = "exceeded";

static void warn_of_starts(const struct work *work, int index,
                           const struct filling_pump_answer *pump)
{
    const struct filling_plan *plan = &work->site->filling;
    const bool is_floated = filling_plan_has_float(plan, index);
    const bool is_kept = plan->pumps[index].protect_tank != NETWORK_NONE;
    if (pump->most_starts > pump->starts_limit) {
        prose_mark(
            &work->terminal, TONE_ERROR, exceeded,
            "%s: %d starts in an hour; %.0f are allowed\n    set %s%s%s, or give it a rest\n",
            work->site->network->links[plan->pumps[index].link].name, pump->most_starts,
            pump->starts_limit,
            is_floated ? "the levels of its float switch further apart"
            : is_kept  ? ""
                       : "its timer to fewer starts",
            is_floated && is_kept ? " and " : "",
            is_kept ? "its restart level further above its dry-run level" : "");
    }
}

static void warn_of_pump(const struct terminal *to, const char *name,
                         const struct filling_pump_answer *pump)
{
    if (pump->idle_run > 0.0) {
        prose_mark(to, TONE_ERROR, exceeded,
                   "%s: ran %.2f h without delivering: its prime was lost through the foot valve\n"
                   "    clean or change the foot valve; stop the pump where no water comes\n",
                   name, pump->idle_run / 3600.0);
    }
    if (pump->dry_run > 0.0) {
        prose_mark(to, TONE_ERROR, exceeded,
                   "%s: ran %.2f h with every mouth that feeds it out of the water: it draws air\n"
                   "    give it a dry-run level, or a float switch on the tank that it empties\n",
                   name, pump->dry_run / 3600.0);
    }
    if (pump->air_energy > 0.0) {
        prose_tell(to,
                   "Not known: %s: what it takes with air in it; %.3g kWh of its %.3g kWh are "
                   "counted for that as if no air came with the water; with air it takes less\n",
                   name, pump->air_energy / 3.6e6, pump->energy / 3.6e6);
    }
    if (pump->is_back_unknown) {
        prose_tell(to,
                   "Not known: %s: how much of the water in its pipes drains back when it stops: "
                   "they branch, and nothing in its run keeps the water\n",
                   name);
    }
    if (isnan(pump->energy)) {
        prose_tell(to, "Not known: %s: its energy; the case gives no power\n", name);
    }
}

/* Water that runs or draws brought, as far as no other tank takes it; what a spring brings may. */
static void warn_of_tank(const struct work *work, int index, const struct filling_tank_answer *tank)
{
    const struct filling_tank *words = work->site->filling.tanks;
    const bool is_taken = words && words[index].overflow_to != NETWORK_NONE;
    const double lost = fmin(tank->overflow, tank->overflow - tank->fed);
    if (!is_taken && lost > 1e-6 * tank->in) {
        prose_mark(
            &work->terminal, TONE_WARNING, "warning",
            "%s: ran over for %.2f h; %.2f m3 that runs brought are lost\n"
            "    give the pumps that fill it a float switch on it, or say where its overflow "
            "goes\n",
            work->site->network->tanks[index].name, tank->brim_time / 3600.0, lost);
    }
}

/* A switch that called nothing all the time: else its pumps stand in the table with nothing but 0.
 */
static void tell_of_switch(const struct work *work, const struct filling *filling,
                           const struct filling_switch *here)
{
    const struct filling_tank_answer *tank = &filling->tanks[here->tank];
    bool has_run = false;
    for (int i = 0; i < here->pump_count; i++) {
        has_run = has_run || filling->pumps[here->pumps[i]].run_time > 0.0;
    }
    const bool is_called =
        here->is_emptying ? tank->highest >= here->on_level[0] : tank->lowest <= here->on_level[0];
    if (!has_run && !is_called) {
        prose_tell(&work->terminal,
                   "%s called no pump: %s stayed within %.2f to %.2f m, and it calls at %.2f m\n",
                   here->name, work->site->network->tanks[here->tank].name, tank->lowest,
                   tank->highest, here->on_level[0]);
    }
}

/* A draw whose hours the section 'filling' gives has another way to be counted by its pressure. */
static bool has_hours(const struct filling_plan *plan, int point)
{
    for (int i = 0; i < plan->draw_count; i++) {
        if (plan->draws[i].point == point) {
            return true;
        }
    }
    return false;
}

/* A draw is taken whatever the pressure: where less than none stands, that did not come. */
static void warn_of_tap(const struct work *work, const struct filling_tap_answer *tap)
{
    const struct point *point = &work->site->network->points[tap->point];
    if (tap->short_time > 0.0 && !isfinite(tap->lowest)) {
        prose_mark(&work->terminal, TONE_ERROR, exceeded,
                   "%s: for %.2f h water is drawn while no tank and no open water feeds it: "
                   "nothing comes\n",
                   point->name, tap->short_time / 3600.0);
    } else if (tap->short_time > 0.0) {
        prose_mark(&work->terminal, TONE_ERROR, exceeded,
                   "%s: for %.2f h water is drawn where less than no pressure stands, at worst "
                   "%.2f m after %.2f h: nothing comes in truth, yet it is counted as given\n"
                   "    let a pump run or a tank stand above it then; 'falls with pressure: yes'%s "
                   "counts what comes\n",
                   point->name, tap->short_time / 3600.0, tap->lowest, tap->lowest_time / 3600.0,
                   has_hours(&work->site->filling, tap->point)
                       ? " at the point, with its hours by a timer in place of this draw,"
                       : "");
    } else if (tap->low_time > 0.0) {
        prose_mark(&work->terminal, TONE_WARNING, "warning",
                   "%s: for %.2f h less than the wanted %.1f m of pressure stand there while water "
                   "is drawn, at worst %.2f m after %.2f h\n",
                   point->name, tap->low_time / 3600.0, point->wanted_head, tap->lowest,
                   tap->lowest_time / 3600.0);
    }
}

static void warn_of_taps(const struct work *work, const struct filling *filling)
{
    enum { SHOWN = 6 };
    int told = 0;
    for (int i = 0; i < filling->tap_count; i++) {
        if (filling->taps[i].low_time > 0.0 || filling->taps[i].short_time > 0.0) {
            if (told < SHOWN) {
                warn_of_tap(work, &filling->taps[i]);
            }
            told++;
        }
    }
    if (told > SHOWN) {
        prose_tell(&work->terminal, "and at %d more points\n", told - SHOWN);
    }
}

static void print_warnings(const struct work *work, const struct filling *filling)
{
    const struct terminal *to = &work->terminal;
    for (int i = 0; i < filling->pump_count; i++) {
        const int link = work->site->filling.pumps[i].link;
        warn_of_starts(work, i, &filling->pumps[i]);
        warn_of_pump(to, work->site->network->links[link].name, &filling->pumps[i]);
    }
    for (int i = 0; i < filling->tank_count; i++) {
        warn_of_tank(work, i, &filling->tanks[i]);
    }
    for (int i = 0; i < work->site->filling.switch_count; i++) {
        tell_of_switch(work, filling, &work->site->filling.switches[i]);
    }
    warn_of_taps(work, filling);
    if (filling->draws_given < (1.0 - 1e-6) * filling->draws_wanted) {
        prose_mark(to, TONE_ERROR, exceeded, "draws: %.2f m3 were wanted, %.2f m3 could be given\n",
                   filling->draws_wanted, filling->draws_given);
    }
}

static void print_proof(const struct work *work, const struct filling *filling)
{
    prose_tell(&work->terminal,
               "Proof: %.3g L of %.4g m3 moved are not accounted for (%.1g of it); %.0f events, "
               "%.0f steps, %.0f steady answers.\n",
               1e3 * filling->residual, filling->moved,
               fabs(filling->residual) / fmax(filling->moved, 1e-300), filling->switch_count,
               filling->step_count, filling->solve_count);
}

static bool print_text(const struct work *work, const struct filling *filling,
                       const struct sheet *sheet)
{
    const struct terminal *to = &work->terminal;
    (void)fprintf(to->out, "%s: %.4g h from %02.0f:%02.0f o'clock\n\n",
                  work->site->name ? work->site->name : "Site", filling->time_reached / 3600.0,
                  floor(fmod(work->site->filling.clock / 3600.0, 24.0)),
                  floor(fmod(work->site->filling.clock / 60.0, 60.0)));
    print_events(work, filling);
    if (!trade_table(sheet, "Tanks", hours_tank_columns, "tank_moves", to, work->arena) ||
        !trade_table(sheet, "Runs", hours_run_columns, NULL, to, work->arena) ||
        !trade_table(sheet, "Pumps", hours_pump_columns, NULL, to, work->arena) ||
        !trade_table(sheet, "Open ends, and water of fixed level", hours_end_columns, "end_is_open",
                     to, work->arena)) {
        return false;
    }
    print_warnings(work, filling);
    print_proof(work, filling);
    return true;
}

static void print_json(const struct work *work, const struct sheet *sheet)
{
    struct json json;
    work_json(work, &json);
    json_key(&json, "filling");
    json_sheet(&json, sheet);
    json_close_object(&json);
}

static enum exit_code store_filling(const struct work *work, const struct sheet *sheet)
{
    struct failure failure = {0};
    struct store *store = work_store(work);
    if (!store) {
        return EXIT_CODE_FILE;
    }
    if (!store_sheet(store, sheet, &failure)) {
        store_free(store);
        return work_fail(work, &failure);
    }
    return work_write(work, store);
}

/* --- ending --- */

static enum exit_code judge_ending(const struct work *work, const struct filling *filling)
{
    if (filling->ending == FILLING_DONE) {
        return EXIT_CODE_DONE;
    }
    if (filling->ending == FILLING_CHATTERS) {
        complain(
            work->request->terminal,
            "fill: '%s' switches to and fro without end after %.6g s; set its levels further "
            "apart, or give it a rest",
            filling_event_subject(work->site, filling->chattering, filling->chattering_subject),
            filling->time_reached);
    } else {
        complain(work->request->terminal, "fill: %s, after %.6g s",
                 filling_ending_text(filling->ending), filling->time_reached);
    }
    return EXIT_CODE_NO_SOLUTION;
}

static bool has_exceeded_limit(const struct filling *filling)
{
    bool is_over = filling->draws_given < (1.0 - 1e-6) * filling->draws_wanted;
    for (int i = 0; i < filling->tap_count; i++) {
        is_over = is_over || filling->taps[i].short_time > 0.0;
    }
    for (int i = 0; i < filling->pump_count; i++) {
        is_over = is_over || filling->pumps[i].most_starts > filling->pumps[i].starts_limit ||
                  filling->pumps[i].idle_run > 0.0 || filling->pumps[i].dry_run > 0.0;
    }
    return is_over;
}

/* Tells and writes what was reached, also when the run could not go to its end. */
static enum exit_code tell(const struct work *work, const struct filling *filling)
{
    struct failure failure = {0};
    struct sheet sheet;
    if (!filling_sheet(work->site, filling, &sheet, work->arena, &failure)) {
        return work_fail(work, &failure);
    }
    if (request_has(work->request, "output")) {
        const enum exit_code code = store_filling(work, &sheet);
        if (code != EXIT_CODE_DONE) {
            return code;
        }
    }
    if (request_has(work->request, "json")) {
        print_json(work, &sheet);
    } else if (!print_text(work, filling, &sheet)) {
        (void)fail_memory(&failure, "the tables");
        return work_fail(work, &failure);
    }
    const enum exit_code code = judge_ending(work, filling);
    return code == EXIT_CODE_DONE ? work_verdict(work, has_exceeded_limit(filling)) : code;
}

static enum exit_code solve(struct work *work)
{
    struct failure failure = {0};
    struct filling filling = {0};
    struct progress progress;
    struct filling_options how = filling_defaults;
    enum exit_code code = read_time(work->request, &how.duration);
    if (code == EXIT_CODE_DONE) {
        code = work_steady(work);
    }
    if (code != EXIT_CODE_DONE) {
        return code;
    }
    progress_start(&progress, work->request->terminal, "fill", request_has(work->request, "quiet"));
    how.progress = progress_tell;
    how.user = &progress;
    bool is_done = filling_run(work->site, &how, &filling, work->arena, &failure);
    progress_end(&progress);
    return is_done ? tell(work, &filling) : work_fail(work, &failure);
}

static enum exit_code run(const struct request *request)
{
    return work_run(request, solve);
}

const struct command command_fill = {
    .name = "fill",
    .operands = "CASE [UNIT]",
    .summary = "Levels, switching and energy over hours or days",
    .details =
        "Starts from the levels of the case and follows the section 'filling': float\n"
        "switches with rest, standby and dry-run protection, draws over the day, timers,\n"
        "weather, overflow, a rising pipe that drains back where nothing holds it, prime\n"
        "lost through a foot valve. Tells levels, starts an hour against their limit,\n"
        "energy, its cost by the tariff, how long water stays, pumps that draw air because\n"
        "their tank is down to the mouth, water drawn where no pressure stands, and what of\n"
        "the water moved is not accounted for. A switch that would go to and fro without\n"
        "end is told, and ends the run. The unit of --for may stand apart. 'downsurge\n"
        "study' runs the same hours for many variants.",
    .example = "  downsurge fill site.yaml --for 24 h --output site.h5\n  downsurge plot site.h5",
    .options = options,
    .run = run,
};
