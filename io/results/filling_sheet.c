#include "io/results/filling_sheet.h"

#include "models/air_valve.h"
#include "models/air_vessel.h"

#include <math.h>
#include <stdio.h>

struct source {
    const struct site *site;
    const struct network *network;
    const struct filling *filling;
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

/* Columns of numbers [count] one after the other. */
static void put_columns(const struct source *source, int along, int column_count,
                        const struct field_head heads[], int count, const double *columns)
{
    for (int i = 0; i < column_count; i++) {
        sheet_numbers(source->sheet, heads[i], along, columns + (ptrdiff_t)i * count);
    }
}

static void fill_tank(const struct filling_tank_answer *tank, int count, double *column)
{
    const double values[] = {tank->level_start, tank->level_end, tank->lowest,   tank->highest,
                             tank->in,          tank->out,       tank->overflow, tank->fed,
                             tank->evaporation, tank->leak,      tank->draw,     tank->residence,
                             tank->brim_time,   tank->dry_time};
    for (size_t i = 0; i < sizeof values / sizeof values[0]; i++) {
        column[i * (size_t)count] = values[i];
    }
}

static bool put_tanks(const struct source *source, int time)
{
    static const struct field_head heads[] = {
        {"level_start", "m", "level at the start"},
        {"level_end", "m", "level at the end"},
        {"level_lowest", "m", "lowest level"},
        {"level_highest", "m", "highest level"},
        {"tank_in", "m3", "water that came in by runs"},
        {"tank_out", "m3", "water that went out by runs"},
        {"overflow", "m3", "water that ran over"},
        {"fed", "m3", "inflow and rain"},
        {"evaporation", "m3", "water evaporated"},
        {"leak", "m3", "water leaked"},
        {"tank_draw", "m3", "water drawn straight from it"},
        {"residence_time", "s", "mean volume over mean outflow"},
        {"brim_time", "s", "time running over"},
        {"dry_time", "s", "time at or below its lowest mouth"},
    };
    enum { COLUMNS = sizeof heads / sizeof heads[0] };
    const int count = source->network->tank_count;
    const char **name = take_texts(source, 1, count);
    double *columns = take_numbers(source, COLUMNS, count);
    double *moves = take_numbers(source, 1, count);
    if (!name || !columns || !moves) {
        return false;
    }
    for (int i = 0; i < count; i++) {
        name[i] = source->network->tanks[i].name;
        moves[i] = source->network->tanks[i].is_fixed ? 0 : 1;
        fill_tank(&source->filling->tanks[i], count, columns + i);
    }
    struct sheet *sheet = source->sheet;
    const int along = sheet_dimension(sheet, "tank", (size_t)count);
    sheet_texts(sheet, (struct field_head){"tank", "1", "name of the tank"}, along, name);
    sheet_wholes(sheet, (struct field_head){"tank_moves", "1", "1: its level changes"}, along,
                 moves);
    put_columns(source, along, COLUMNS, heads, count, columns);
    sheet_grid(sheet, (struct field_head){"level", "m", "level of the water"}, time, along,
               source->filling->level);
    return true;
}

static bool put_runs(const struct source *source)
{
    static const struct field_head heads[] = {
        {"run_content", "m3", "water in its pipes"},
        {"run_passed", "m3", "water that passed through it, either way"},
        {"run_residence_time", "s", "content over mean flow: how long water is under way in it"},
    };
    enum { COLUMNS = sizeof heads / sizeof heads[0] };
    const int count = source->filling->run_count;
    const char **name = take_texts(source, 1, count);
    double *columns = take_numbers(source, COLUMNS, count);
    if (!name || !columns) {
        return false;
    }
    for (int i = 0; i < count; i++) {
        const struct filling_run_answer *run = &source->filling->runs[i];
        name[i] = source->network->runs[i].name;
        columns[i] = run->content;
        columns[count + i] = run->passed;
        columns[2 * (size_t)count + (size_t)i] = run->residence;
    }
    struct sheet *sheet = source->sheet;
    const int along = sheet_dimension(sheet, "run", (size_t)count);
    sheet_texts(sheet, (struct field_head){"run", "1", "name of the run"}, along, name);
    put_columns(source, along, COLUMNS, heads, count, columns);
    return true;
}

static void fill_pump(const struct filling_pump_answer *pump, int count, double *column)
{
    const bool is_over = pump->most_starts > pump->starts_limit;
    const double values[] = {
        pump->starts,       pump->most_starts, pump->starts_limit, is_over,         pump->run_time,
        pump->shortest_run, pump->volume,      pump->volume_back,  pump->energy,    pump->cost,
        pump->primes_lost,  pump->idle_run,    pump->dry_run,      pump->air_energy};
    for (size_t i = 0; i < sizeof values / sizeof values[0]; i++) {
        column[i * (size_t)count] = values[i];
    }
}

static bool put_pumps(const struct source *source, int time)
{
    static const struct field_head heads[] = {
        {"starts", "1", "starts"},
        {"most_starts", "1", "most starts in any hour"},
        {"starts_limit", "1", "starts in an hour that are allowed"},
        {"is_over_starts_limit", "1", "1: more than allowed"},
        {"run_time", "s", "time it ran"},
        {"shortest_run", "s", "shortest run between a start and a stop"},
        {"pumped", "m3", "water that passed it forward, running or not"},
        {"ran_back", "m3", "water that ran back through it"},
        {"energy", "J", "electrical energy"},
        {"cost", "1", "cost of that energy by the tariff, in its money"},
        {"primes_lost", "1", "times its prime was lost"},
        {"idle_run", "s", "time it ran without its prime"},
        {"dry_run", "s", "time it ran while every mouth that feeds it stood out of the water"},
        {"air_energy", "J",
         "of the energy, counted in these two times as if no air were in the pump"},
    };
    enum { COLUMNS = sizeof heads / sizeof heads[0] };
    const int count = source->filling->pump_count;
    const char **name = take_texts(source, 1, count);
    double *columns = take_numbers(source, COLUMNS, count);
    if (!name || !columns) {
        return false;
    }
    for (int i = 0; i < count; i++) {
        name[i] = source->network->links[source->site->filling.pumps[i].link].name;
        fill_pump(&source->filling->pumps[i], count, columns + i);
    }
    struct sheet *sheet = source->sheet;
    const int along = sheet_dimension(sheet, "pump", (size_t)count);
    sheet_texts(sheet, (struct field_head){"pump", "1", "name of the pump"}, along, name);
    put_columns(source, along, COLUMNS, heads, count, columns);
    sheet_grid(sheet, (struct field_head){"running", "1", "1: the pump is on"}, time, along,
               source->filling->running);
    sheet_grid(sheet, (struct field_head){"energy_so_far", "J", "electrical energy so far"}, time,
               along, source->filling->energy);
    return true;
}

static bool put_flows(const struct source *source, int time)
{
    const int count = source->network->link_count;
    const char **name = take_texts(source, 1, count);
    if (!name) {
        return false;
    }
    for (int i = 0; i < count; i++) {
        name[i] = source->network->links[i].name;
    }
    struct sheet *sheet = source->sheet;
    const int along = sheet_dimension(sheet, "link", (size_t)count);
    sheet_texts(sheet, (struct field_head){"link", "1", "name of the part"}, along, name);
    sheet_grid(sheet, (struct field_head){"flow", "m3 s-1", "flow through the part"}, time, along,
               source->filling->flow);
    return true;
}

static bool put_taps(const struct source *source)
{
    static const struct field_head heads[] = {
        {"tap_lowest", "m", "lowest pressure head there while water is drawn"},
        {"tap_lowest_time", "s", "when that stood there"},
        {"tap_short_time", "s", "time drawn with less than none there: nothing comes in truth"},
        {"tap_low_time", "s", "time drawn with less than is wanted there, the former too"},
    };
    enum { COLUMNS = sizeof heads / sizeof heads[0] };
    const int count = source->filling->tap_count;
    const char **name = take_texts(source, 1, count);
    double *columns = take_numbers(source, COLUMNS, count);
    if (!name || !columns) {
        return false;
    }
    for (int i = 0; i < count; i++) {
        const struct filling_tap_answer *tap = &source->filling->taps[i];
        name[i] = source->network->points[tap->point].name;
        columns[i] = isfinite(tap->lowest) ? tap->lowest : (double)NAN;
        columns[count + i] = tap->lowest_time;
        columns[2 * (size_t)count + (size_t)i] = tap->short_time;
        columns[3 * (size_t)count + (size_t)i] = tap->low_time;
    }
    struct sheet *sheet = source->sheet;
    const int along = sheet_dimension(sheet, "tap", (size_t)count);
    sheet_texts(sheet, (struct field_head){"tap", "1", "point where water is drawn"}, along, name);
    put_columns(source, along, COLUMNS, heads, count, columns);
    return true;
}

/* "main/mouth (manhole)" for a mouth over a tank whose level is fixed. NULL: memory ended. */
static const char *end_name(const struct source *source, int index)
{
    enum { SIZE = 200 };
    const struct point *point = &source->network->points[index];
    char text[SIZE];
    if (point->tank == NETWORK_NONE || source->network->tanks[point->tank].point == index) {
        return point->name;
    }
    (void)snprintf(text, sizeof text, "%s (%s)", point->name,
                   source->network->tanks[point->tank].name);
    return arena_text(source->arena, text);
}

/* Not the gas in an air vessel, and not the air at an air valve. */
static bool is_open_end(const struct source *source, int index)
{
    for (int i = 0; i < source->network->link_count; i++) {
        const struct link *link = &source->network->links[i];
        if (link->to == index &&
            (link->element == &air_vessel_element || link->element == &air_valve_element)) {
            return false;
        }
    }
    return true;
}

static bool put_ends(const struct source *source)
{
    const int count = source->filling->edge_count;
    const char **name = take_texts(source, 1, count);
    double *is_open = take_numbers(source, 1, count);
    if (!name || !is_open) {
        return false;
    }
    for (int i = 0; i < count; i++) {
        const int point = source->filling->edges[i];
        name[i] = end_name(source, point);
        is_open[i] = is_open_end(source, point) ? 1 : 0;
        if (!name[i]) {
            return false;
        }
    }
    struct sheet *sheet = source->sheet;
    const int along = sheet_dimension(sheet, "end", (size_t)count);
    sheet_texts(sheet, (struct field_head){"end", "1", "open end or water whose level is fixed"},
                along, name);
    sheet_wholes(sheet,
                 (struct field_head){"end_is_open", "1", "0: the gas of an air vessel or valve"},
                 along, is_open);
    sheet_numbers(sheet, (struct field_head){"end_volume", "m3", "water that left there, net"},
                  along, source->filling->edge_volume);
    return true;
}

static bool put_events(const struct source *source)
{
    const struct filling *filling = source->filling;
    const int count = filling->event_count;
    const char **name = take_texts(source, 2, count);
    double *columns = take_numbers(source, 3, count);
    if (!name || !columns) {
        return false;
    }
    for (int i = 0; i < count; i++) {
        const struct filling_event *event = &filling->events[i];
        name[i] = filling_event_subject(source->site, event->kind, event->subject);
        name[count + i] = filling_event_text(event->kind);
        columns[i] = event->time;
        columns[count + i] = event->level;
        columns[2 * (size_t)count + (size_t)i] = event->kind;
    }
    static const struct field_head heads[] = {
        {"event_time", "s", "when it happened"},
        {"event_level", "m", "level that caused it"},
        {"event_kind", "1", "number of its kind"},
    };
    struct sheet *sheet = source->sheet;
    const int along = sheet_dimension(sheet, "event", (size_t)count);
    sheet_texts(sheet, (struct field_head){"event", "1", "what it happened to"}, along, name);
    sheet_texts(sheet, (struct field_head){"event_text", "1", "what happened"}, along,
                name + count);
    put_columns(source, along, 3, heads, count, columns);
    return true;
}

static void put_attributes(const struct source *source)
{
    const struct filling *filling = source->filling;
    struct sheet *sheet = source->sheet;
    sheet_attribute_text(sheet, "ending", filling_ending_text(filling->ending));
    sheet_attribute_number(sheet, "time_reached", filling->time_reached);
    sheet_attribute_number(sheet, "clock_at_start", source->site->filling.clock);
    sheet_attribute_number(sheet, "steps", filling->step_count);
    sheet_attribute_number(sheet, "steady_answers", filling->solve_count);
    sheet_attribute_number(sheet, "events", filling->switch_count);
    sheet_attribute_number(sheet, "events_kept_one_in", filling->event_stride);
    sheet_attribute_number(sheet, "water_stored", filling->stored);
    sheet_attribute_number(sheet, "water_moved", filling->moved);
    sheet_attribute_number(sheet, "water_residual", filling->residual);
    sheet_attribute_number(sheet, "draws_wanted", filling->draws_wanted);
    sheet_attribute_number(sheet, "draws_given", filling->draws_given);
    if (filling->ending == FILLING_CHATTERS) {
        sheet_attribute_text(
            sheet, "chattering",
            filling_event_subject(source->site, filling->chattering, filling->chattering_subject));
    }
}

bool filling_sheet(const struct site *site, const struct filling *filling, struct sheet *sheet,
                   struct arena *arena, struct failure *failure)
{
    const struct source source = {site, site->network, filling, sheet, arena};
    sheet_init(sheet, "/filling");
    put_attributes(&source);
    const int time = sheet_dimension(sheet, "time", (size_t)filling->time_count);
    sheet_numbers(sheet, (struct field_head){"time", "s", "time from the start"}, time,
                  filling->time);
    if (put_tanks(&source, time) && put_runs(&source) && put_pumps(&source, time) &&
        put_flows(&source, time) && put_taps(&source) && put_ends(&source) && put_events(&source)) {
        return true;
    }
    return fail_memory(failure, "the filling results");
}
