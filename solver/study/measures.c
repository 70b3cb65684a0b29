#include "solver/study/measures.h"

#include <math.h>
#include <string.h>

static const double NONE = (double)NAN;

static double flow(const struct measure_view *view, int link)
{
    return view->steady->flow[link];
}

static double head_taken(const struct measure_view *view, int link)
{
    return view->steady->drop[link];
}

static double velocity(const struct measure_view *view, int link)
{
    return view->steady->flow[link] / view->site->network->links[link].area;
}

static double opening(const struct measure_view *view, int place)
{
    const int number = view->site->valves[place].link;
    const struct link *link = &view->site->network->links[number];
    return link->element->opening
               ? link->element->opening(link->data, &view->site->water, view->steady->flow[number])
               : NONE;
}

static double head(const struct measure_view *view, int point)
{
    return view->steady->zone[point] == NETWORK_NONE ? view->steady->head[point] : NONE;
}

static double pressure(const struct measure_view *view, int point)
{
    const struct water *water = &view->site->water;
    const double gauge = head(view, point) - view->site->network->points[point].elevation;
    return gauge * water->density * water->gravity;
}

static const struct pump_unit *unit_at(const struct measure_view *view, int place)
{
    return view->site->network->links[view->site->pump_places[place].link].data;
}

/* NPSH available less required (Hydraulic Institute's definition: absolute pressure head at the
 * pump's axis above the vapour pressure head). */
static double suction_margin(const struct measure_view *view, int place)
{
    const int number = view->site->pump_places[place].link;
    const struct link *link = &view->site->network->links[number];
    const struct pump_unit *unit = unit_at(view, place);
    const double through = view->steady->flow[number];
    if (!unit->is_running || !(through > 0.0)) {
        return NONE;
    }
    const double gauge = head(view, link->from) - view->site->network->points[link->from].elevation;
    return gauge - water_vapour_head(&view->site->water) -
           pump_npsh(unit->pump, through, unit->speed);
}

/* At the shaft; electric where the motor is known. */
static double power(const struct measure_view *view, int place)
{
    const struct pump_unit *unit = unit_at(view, place);
    const double through = view->steady->flow[view->site->pump_places[place].link];
    const double efficiency = unit->pump->motor_efficiency;
    if (!unit->is_running) {
        return 0.0;
    }
    return pump_power(unit->pump, fmax(through, 0.0), unit->speed) /
           (efficiency > 0.0 ? efficiency : 1.0);
}

static double power_of_all(const struct measure_view *view, int none)
{
    double sum = 0.0;
    (void)none;
    for (int i = 0; i < view->site->pump_place_count; i++) {
        sum += power(view, i);
    }
    return sum;
}

static double delivered(const struct measure_view *view, int none)
{
    double sum = 0.0;
    (void)none;
    for (int i = 0; i < view->site->pump_place_count; i++) {
        if (unit_at(view, i)->is_running) {
            sum += fmax(view->steady->flow[view->site->pump_places[i].link], 0.0);
        }
    }
    return sum;
}

static double energy(const struct measure_view *view, int none)
{
    const double flow_of_all = delivered(view, none);
    return flow_of_all > 0.0 ? power_of_all(view, none) / flow_of_all : NONE;
}

static double reverse_velocity(const struct measure_view *view, int place)
{
    return view->surge->valves[place].reverse_velocity;
}

static double slam_head(const struct measure_view *view, int place)
{
    return view->surge->valves[place].slam_head;
}

/* After the first event. */
static double shut_time(const struct measure_view *view, int place)
{
    const struct surge_valve *valve = &view->surge->valves[place];
    const struct surge_plan *plan = &view->site->surge;
    const double first = plan->event_count > 0 ? plan->events[0].at : 0.0;
    return valve->has_shut ? valve->shut_time - first : NONE;
}

static double highest_head(const struct measure_view *view, int point)
{
    return view->surge->head_max[point];
}

static double lowest_head(const struct measure_view *view, int point)
{
    return view->surge->head_min[point];
}

/* Highest pressure as a share of what its pipe allows, the worst place of all. */
static double highest_share(const struct measure_view *view, int none)
{
    double highest = NONE;
    (void)none;
    for (int i = 0; i < view->surge->run_count; i++) {
        const struct surge_run *run = &view->surge->runs[i];
        for (int k = 0; k < run->count; k++) {
            const double share = (run->head_max[k] - run->elevation[k]) / run->allowed[k];
            highest = isfinite(share) && !(share <= highest) ? share : highest;
        }
    }
    return highest;
}

static double lowest_margin(const struct measure_view *view, int none)
{
    double lowest = NONE;
    (void)none;
    for (int i = 0; i < view->surge->run_count; i++) {
        const struct surge_run *run = &view->surge->runs[i];
        for (int k = 0; k < run->count; k++) {
            const double margin = run->head_min[k] - run->elevation[k];
            lowest = margin >= lowest ? lowest : margin;
        }
    }
    return lowest - water_vapour_head(&view->site->water);
}

static double largest_cavity(const struct measure_view *view, int none)
{
    (void)none;
    return view->surge->largest_cavity;
}

/* Share of rated speed, the least over the run; below 0: it turned backward. */
static double lowest_speed(const struct measure_view *view, int place)
{
    double lowest = NONE;
    for (int i = 0; i < view->surge->time_count; i++) {
        lowest =
            fmin(view->surge->speed[(ptrdiff_t)i * view->site->pump_place_count + place], lowest);
    }
    return lowest;
}

/* clang-format off */
static const struct measure_kind kinds[] = {
    {"flow", "m3 s-1", "steady flow through a part", MEASURE_OF_LINK, false, true, flow},
    {"head taken", "m", "head a part takes in steady flow", MEASURE_OF_LINK, false, false, head_taken},
    {"velocity", "m s-1", "steady velocity in a part's bore", MEASURE_OF_LINK, false, false, velocity},
    {"opening", "1", "share a non-return valve stands open in steady flow", MEASURE_OF_VALVE, false, true, opening},
    {"head", "m", "piezometric head at a point in steady flow", MEASURE_OF_POINT, false, true, head},
    {"pressure", "Pa", "gauge pressure at a point in steady flow", MEASURE_OF_POINT, false, true, pressure},
    {"suction margin", "m", "net positive suction head available less required", MEASURE_OF_PUMP, false, true, suction_margin},
    {"power", "W", "power of a pump", MEASURE_OF_PUMP, false, false, power},
    {"power of all", "W", "power of all running pumps", MEASURE_OF_SITE, false, false, power_of_all},
    {"delivered", "m3 s-1", "steady flow through all running pumps", MEASURE_OF_SITE, false, true, delivered},
    {"energy", "J m-3", "energy for a cubic metre delivered", MEASURE_OF_SITE, false, false, energy},
    {"reverse velocity", "m s-1", "reverse velocity in a non-return valve's bore as it met its seat", MEASURE_OF_VALVE, true, false, reverse_velocity},
    {"slam head", "m", "head rise as a non-return valve met its seat", MEASURE_OF_VALVE, true, false, slam_head},
    {"shut time", "s", "from the first event until a non-return valve first met its seat", MEASURE_OF_VALVE, true, false, shut_time},
    {"highest head", "m", "highest head at a point during the surge", MEASURE_OF_POINT, true, false, highest_head},
    {"lowest head", "m", "lowest head at a point during the surge", MEASURE_OF_POINT, true, true, lowest_head},
    {"lowest speed", "1", "least speed of a pump during the surge, share of rated; below 0 it turned backward", MEASURE_OF_PUMP, true, true, lowest_speed},
    {"highest share", "1", "highest pressure during the surge as a share of what the pipe allows", MEASURE_OF_SITE, true, false, highest_share},
    {"lowest margin", "m", "lowest head above boiling along all runs during the surge", MEASURE_OF_SITE, true, true, lowest_margin},
    {"largest cavity", "m3", "largest volume of vapour during the surge", MEASURE_OF_SITE, true, false, largest_cavity},
};
/* clang-format on */

int measure_kind_count(void)
{
    return (int)(sizeof kinds / sizeof *kinds);
}

const struct measure_kind *measure_kind_at(int index)
{
    return &kinds[index];
}

const struct measure_kind *measure_kind_find(const char *name, const char **rest)
{
    const struct measure_kind *found = NULL;
    size_t longest = 0;
    for (int i = 0; i < measure_kind_count(); i++) {
        const size_t length = strlen(kinds[i].words);
        if (strncmp(name, kinds[i].words, length) != 0 || length <= longest) {
            continue; /* the name may be shorter than these words */
        }
        const bool is_whole = name[length] == '\0';
        if (is_whole || (name[length] == ' ' && kinds[i].subject != MEASURE_OF_SITE)) {
            found = &kinds[i];
            longest = length;
        }
    }
    if (found) {
        *rest = name + longest;
    }
    return found;
}

int measure_find_subject(const struct measure *measure, const struct site *site)
{
    const struct network *network = site->network;
    if (measure->kind->subject == MEASURE_OF_SITE) {
        return 0;
    }
    if (measure->kind->subject == MEASURE_OF_POINT) {
        return network_find_point(network, measure->subject);
    }
    const int link = network_find_link(network, measure->subject);
    if (link == NETWORK_NONE || measure->kind->subject == MEASURE_OF_LINK) {
        return link;
    }
    const bool is_pump = measure->kind->subject == MEASURE_OF_PUMP;
    const int count = is_pump ? site->pump_place_count : site->valve_count;
    for (int i = 0; i < count; i++) {
        if (link == (is_pump ? site->pump_places[i].link : site->valves[i].link)) {
            return i;
        }
    }
    return NETWORK_NONE;
}

double measure_value(const struct measure *measure, const struct measure_view *view)
{
    const int index = measure_find_subject(measure, view->site);
    if (index == NETWORK_NONE || (measure->kind->is_of_surge && !view->surge)) {
        return NONE;
    }
    return measure->kind->value(view, index);
}
