#include "io/command/surge_tell.h"

#include "io/command/surge_cycles.h"
#include "io/results/cavities_sheet.h"
#include "io/results/surge_sheet.h"
#include "io/results/trade_columns.h"
#include "io/terminal/prose.h"
#include "io/terminal/table.h"

#include <math.h>

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
            prose_tell(&work->terminal,
                       "Valve %s: by its maker's curve %.3f m/s backward at %.2f m/s2, slam "
                       "%.1f m; this rules over the computed %.3f m/s.\n",
                       work->site->network->links[valve->link].name, valve->stated_reverse_velocity,
                       valve->deceleration, valve->stated_slam_head, valve->first_reverse_velocity);
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
    const struct terminal *to = &work->terminal;
    const double count = sheet_find_attribute(sheet, "measured_compared")->number;
    if (!(count > 0.0)) {
        prose_tell(to, "Measured at %s: no instant of it lies within the run.\n", gauge->text);
        return;
    }
    prose_tell(to,
               "Measured at %s, %.0f instants: the run differs by at most %.3g m (%.3f s), by "
               "%.3g m root mean square.\n",
               gauge->text, count, fabs(sheet_find_attribute(sheet, "measured_difference")->number),
               sheet_find_attribute(sheet, "measured_difference_time")->number,
               sheet_find_attribute(sheet, "measured_difference_rms")->number);
}

/* How hard, where and when a cavity shut. */
static void print_collapse(const struct work *work, const struct surge_collapse *collapse,
                           const char *place)
{
    struct prose prose;
    prose_answers(&prose, &work->terminal);
    if (collapse->count == 0) {
        prose_add(&prose, "      none of them shut before the run ended: run it for longer\n");
        return;
    }
    prose_add(&prose,
              "      and shut again with a blow, and pressures after that are uncertain\n"
              "      the hardest blow: %.1f m",
              collapse->pressure);
    if (isfinite(collapse->band)) {
        prose_add(&prose, " +- %.1f m", collapse->band);
    }
    prose_add(&prose, " over the pipe at %s", place);
    if (isfinite(collapse->distance)) {
        prose_add(&prose, ", %.1f m along it", collapse->distance);
    }
    prose_add(&prose,
              ", %.3f s into the run; the cavity there had shut at %.3f s (the highest "
              "within %.3g s, a wave's way there and back, of one of %d shuttings on this grid)\n",
              collapse->time, collapse->shut_time, collapse->window, collapse->count);
}

static void print_boiling(const struct work *work, const struct surge *surge)
{
    const struct terminal *to = &work->terminal;
    struct prose prose;
    prose_answers(&prose, to);
    prose.extra = 4;
    prose_tone(&prose, to->out_has_colour, TONE_ERROR, "exceeded");
    prose_add(&prose, ": the water boils, first %.3f s into the run at %s", surge->vapour_time,
              surge_vapour_place(work->site->network, surge));
    if (isfinite(surge->vapour_distance)) {
        prose_add(&prose, ", %.1f m along it", surge->vapour_distance);
    }
    prose_add(&prose, "; cavities of up to %.3g L open", 1e3 * surge->largest_cavity);
    if (isfinite(surge->largest_time)) {
        prose_add(&prose, " (%.3f s, %s)", surge->largest_time,
                  surge_largest_place(work->site->network, surge));
    }
    prose_add(&prose, "\n");
    print_collapse(work, &surge->collapse, surge_collapse_place(work->site->network, surge));
}

bool surge_exceeds(const struct surge *surge, const struct sheet *sheet)
{
    const struct field *share = sheet_find(sheet, "run_highest_share");
    const struct field *vacuum = sheet_find(sheet, "run_buckling_share");
    for (size_t i = 0; i < share->count; i++) {
        if (share->numbers[i] > 1.0 || vacuum->numbers[i] > surge_buckling_limit()) {
            return true;
        }
    }
    return surge->is_boiling;
}

/* The row of the least number; of none, the first. */
static size_t row_of_least(const struct field *field)
{
    size_t least = 0;
    for (size_t i = 0; i < field->count; i++) {
        if (field->numbers[i] < field->numbers[least] || isnan(field->numbers[least])) {
            least = i;
        }
    }
    return least;
}

/* By the lowest pressure with its error band: what reaches boiling with it is in doubt. */
static void warn_of_near_boiling(const struct work *work, const struct surge *surge,
                                 const struct sheet *sheet)
{
    const struct surge_near near = surge_near_boiling(sheet);
    const double least = surge_boiling_margin();
    const char *doubt = "";
    char band[48] = "";
    if (surge->is_boiling || !(near.reach < least)) {
        return;
    }
    if (near.reach <= 0.0) {
        (void)snprintf(band, sizeof band, " and its error band reaches boiling");
        doubt = "; '--precision fine' makes the band narrower";
    } else if (round(10.0 * near.reach) < round(10.0 * near.margin)) {
        (void)snprintf(band, sizeof band, " (%.1f m with its error band)", near.reach);
    }
    prose_mark(&work->terminal, TONE_WARNING, near.reach > 0.0 ? "caution" : "in doubt",
               "%s: %s%.1f m above boiling%s: dissolved air comes out before, and warmer water "
               "boils sooner; at least %.0f m is common practice%s\n",
               sheet_find(sheet, "run")->texts[near.run], near.margin < least ? "only " : "",
               near.margin, band, least, doubt);
}

/* A vessel that holds no water before the first event does nothing until the pressure rises. */
static void warn_of_vessels(const struct work *work, const struct surge *surge)
{
    const struct surge_protection *protection = &surge->protection;
    for (int i = 0; i < protection->vessel_count; i++) {
        const struct surge_vessel *vessel = &protection->vessels[i];
        if (vessel->has_run_empty && vessel->gas_start >= vessel->gas_max) {
            prose_mark(
                &work->terminal, TONE_WARNING, "caution",
                "%s: it holds no water as the run begins, and gives none: its gas was put in "
                "at no less than the pressure there; less lets it work\n",
                work->site->network->links[vessel->link].name);
        }
    }
    if (protection->vessel_count > 0) {
        prose_mark(&work->terminal, TONE_WARNING, "caution",
                   "an air vessel is pressure equipment: pent-up gas bursts what water would only "
                   "crack; let it off before anything is opened, test with water only\n");
    }
}

/* What helps against a limit that is exceeded, and what a vacuum does that exceeds none. */
static void print_remedies(const struct work *work, const struct surge *surge,
                           const struct sheet *sheet)
{
    const struct field *lowest = sheet_find(sheet, "run_lowest");
    const struct terminal *to = &work->terminal;
    const size_t worst = row_of_least(lowest);
    if (surge_exceeds(surge, sheet)) {
        prose_tell(
            to, "What helps: a slower stop (flywheel, drive), an air vessel or a surge tank near "
                "the pump, an air valve at the high point, a relief valve; with one in the case, "
                "'--size' finds the smallest that keeps limits ('--keys points', '--keys "
                "outlets', '--keys pump').\n");
    }
    if (lowest->count > 0 && lowest->numbers[worst] < 0.0) {
        prose_mark(to, TONE_WARNING, "caution",
                   "%s: down to %.1f m, below the pressure of the air outside: joints can draw in "
                   "air and dirt, and thin pipe, hose and tanks collapse\n",
                   sheet_find(sheet, "run")->texts[worst], lowest->numbers[worst]);
    }
    warn_of_near_boiling(work, surge, sheet);
    warn_of_vessels(work, surge);
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
    int known = 0;
    if (surge->drift > surge_still_head()) {
        prose_mark(
            to, TONE_WARNING, "warning",
            "heads move by up to %.3g m before the first event: the site does not stand "
            "still as it stands at first, and what follows begins from there\n"
            "    water that hangs below an open mouth or nozzle runs back: begin with a pump "
            "that runs, or with a valve or a tank that holds it\n",
            surge->drift);
    }
    if (surge->is_boiling) {
        print_boiling(work, surge);
    }
    for (size_t i = 0; i < name->count; i++) {
        known += isfinite(share->numbers[i]);
        if (share->numbers[i] > 1.0) {
            prose_mark(to, TONE_ERROR, "exceeded",
                       "%s: the highest pressure is %.0f %% of what the pipe's class allows\n",
                       name->texts[i], 100.0 * share->numbers[i]);
        }
        if (vacuum->numbers[i] > surge_buckling_limit()) {
            prose_mark(to, TONE_ERROR, "exceeded",
                       "%s: the vacuum is %.0f %% of the %.1f m at which its wall alone "
                       "buckles, short term; at most half is common practice: thicker "
                       "pipe, an air valve, or a slower stop\n",
                       name->texts[i], 100.0 * vacuum->numbers[i], buckling->numbers[i]);
        }
    }
    if (!surge_exceeds(surge, sheet)) {
        prose_tell(to,
                   "Limits kept: no pressure above what the class of a pipe allows (known in %d of "
                   "%zu run%s), no water boils, and no vacuum is near what buckles a wall.\n",
                   known, name->count, name->count == 1 ? "" : "s");
    }
    print_remedies(work, surge, sheet);
    surge_cycles_tell(work, sheet);
}

/* Where the energy came from and went, kJ. */
static void print_energy(const struct work *work, const struct surge *surge)
{
    const struct surge_energy *energy = &surge->energy;
    prose_tell(&work->terminal,
               "Energy: pumps gave the water %.3g kJ and tanks, outlets and draws %.3g kJ; lost "
               "in pipes %.3g kJ, in parts %.3g kJ; into vessels %.3g kJ; held more in pipes "
               "%.3g kJ; unexplained %.1g kJ.\n",
               1e-3 * energy->from_pumps, 1e-3 * energy->from_ends, 1e-3 * energy->lost_in_pipes,
               1e-3 * energy->lost_in_parts, 1e-3 * energy->to_vessels, 1e-3 * energy->stored,
               1e-3 * energy->residual);
}

static void print_certificate(const struct work *work, const struct surge *surge)
{
    struct prose prose;
    prose_answers(&prose, &work->terminal);
    prose_add(&prose,
              "Proof: %d steps of %.3g ms; %.2g L of water gained or lost over the run; before "
              "the first event no head moved by more than %.2g m; the parts' laws met within "
              "%.2g m; wave speeds adjusted by at most %.1f %%",
              surge->step_count, 1e3 * surge->step, 1e3 * surge->mass_residual, surge->drift,
              surge->law_residual, 100.0 * surge->largest_wave_speed_change);
    if (surge->changed_link >= 0) {
        prose_add(&prose, " (%s)", work->site->network->links[surge->changed_link].name);
    }
    prose_add(&prose, "; %d short pipe%s interpolated.\n", surge->stub_count,
              surge->stub_count == 1 ? "" : "s");
    if (surge->blind_count > 0) {
        prose_add(&prose,
                  "%d of them a wave crosses in less than a step: of a blow that is over within "
                  "it the pressures there show a part only, and no band tells; at a valve beside "
                  "it the slam bounds it.\n",
                  surge->blind_count);
    }
    if (surge->enclosed_count > 0) {
        prose_add(&prose,
                  "Shut parts enclosed %d point%s without a pipe for a while (%s%s): no law tells "
                  "the head there then; it stays what it was, unless the heads outside press "
                  "through a seat.\n",
                  surge->enclosed_count, surge->enclosed_count == 1 ? "" : "s",
                  work->site->network->points[surge->enclosed_point].name,
                  surge->enclosed_count == 1 ? "" : " the first");
    }
    print_energy(work, surge);
    if (surge->grid_count > 1) {
        prose_add(&prose, "The bands (+-) come from runs on %d grids", surge->grid_count);
        if (isfinite(surge->order)) {
            prose_add(&prose, "; observed order of convergence %.1f", surge->order);
        }
        prose_add(&prose, ".\n");
    }
}

bool surge_tell(const struct work *work, const struct surge *surge, const struct sheet *sheet)
{
    const struct terminal *to = &work->terminal;
    (void)fprintf(to->out, "%s: surge over %.2f s%s\n",
                  work->site->name ? work->site->name : "Site", surge->time_reached,
                  surge->ending == SURGE_DONE ? "" : ", where the run had to stop");
    print_events(work);
    if (!trade_table(sheet, "Pressure along each run, metres of water over the pipe",
                     surge_run_columns, NULL, to, work->arena) ||
        !trade_table(sheet, "Non-return valves", surge_valve_columns, NULL, to, work->arena)) {
        return false;
    }
    if ((surge->protection.vessel_count > 0 &&
         !trade_table(sheet, "Air vessels", surge_vessel_columns, NULL, to, work->arena)) ||
        (surge->protection.air_valve_count > 0 &&
         !trade_table(sheet, "Air valves", surge_air_valve_columns, NULL, to, work->arena))) {
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
