#include "io/results/surge_sheet.h"

#include "io/results/cavities_sheet.h"
#include "io/results/protection_sheet.h"
#include "solver/choose/judge.h"
#include "solver/surge/profile.h"
#include "solver/surge/trace.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

enum { VALVE_COLUMNS = 19 };

struct source {
    const struct site *site;
    const struct network *network;
    const struct surge *surge;
    struct sheet *sheet;
    struct arena *arena;
};

static double *take_numbers(const struct source *source, int columns, int count)
{
    return arena_take(source->arena, (size_t)columns * (size_t)count, sizeof(double));
}

static const char **take_texts(const struct source *source, int columns, int count)
{
    return arena_take(source->arena, (size_t)columns * (size_t)count, sizeof(const char *));
}

double surge_buckling_limit(void)
{
    return 0.5;
}

double surge_still_head(void)
{
    return 0.01;
}

double surge_boiling_margin(void)
{
    return judge_vapour_margin;
}

struct surge_near surge_near_boiling(const struct sheet *sheet)
{
    const struct field *margin = sheet_find(sheet, "run_lowest_margin");
    const struct field *band = sheet_find(sheet, "run_lowest_band");
    struct surge_near near = {0, (double)NAN, (double)NAN};
    for (size_t i = 0; margin && i < margin->count; i++) {
        const double width = band && isfinite(band->numbers[i]) ? band->numbers[i] : 0.0;
        const double reach = margin->numbers[i] - width;
        if (reach < near.reach || (isnan(near.reach) && !isnan(reach))) {
            near = (struct surge_near){i, margin->numbers[i], reach};
        }
    }
    return near;
}

const char *surge_ending_text(enum surge_ending ending)
{
    switch (ending) {
    case SURGE_DONE:
        return "done";
    case SURGE_GROUP_FAILED:
        return "stopped: a place in the network had no answer";
    case SURGE_STOPPED:
        break;
    }
    return "stopped on request";
}

static const char *gauge_name(const struct source *source, int gauge)
{
    const struct surge_plan *plan = &source->site->surge;
    int at = plan->gauges[gauge];
    return plan->gauge_is_link[gauge] ? source->network->links[at].name
                                      : source->network->points[at].name;
}

static bool put_gauges(const struct source *source, int time)
{
    const struct surge_plan *plan = &source->site->surge;
    int count = plan->gauge_count;
    const char **name = take_texts(source, 1, count);
    double *elevation = take_numbers(source, 1, count);
    if (!name || !elevation) {
        return false;
    }
    for (int i = 0; i < count; i++) {
        int at = plan->gauges[i];
        bool is_link = plan->gauge_is_link[i];
        int point = is_link ? source->network->links[at].to : at;
        name[i] = gauge_name(source, i);
        elevation[i] = source->network->points[point].elevation;
    }
    struct sheet *sheet = source->sheet;
    int along = sheet_dimension(sheet, "gauge", (size_t)count);
    sheet_texts(sheet, (struct field_head){"gauge", "1", "name of the gauge"}, along, name);
    sheet_numbers(sheet, (struct field_head){"gauge_elevation", "m", "elevation of the gauge"},
                  along, elevation);
    sheet_grid(sheet, (struct field_head){"head", "m", "piezometric head at the gauge"}, time,
               along, source->surge->gauge_head);
    sheet_grid(sheet, (struct field_head){"flow", "m3 s-1", "flow at the gauge"}, time, along,
               source->surge->gauge_flow);
    return true;
}

/* What was measured, and how far the run is from it. */
static void put_measured(const struct source *source)
{
    const struct measured_trace *trace = &source->site->surge.measured;
    struct sheet *sheet = source->sheet;
    if (trace->count == 0) {
        return;
    }
    struct trace_difference difference = trace_compare(&source->site->surge, source->surge);
    int along = sheet_dimension(sheet, "measured_time", (size_t)trace->count);
    sheet_numbers(sheet, (struct field_head){"measured_time", "s", "instants measured"}, along,
                  trace->time);
    sheet_numbers(sheet, (struct field_head){"measured_head", "m", "head measured at the gauge"},
                  along, trace->head);
    sheet_attribute_text(sheet, "measured_gauge", gauge_name(source, trace->gauge));
    sheet_attribute_number(sheet, "measured_compared", difference.count);
    sheet_attribute_number(sheet, "measured_difference", difference.largest);
    sheet_attribute_number(sheet, "measured_difference_time", difference.largest_time);
    sheet_attribute_number(sheet, "measured_difference_rms", difference.root_mean_square);
}

static void fill_valve(const struct surge_valve *valve, int count, double *column)
{
    const double never = (double)NAN;
    const double values[VALVE_COLUMNS] = {
        valve->has_shut,
        valve->has_shut ? valve->shut_time : never,
        valve->reverse_velocity,
        valve->slam_head,
        valve->shuts,
        valve->opening_end,
        valve->reverse_velocity_band,
        valve->slam_head_band,
        valve->has_shut ? valve->first_reverse_velocity : never,
        valve->has_shut ? valve->first_slam_head : never,
        valve->later_time,
        isnan(valve->later_time) ? never : valve->later_reverse_velocity,
        isnan(valve->later_time) ? never : valve->later_slam_head,
        valve->deceleration,
        valve->bounces,
        valve->stated_reverse_velocity,
        isnan(valve->stated_reverse_velocity) ? never : valve->stated_slam_head,
        valve->has_shut ? valve->first_reverse_velocity_band : never,
        valve->has_shut ? valve->first_slam_head_band : never,
    };
    for (int i = 0; i < VALVE_COLUMNS; i++) {
        column[(ptrdiff_t)i * count] = values[i];
    }
}

/* Of the flow in each valve's bore, [time][valve]; NULL: memory ended. */
static double *valve_velocity(const struct source *source)
{
    const struct surge *surge = source->surge;
    const int count = surge->valve_count;
    double *velocity = take_numbers(source, surge->time_count, count);
    for (int i = 0; velocity && i < surge->time_count * count; i++) {
        const int link = surge->valves[i % count].link;
        velocity[i] = surge->valve_flow[i] / source->network->links[link].area;
    }
    return velocity;
}

static bool put_valves(const struct source *source, int time)
{
    int count = source->surge->valve_count;
    const char **name = take_texts(source, 2, count);
    double *columns = take_numbers(source, VALVE_COLUMNS, count);
    const double *velocity = valve_velocity(source);
    if (!name || !columns || !velocity) {
        return false;
    }
    const char **type = name + count;
    for (int i = 0; i < count; i++) {
        const struct surge_valve *valve = &source->surge->valves[i];
        const struct non_return *data = source->network->links[valve->link].data;
        name[i] = source->network->links[valve->link].name;
        type[i] = data->type;
        fill_valve(valve, count, columns + i);
    }
    static const struct field_head heads[VALVE_COLUMNS] = {
        {"has_shut", "1", "1: it met its seat"},
        {"shut_time", "s", "when it first met its seat after the first event"},
        {"reverse_velocity", "m s-1", "largest reverse velocity as it met its seat"},
        {"slam_head", "m", "head rise from stopping that reverse flow"},
        {"shuts", "1", "how often it met its seat"},
        {"opening_end", "1", "share open at the end"},
        {"reverse_velocity_band", "m s-1", "it is right within this, from runs on several grids"},
        {"slam_head_band", "m", "it is right within this, from runs on several grids"},
        {"first_reverse_velocity", "m s-1", "reverse velocity as it first met its seat"},
        {"first_slam_head", "m", "head rise from stopping that"},
        {"later_time", "s", "when it shut hardest of all later times"},
        {"later_reverse_velocity", "m s-1", "reverse velocity then"},
        {"later_slam_head", "m", "head rise from stopping that"},
        {"deceleration", "m s-2", "of the flow in its bore as it first passed zero"},
        {"bounces", "1", "how often it came back from its seat"},
        {"stated_reverse_velocity", "m s-1", "by its maker's curve at that deceleration"},
        {"stated_slam_head", "m", "head rise from stopping that"},
        {"first_reverse_velocity_band", "m s-1",
         "it is right within this, from runs on several grids"},
        {"first_slam_head_band", "m", "it is right within this, from runs on several grids"},
    };
    struct sheet *sheet = source->sheet;
    int along = sheet_dimension(sheet, "valve", (size_t)count);
    sheet_texts(sheet, (struct field_head){"valve", "1", "name of the non-return valve"}, along,
                name);
    sheet_texts(sheet, (struct field_head){"valve_type", "1", "its type"}, along, type);
    for (int i = 0; i < VALVE_COLUMNS; i++) {
        if (i == 0 || i == 4 || i == 14) {
            sheet_wholes(sheet, heads[i], along, columns + (ptrdiff_t)i * count);
        } else {
            sheet_numbers(sheet, heads[i], along, columns + (ptrdiff_t)i * count);
        }
    }
    sheet_grid(sheet, (struct field_head){"opening", "1", "share open"}, time, along,
               source->surge->opening);
    sheet_grid(sheet, (struct field_head){"valve_flow", "m3 s-1", "flow through the valve"}, time,
               along, source->surge->valve_flow);
    sheet_grid(sheet,
               (struct field_head){"valve_velocity", "m s-1", "velocity in the valve's bore"}, time,
               along, velocity);
    return true;
}

static bool put_pumps(const struct source *source, int time)
{
    int count = source->site->pump_place_count;
    const char **name = take_texts(source, 1, count);
    if (!name) {
        return false;
    }
    for (int i = 0; i < count; i++) {
        name[i] = source->network->links[source->site->pump_places[i].link].name;
    }
    struct sheet *sheet = source->sheet;
    int along = sheet_dimension(sheet, "pump", (size_t)count);
    sheet_texts(sheet, (struct field_head){"pump", "1", "name of the pump"}, along, name);
    sheet_grid(sheet, (struct field_head){"speed", "1", "share of rated speed"}, time, along,
               source->surge->speed);
    return true;
}

static bool put_points(const struct source *source)
{
    int count = source->network->point_count;
    const char **name = take_texts(source, 1, count);
    double *elevation = take_numbers(source, 1, count);
    if (!name || !elevation) {
        return false;
    }
    for (int i = 0; i < count; i++) {
        name[i] = source->network->points[i].name;
        elevation[i] = source->network->points[i].elevation;
    }
    struct sheet *sheet = source->sheet;
    int along = sheet_dimension(sheet, "point", (size_t)count);
    sheet_texts(sheet, (struct field_head){"point", "1", "name of the point"}, along, name);
    sheet_numbers(sheet, (struct field_head){"elevation", "m", "elevation of the point"}, along,
                  elevation);
    sheet_numbers(sheet, (struct field_head){"head_max", "m", "highest head"}, along,
                  source->surge->head_max);
    sheet_numbers(sheet, (struct field_head){"head_min", "m", "lowest head"}, along,
                  source->surge->head_min);
    return true;
}

enum {
    RUN_HIGHEST,
    RUN_HIGHEST_BAND,
    RUN_HIGHEST_AT,
    RUN_ALLOWED,
    RUN_SHARE,
    RUN_LOWEST,
    RUN_LOWEST_BAND,
    RUN_LOWEST_AT,
    RUN_MARGIN,
    RUN_BUCKLING,
    RUN_BUCKLING_SHARE,
    RUN_SWING_SHARE,
    RUN_CYCLES,
    RUN_COLUMNS
};

static void note_station(const struct source *source, const struct surge_run *run, int station,
                         double worst[RUN_COLUMNS])
{
    double highest = run->head_max[station] - run->elevation[station];
    double lowest = run->head_min[station] - run->elevation[station];
    double share = highest / run->allowed[station]; /* NAN where the class is not known */
    const double up = run->head_max_band ? run->head_max_band[station] : (double)NAN;
    const double down = run->head_min_band ? run->head_min_band[station] : (double)NAN;
    if (profile_is_worse(highest, up, worst[RUN_HIGHEST], worst[RUN_HIGHEST_BAND])) {
        worst[RUN_HIGHEST] = highest;
        worst[RUN_HIGHEST_BAND] = up;
        worst[RUN_HIGHEST_AT] = run->distance[station];
        worst[RUN_ALLOWED] = run->allowed[station];
    }
    worst[RUN_SHARE] = fmax(worst[RUN_SHARE], share);
    if (profile_is_worse(-lowest, down, -worst[RUN_LOWEST], worst[RUN_LOWEST_BAND])) {
        worst[RUN_LOWEST] = lowest;
        worst[RUN_LOWEST_BAND] = down;
        worst[RUN_LOWEST_AT] = run->distance[station];
        worst[RUN_MARGIN] = lowest - water_vapour_head(&source->site->water);
    }
    double vacuum = fmax(0.0, -lowest) / run->buckling[station];
    if (!(vacuum <= worst[RUN_BUCKLING_SHARE]) && !isnan(vacuum)) {
        worst[RUN_BUCKLING_SHARE] = vacuum;
        worst[RUN_BUCKLING] = run->buckling[station];
    }
    worst[RUN_SWING_SHARE] = fmax(worst[RUN_SWING_SHARE], run->swing_share[station]);
    worst[RUN_CYCLES] = fmin(worst[RUN_CYCLES], run->cycles[station]);
}

static bool put_runs(const struct source *source)
{
    static const struct field_head heads[RUN_COLUMNS] = {
        {"run_highest", "m", "highest gauge pressure head in the run"},
        {"run_highest_band", "m", "it is right within this, from runs on several grids"},
        {"run_highest_at", "m", "distance from its beginning where that is"},
        {"run_allowed", "m", "gauge pressure head its class allows there"},
        {"run_highest_share", "1", "highest pressure over what the class allows, worst place"},
        {"run_lowest", "m", "lowest gauge pressure head in the run"},
        {"run_lowest_band", "m", "it is right within this, from runs on several grids"},
        {"run_lowest_at", "m", "distance from its beginning where that is"},
        {"run_lowest_margin", "m", "lowest head above boiling"},
        {"run_buckling", "m", "vacuum at which its wall alone buckles, short term, worst place"},
        {"run_buckling_share", "1", "vacuum over that, worst place"},
        {"run_swing_share", "1", "highest less lowest, over what the class allows, of PVC"},
        {"run_cycles", "1", "cycles up to the highest until PVC breaks, worst place"},
    };
    int count = source->surge->run_count;
    const char **name = take_texts(source, 1, count);
    double *columns = take_numbers(source, RUN_COLUMNS, count);
    if (!name || !columns) {
        return false;
    }
    for (int i = 0; i < count; i++) {
        const struct surge_run *run = &source->surge->runs[i];
        double worst[RUN_COLUMNS];
        name[i] = source->network->runs[run->run].name;
        for (int k = 0; k < RUN_COLUMNS; k++) {
            worst[k] = (double)NAN;
        }
        for (int station = 0; station < run->count; station++) {
            note_station(source, run, station, worst);
        }
        for (int k = 0; k < RUN_COLUMNS; k++) {
            columns[(ptrdiff_t)k * count + i] = worst[k];
        }
    }
    int along = sheet_dimension(source->sheet, "run", (size_t)count);
    sheet_texts(source->sheet, (struct field_head){"run", "1", "name of the run"}, along, name);
    for (int k = 0; k < RUN_COLUMNS; k++) {
        sheet_numbers(source->sheet, heads[k], along, columns + (ptrdiff_t)k * count);
    }
    return true;
}

static void put_attributes(const struct source *source)
{
    const struct surge *surge = source->surge;
    struct sheet *sheet = source->sheet;
    sheet_attribute_text(sheet, "ending", surge_ending_text(surge->ending));
    sheet_attribute_number(sheet, "time_reached", surge->time_reached);
    sheet_attribute_number(sheet, "step", surge->step);
    sheet_attribute_number(sheet, "steps", surge->step_count);
    sheet_attribute_number(sheet, "largest_wave_speed_change", surge->largest_wave_speed_change);
    if (surge->changed_link >= 0 && surge->changed_link < source->network->link_count) {
        sheet_attribute_text(sheet, "wave_speed_changed_most_in",
                             source->network->links[surge->changed_link].name);
    }
    sheet_attribute_number(sheet, "short_pipes_interpolated", surge->stub_count);
    sheet_attribute_number(sheet, "short_pipes_within_a_step", surge->blind_count);
    sheet_attribute_number(sheet, "points_enclosed", surge->enclosed_count);
    if (surge->enclosed_point != NETWORK_NONE) {
        sheet_attribute_text(sheet, "points_enclosed_first",
                             source->network->points[surge->enclosed_point].name);
    }
    sheet_attribute_number(sheet, "mass_residual", surge->mass_residual);
    sheet_attribute_number(sheet, "energy_from_ends", surge->energy.from_ends);
    sheet_attribute_number(sheet, "energy_from_pumps", surge->energy.from_pumps);
    sheet_attribute_number(sheet, "energy_to_vessels", surge->energy.to_vessels);
    sheet_attribute_number(sheet, "energy_lost_in_parts", surge->energy.lost_in_parts);
    sheet_attribute_number(sheet, "energy_lost_in_pipes", surge->energy.lost_in_pipes);
    sheet_attribute_number(sheet, "energy_stored", surge->energy.stored);
    sheet_attribute_number(sheet, "energy_residual", surge->energy.residual);
    sheet_attribute_number(sheet, "times_a_day", source->site->surge.times_a_day);
    sheet_attribute_number(sheet, "drift", surge->drift);
    sheet_attribute_number(sheet, "law_residual", surge->law_residual);
    sheet_attribute_number(sheet, "grids", surge->grid_count);
    sheet_attribute_number(sheet, "observed_order", surge->order);
    cavities_sheet_put(sheet, source->network, surge);
    sheet_attribute_number(sheet, "vapour_head", water_vapour_head(&source->site->water));
}

bool surge_sheet(const struct site *site, const struct surge *surge, struct sheet *sheet,
                 struct arena *arena, struct failure *failure)
{
    const struct source source = {site, site->network, surge, sheet, arena};
    sheet_init(sheet, "/surge");
    put_attributes(&source);
    int time = sheet_dimension(sheet, "time", (size_t)surge->time_count);
    sheet_numbers(sheet, (struct field_head){"time", "s", "time from the start"}, time,
                  surge->time);
    put_measured(&source);
    if (put_gauges(&source, time) && put_valves(&source, time) && put_pumps(&source, time) &&
        put_runs(&source) && put_points(&source) &&
        protection_sheet_put(sheet, time, site->network, &surge->protection, arena)) {
        return true;
    }
    return fail_memory(failure, "the surge results");
}

/* "/surge/runs/<name>", a slash in the name changed, since it would open a further group. */
static char *run_path(const char *name, struct arena *arena)
{
    static const char folder[] = "/surge/runs/";
    size_t length = strlen(name);
    char *path = arena_take(arena, sizeof folder + length, 1);
    if (!path) {
        return NULL;
    }
    memcpy(path, folder, sizeof folder - 1);
    for (size_t i = 0; i < length; i++) {
        path[sizeof folder - 1 + i] = name[i];
        if (name[i] == '/') {
            path[sizeof folder - 1 + i] = '_';
        }
    }
    return path;
}

bool surge_run_sheet(const struct site *site, const struct surge_run *run, struct sheet *sheet,
                     struct arena *arena, struct failure *failure)
{
    const char *name = site->network->runs[run->run].name;
    char *path = run_path(name, arena);
    double *rating = arena_take(arena, 2 * (size_t)run->count, sizeof *rating);
    if (!path || !rating) {
        return fail_memory(failure, "the surge results along a run");
    }
    double *vapour = rating + run->count;
    for (int i = 0; i < run->count; i++) {
        rating[i] = run->elevation[i] + run->allowed[i];
        vapour[i] = run->elevation[i] + water_vapour_head(&site->water);
    }
    sheet_init(sheet, path);
    sheet_attribute_text(sheet, "run", name);
    int along = sheet_dimension(sheet, "distance", (size_t)run->count);
    sheet_numbers(sheet, (struct field_head){"distance", "m", "distance from the run's beginning"},
                  along, run->distance);
    sheet_numbers(sheet, (struct field_head){"elevation", "m", "elevation of the pipe"}, along,
                  run->elevation);
    sheet_numbers(sheet,
                  (struct field_head){"ground", "m", "elevation of the ground over the pipe"},
                  along, run->ground);
    sheet_numbers(sheet, (struct field_head){"head_start", "m", "head before anything happens"},
                  along, run->head_start);
    sheet_numbers(sheet, (struct field_head){"head_max", "m", "highest head"}, along,
                  run->head_max);
    sheet_numbers(sheet, (struct field_head){"head_min", "m", "lowest head"}, along, run->head_min);
    if (run->head_max_band && run->head_min_band) {
        sheet_numbers(sheet, (struct field_head){"head_max_band", "m", "head_max is right within"},
                      along, run->head_max_band);
        sheet_numbers(sheet, (struct field_head){"head_min_band", "m", "head_min is right within"},
                      along, run->head_min_band);
    }
    sheet_numbers(sheet, (struct field_head){"rating", "m", "head at which the class is reached"},
                  along, rating);
    sheet_numbers(sheet, (struct field_head){"vapour", "m", "head at which the water boils"}, along,
                  vapour);
    return true;
}
