#include "io/results/steady_sheet.h"

#include <math.h>

/* What every part of the sheet is made from. */
struct source {
    const struct site *site;
    const struct network *network;
    const struct steady *steady;
    struct sheet *sheet;
    struct arena *arena;
};

/* Room for `columns` columns of `count` numbers each, one after the other. */
static double *take_numbers(const struct source *source, int columns, int count)
{
    return arena_take(source->arena, (size_t)columns * (size_t)count, sizeof(double));
}

static const char **take_texts(const struct source *source, int columns, int count)
{
    return arena_take(source->arena, (size_t)columns * (size_t)count, sizeof(const char *));
}

/* What leaves each point: its draw, and what runs out there by its own pressure (a draw that falls
 * with it, a nozzle, an open mouth, a relief valve), which is a link of its own to the air. */
static void fill_draws(const struct source *source, double draw[])
{
    const struct network *network = source->network;
    for (int i = 0; i < network->point_count; i++) {
        draw[i] = network->points[i].draw;
    }
    for (int i = 0; i < network->link_count; i++) {
        const struct link *link = &network->links[i];
        const struct point *to = &network->points[link->to];
        if (link->run == NETWORK_NONE && to->is_held && to->tank == NETWORK_NONE) {
            draw[link->from] += source->steady->flow[i];
        }
    }
}

static bool put_points(const struct source *source)
{
    const struct network *network = source->network;
    int count = network->point_count;
    const char **name = take_texts(source, 1, count);
    double *elevation = take_numbers(source, 5, count);
    if (!name || !elevation) {
        return false;
    }
    double *pressure = elevation + count;
    double *draw = pressure + count;
    double *zone = draw + count;
    double *is_named = zone + count;
    for (int i = 0; i < count; i++) {
        const struct point *point = &network->points[i];
        name[i] = point->name;
        elevation[i] = point->elevation;
        pressure[i] =
            water_pressure(&source->site->water, source->steady->head[i] - point->elevation);
        if (source->steady->zone[i] != NETWORK_NONE) {
            pressure[i] = (double)NAN; /* cut off: no pressure is defined */
        }
        zone[i] = source->steady->zone[i];
        is_named[i] = point->is_named && !point->is_held;
    }
    fill_draws(source, draw);
    struct sheet *sheet = source->sheet;
    int along = sheet_dimension(sheet, "point", (size_t)count);
    sheet_texts(sheet, (struct field_head){"point", "1", "name of the point"}, along, name);
    sheet_numbers(
        sheet, (struct field_head){"head", "m", "total head: its velocity head is not told apart"},
        along, source->steady->head);
    sheet_numbers(
        sheet,
        (struct field_head){"pressure", "Pa", "gauge pressure by that head, NAN in a zone cut off"},
        along, pressure);
    sheet_numbers(sheet, (struct field_head){"elevation", "m", "elevation of the point"}, along,
                  elevation);
    sheet_numbers(sheet, (struct field_head){"draw", "m3 s-1", "flow that leaves at the point"},
                  along, draw);
    sheet_wholes(sheet,
                 (struct field_head){"zone", "1", "zone cut off from every given head, -1: none"},
                 along, zone);
    sheet_wholes(sheet, (struct field_head){"is_named", "1", "1: a point the case names"}, along,
                 is_named);
    return true;
}

static void fill_link(const struct source *source, int i, double *velocity, double *opening)
{
    const struct link *link = &source->network->links[i];
    double flow = source->steady->flow[i];
    *velocity = flow / link->area;
    *opening = link->element->opening
                   ? link->element->opening(link->data, &source->site->water, flow)
                   : (double)NAN;
}

static bool put_links(const struct source *source)
{
    const struct network *network = source->network;
    int count = network->link_count;
    const char **name = take_texts(source, 5, count);
    double *velocity = take_numbers(source, 2, count);
    if (!name || !velocity) {
        return false;
    }
    const char **kind = name + count;
    const char **from = kind + count;
    const char **to = from + count;
    const char **run = to + count;
    double *opening = velocity + count;
    for (int i = 0; i < count; i++) {
        const struct link *link = &network->links[i];
        name[i] = link->name;
        kind[i] = link->element->kind;
        from[i] = network->points[link->from].name;
        to[i] = network->points[link->to].name;
        run[i] = link->run == NETWORK_NONE ? "" : network->runs[link->run].name;
        fill_link(source, i, &velocity[i], &opening[i]);
    }
    struct sheet *sheet = source->sheet;
    int along = sheet_dimension(sheet, "link", (size_t)count);
    sheet_texts(sheet, (struct field_head){"link", "1", "name of the part"}, along, name);
    sheet_texts(sheet, (struct field_head){"kind", "1", "kind of the part"}, along, kind);
    sheet_texts(sheet, (struct field_head){"from", "1", "point it begins at"}, along, from);
    sheet_texts(sheet, (struct field_head){"to", "1", "point it ends at"}, along, to);
    sheet_texts(sheet, (struct field_head){"link_run", "1", "run it belongs to"}, along, run);
    sheet_numbers(sheet, (struct field_head){"flow", "m3 s-1", "flow from `from` to `to`"}, along,
                  source->steady->flow);
    sheet_numbers(sheet, (struct field_head){"velocity", "m s-1", "velocity in the bore"}, along,
                  velocity);
    sheet_numbers(sheet, (struct field_head){"loss", "m", "head at `from` less head at `to`"},
                  along, source->steady->drop);
    sheet_numbers(sheet, (struct field_head){"opening", "1", "share open"}, along, opening);
    return true;
}

static bool put_tanks(const struct source *source)
{
    const struct network *network = source->network;
    int count = network->tank_count;
    const char **name = take_texts(source, 1, count);
    double *level = take_numbers(source, 2, count);
    if (!name || !level) {
        return false;
    }
    double *inflow = level + count;
    for (int i = 0; i < count; i++) {
        name[i] = network->tanks[i].name;
        level[i] = network->tanks[i].level;
    }
    for (int i = 0; i < network->link_count; i++) {
        int from = network->points[network->links[i].from].tank;
        int to = network->points[network->links[i].to].tank;
        if (from != NETWORK_NONE) {
            inflow[from] -= source->steady->flow[i];
        }
        if (to != NETWORK_NONE) {
            inflow[to] += source->steady->flow[i];
        }
    }
    struct sheet *sheet = source->sheet;
    int along = sheet_dimension(sheet, "tank", (size_t)count);
    sheet_texts(sheet, (struct field_head){"tank", "1", "name of the tank"}, along, name);
    sheet_numbers(sheet, (struct field_head){"tank_level", "m", "water level in the tank"}, along,
                  level);
    sheet_numbers(sheet, (struct field_head){"tank_inflow", "m3 s-1", "net flow into the tank"},
                  along, inflow);
    return true;
}

/* Largest velocity in the pipes of a run (in any part when it has no pipe), m/s. */
static double run_velocity(const struct source *source, const struct run *run)
{
    double in_pipe = -1.0;
    double in_part = 0.0;
    for (int i = run->first_link; i < run->first_link + run->link_count; i++) {
        const struct link *link = &source->network->links[i];
        double velocity = fabs(source->steady->flow[i]) / link->area;
        in_part = fmax(in_part, velocity);
        if (link->element->pipe) {
            in_pipe = fmax(in_pipe, velocity);
        }
    }
    return in_pipe >= 0.0 ? in_pipe : in_part;
}

static bool put_runs(const struct source *source)
{
    const struct network *network = source->network;
    int count = network->run_count;
    const char **name = take_texts(source, 3, count);
    double *flow = take_numbers(source, 3, count);
    if (!name || !flow) {
        return false;
    }
    const char **from = name + count;
    const char **to = from + count;
    double *velocity = flow + count;
    double *rise = velocity + count;
    for (int i = 0; i < count; i++) {
        const struct run *run = &network->runs[i];
        name[i] = run->name;
        from[i] = network->points[run->from].name;
        to[i] = network->points[run->to].name;
        flow[i] = run->link_count > 0 ? source->steady->flow[run->first_link] : 0.0;
        velocity[i] = run_velocity(source, run);
        rise[i] = source->steady->head[run->to] - source->steady->head[run->from];
    }
    struct sheet *sheet = source->sheet;
    int along = sheet_dimension(sheet, "run", (size_t)count);
    sheet_texts(sheet, (struct field_head){"run", "1", "name of the run"}, along, name);
    sheet_texts(sheet, (struct field_head){"run_from", "1", "point it begins at"}, along, from);
    sheet_texts(sheet, (struct field_head){"run_to", "1", "point it ends at"}, along, to);
    sheet_numbers(sheet, (struct field_head){"run_flow", "m3 s-1", "flow at its beginning"}, along,
                  flow);
    sheet_numbers(sheet, (struct field_head){"run_velocity", "m s-1", "largest velocity in pipe"},
                  along, velocity);
    sheet_numbers(sheet, (struct field_head){"run_rise", "m", "head gained from end to end"}, along,
                  rise);
    return true;
}

static bool put_pumps(const struct source *source)
{
    const struct site *site = source->site;
    int count = site->pump_place_count;
    const char **name = take_texts(source, 1, count);
    double *flow = take_numbers(source, 6, count);
    if (!name || !flow) {
        return false;
    }
    double *head = flow + count;
    double *power = head + count;
    double *available = power + count;
    double *required = available + count;
    double *margin = required + count;
    for (int i = 0; i < count; i++) {
        const struct pump_place *place = &site->pump_places[i];
        const struct link *link = &source->network->links[place->link];
        const struct pump_unit *unit = link->data;
        double speed = unit->is_running ? unit->speed : 0.0;
        flow[i] = source->steady->flow[place->link];
        bool is_pumping = speed > 0.0 && flow[i] >= 0.0;
        name[i] = link->name;
        head[i] = -source->steady->drop[place->link];
        power[i] = is_pumping ? pump_power(unit->pump, flow[i], speed) : (double)NAN;
        available[i] =
            source->steady->zone[link->from] == NETWORK_NONE
                ? pump_npsh_available(&site->water, source->steady->head[link->from], place->axis)
                : (double)NAN; /* cut off: no pressure is defined */
        required[i] = is_pumping ? pump_npsh(unit->pump, flow[i], speed) : (double)NAN;
        margin[i] = available[i] - required[i];
    }
    struct sheet *sheet = source->sheet;
    int along = sheet_dimension(sheet, "pump", (size_t)count);
    sheet_texts(sheet, (struct field_head){"pump", "1", "name of the pump"}, along, name);
    sheet_numbers(sheet, (struct field_head){"pump_flow", "m3 s-1", "flow through the pump"}, along,
                  flow);
    sheet_numbers(sheet, (struct field_head){"pump_head", "m", "head the pump adds"}, along, head);
    sheet_numbers(sheet, (struct field_head){"pump_power", "W", "power at the shaft"}, along,
                  power);
    sheet_numbers(sheet, (struct field_head){"npsh_available", "m", "NPSH available"}, along,
                  available);
    sheet_numbers(sheet, (struct field_head){"npsh_required", "m", "NPSH the pump requires"}, along,
                  required);
    sheet_numbers(sheet, (struct field_head){"npsh_margin", "m", "NPSH available less required"},
                  along, margin);
    return true;
}

static bool put_valves(const struct source *source)
{
    const struct site *site = source->site;
    int count = site->valve_count;
    const char **name = take_texts(source, 2, count);
    double *flow = take_numbers(source, 4, count);
    if (!name || !flow) {
        return false;
    }
    const char **type = name + count;
    double *velocity = flow + count;
    double *head = velocity + count;
    double *opening = head + count;
    for (int i = 0; i < count; i++) {
        int at = site->valves[i].link;
        const struct non_return *valve = source->network->links[at].data;
        name[i] = source->network->links[at].name;
        type[i] = valve->type;
        flow[i] = source->steady->flow[at];
        head[i] = source->steady->drop[at];
        fill_link(source, at, &velocity[i], &opening[i]);
    }
    struct sheet *sheet = source->sheet;
    int along = sheet_dimension(sheet, "valve", (size_t)count);
    sheet_texts(sheet, (struct field_head){"valve", "1", "name of the non-return valve"}, along,
                name);
    sheet_texts(sheet, (struct field_head){"valve_type", "1", "its type"}, along, type);
    sheet_numbers(sheet, (struct field_head){"valve_flow", "m3 s-1", "flow through it"}, along,
                  flow);
    sheet_numbers(sheet, (struct field_head){"valve_velocity", "m s-1", "velocity in its bore"},
                  along, velocity);
    sheet_numbers(sheet, (struct field_head){"valve_head", "m", "head it takes"}, along, head);
    sheet_numbers(sheet, (struct field_head){"valve_opening", "1", "share open"}, along, opening);
    return true;
}

bool steady_sheet(const struct site *site, const struct steady *steady, struct sheet *sheet,
                  struct arena *arena, struct failure *failure)
{
    const struct source source = {site, site->network, steady, sheet, arena};
    sheet_init(sheet, "/steady");
    sheet_attribute_text(sheet, "ending", steady_ending_text(steady->ending));
    sheet_attribute_number(sheet, "iterations", steady->steps);
    sheet_attribute_number(sheet, "mass_residual", steady->mass_residual);
    sheet_attribute_number(sheet, "energy_residual", steady->energy_residual);
    sheet_attribute_number(sheet, "complementarity", steady->complementarity);
    sheet_attribute_number(sheet, "zones_cut_off", steady->zone_count);
    if (put_points(&source) && put_links(&source) && put_tanks(&source) && put_runs(&source) &&
        put_pumps(&source) && put_valves(&source)) {
        return true;
    }
    return fail_memory(failure, "the steady results");
}
