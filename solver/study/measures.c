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

/* NPSH available less required. */
static double suction_margin(const struct measure_view *view, int place)
{
    const int number = view->site->pump_places[place].link;
    const struct link *link = &view->site->network->links[number];
    const struct pump_unit *unit = unit_at(view, place);
    const double through = view->steady->flow[number];
    if (!unit->is_running || !(through > 0.0)) {
        return NONE;
    }
    return pump_npsh_available(&view->site->water, head(view, link->from),
                               view->site->pump_places[place].axis) -
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

static double collapse_pressure(const struct measure_view *view, int none)
{
    (void)none;
    return view->surge->collapse.pressure;
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

/* --- of the hours and days --- */

static double final_level(const struct measure_view *view, int tank)
{
    return view->filling->tanks[tank].level_end;
}

static double lowest_level(const struct measure_view *view, int tank)
{
    return view->filling->tanks[tank].lowest;
}

static double highest_level(const struct measure_view *view, int tank)
{
    return view->filling->tanks[tank].highest;
}

static double overflow(const struct measure_view *view, int tank)
{
    return view->filling->tanks[tank].overflow;
}

static double dry_time(const struct measure_view *view, int tank)
{
    return view->filling->tanks[tank].dry_time;
}

static double residence_time(const struct measure_view *view, int tank)
{
    return view->filling->tanks[tank].residence;
}

/* The plan keeps its pumps in an order of its own. */
static const struct filling_pump_answer *pump_answer(const struct measure_view *view, int place)
{
    const struct filling_plan *plan = &view->site->filling;
    int i = 0;
    while (i < plan->pump_count && plan->pumps[i].link != view->site->pump_places[place].link) {
        i++;
    }
    return i < plan->pump_count ? &view->filling->pumps[i] : NULL;
}

static double starts(const struct measure_view *view, int place)
{
    const struct filling_pump_answer *pump = pump_answer(view, place);
    return pump ? pump->starts : NONE;
}

static double most_starts(const struct measure_view *view, int place)
{
    const struct filling_pump_answer *pump = pump_answer(view, place);
    return pump ? pump->most_starts : NONE;
}

static double run_time(const struct measure_view *view, int place)
{
    const struct filling_pump_answer *pump = pump_answer(view, place);
    return pump ? pump->run_time : NONE;
}

static double pumped(const struct measure_view *view, int place)
{
    const struct filling_pump_answer *pump = pump_answer(view, place);
    return pump ? pump->volume : NONE;
}

static double ran_back(const struct measure_view *view, int place)
{
    const struct filling_pump_answer *pump = pump_answer(view, place);
    return pump ? pump->volume_back : NONE;
}

static double primes_lost(const struct measure_view *view, int place)
{
    const struct filling_pump_answer *pump = pump_answer(view, place);
    return pump ? pump->primes_lost : NONE;
}

static double dry_run(const struct measure_view *view, int place)
{
    const struct filling_pump_answer *pump = pump_answer(view, place);
    return pump ? pump->dry_run : NONE;
}

static double energy_used(const struct measure_view *view, int place)
{
    const struct filling_pump_answer *pump = pump_answer(view, place);
    return pump ? pump->energy : NONE;
}

static double cost(const struct measure_view *view, int place)
{
    const struct filling_pump_answer *pump = pump_answer(view, place);
    return pump ? pump->cost : NONE;
}

/* NAN when one pump's is not known. */
static double energy_of_all(const struct measure_view *view, int none)
{
    double sum = 0.0;
    (void)none;
    for (int i = 0; i < view->filling->pump_count; i++) {
        sum += view->filling->pumps[i].energy;
    }
    return sum;
}

static double cost_of_all(const struct measure_view *view, int none)
{
    double sum = 0.0;
    (void)none;
    for (int i = 0; i < view->filling->pump_count; i++) {
        sum += view->filling->pumps[i].cost;
    }
    return sum;
}

/* Only at an open end, or at water whose level is fixed. */
static double volume_left(const struct measure_view *view, int point)
{
    for (int i = 0; i < view->filling->edge_count; i++) {
        if (view->filling->edges[i] == point) {
            return view->filling->edge_volume[i];
        }
    }
    return NONE;
}

static double draws_missed(const struct measure_view *view, int none)
{
    (void)none;
    return view->filling->draws_wanted - view->filling->draws_given;
}

/* clang-format off */
static const struct measure_kind kinds[] = {
    {"flow", "m3 s-1", "steady flow through a part", MEASURE_OF_LINK, STUDY_STEADY, true, flow},
    {"head taken", "m", "head a part takes in steady flow", MEASURE_OF_LINK, STUDY_STEADY, false, head_taken},
    {"velocity", "m s-1", "steady velocity in a part's bore", MEASURE_OF_LINK, STUDY_STEADY, false, velocity},
    {"opening", "1", "share a non-return valve stands open in steady flow", MEASURE_OF_VALVE, STUDY_STEADY, true, opening},
    {"head", "m", "total head at a point in steady flow", MEASURE_OF_POINT, STUDY_STEADY, true, head},
    {"pressure", "Pa", "gauge pressure at a point in steady flow", MEASURE_OF_POINT, STUDY_STEADY, true, pressure},
    {"suction margin", "m", "net positive suction head available less required", MEASURE_OF_PUMP, STUDY_STEADY, true, suction_margin},
    {"power", "W", "power of a pump", MEASURE_OF_PUMP, STUDY_STEADY, false, power},
    {"power of all", "W", "power of all running pumps", MEASURE_OF_SITE, STUDY_STEADY, false, power_of_all},
    {"delivered", "m3 s-1", "steady flow through all running pumps", MEASURE_OF_SITE, STUDY_STEADY, true, delivered},
    {"energy", "J m-3", "energy for a cubic metre delivered", MEASURE_OF_SITE, STUDY_STEADY, false, energy},
    {"reverse velocity", "m s-1", "reverse velocity in a non-return valve's bore as it met its seat", MEASURE_OF_VALVE, STUDY_SURGE, false, reverse_velocity},
    {"slam head", "m", "head rise as a non-return valve met its seat", MEASURE_OF_VALVE, STUDY_SURGE, false, slam_head},
    {"shut time", "s", "from the first event until a non-return valve first met its seat", MEASURE_OF_VALVE, STUDY_SURGE, false, shut_time},
    {"highest head", "m", "highest head at a point during the surge", MEASURE_OF_POINT, STUDY_SURGE, false, highest_head},
    {"lowest head", "m", "lowest head at a point during the surge", MEASURE_OF_POINT, STUDY_SURGE, true, lowest_head},
    {"lowest speed", "1", "least speed of a pump during the surge, share of rated; below 0 it turned backward", MEASURE_OF_PUMP, STUDY_SURGE, true, lowest_speed},
    {"highest share", "1", "highest pressure during the surge as a share of what the pipe allows", MEASURE_OF_SITE, STUDY_SURGE, false, highest_share},
    {"lowest margin", "m", "lowest head above boiling along all runs during the surge", MEASURE_OF_SITE, STUDY_SURGE, true, lowest_margin},
    {"largest cavity", "m3", "largest volume of vapour during the surge", MEASURE_OF_SITE, STUDY_SURGE, false, largest_cavity},
    {"collapse pressure", "m", "highest pressure at a cavity within a wave's way there and back of its shutting", MEASURE_OF_SITE, STUDY_SURGE, false, collapse_pressure},
    {"final level", "m", "level of a tank at the end of the hours run", MEASURE_OF_TANK, STUDY_FILL, true, final_level},
    {"lowest level", "m", "lowest level of a tank", MEASURE_OF_TANK, STUDY_FILL, true, lowest_level},
    {"highest level", "m", "highest level of a tank", MEASURE_OF_TANK, STUDY_FILL, false, highest_level},
    {"overflow", "m3", "water that ran over a tank's brim", MEASURE_OF_TANK, STUDY_FILL, false, overflow},
    {"dry time", "s", "time a tank stood at or below its lowest mouth", MEASURE_OF_TANK, STUDY_FILL, false, dry_time},
    {"residence time", "s", "mean volume of a tank over its mean outflow", MEASURE_OF_TANK, STUDY_FILL, false, residence_time},
    {"starts", "1", "starts of a pump", MEASURE_OF_PUMP, STUDY_FILL, false, starts},
    {"most starts", "1", "most starts of a pump in any hour", MEASURE_OF_PUMP, STUDY_FILL, false, most_starts},
    {"run time", "s", "time a pump ran", MEASURE_OF_PUMP, STUDY_FILL, false, run_time},
    {"pumped", "m3", "water a pump delivered", MEASURE_OF_PUMP, STUDY_FILL, true, pumped},
    {"ran back", "m3", "water that ran back through a pump", MEASURE_OF_PUMP, STUDY_FILL, false, ran_back},
    {"primes lost", "1", "times a pump lost its prime", MEASURE_OF_PUMP, STUDY_FILL, false, primes_lost},
    {"dry run", "s", "time a pump ran while every mouth that feeds it stood out of the water", MEASURE_OF_PUMP, STUDY_FILL, false, dry_run},
    {"energy used", "J", "electrical energy of a pump", MEASURE_OF_PUMP, STUDY_FILL, false, energy_used},
    {"energy of all", "J", "electrical energy of all pumps", MEASURE_OF_SITE, STUDY_FILL, false, energy_of_all},
    {"cost", "1", "cost of a pump's energy by the tariff, in its money", MEASURE_OF_PUMP, STUDY_FILL, false, cost},
    {"cost of all", "1", "cost of all pumps' energy by the tariff, in its money", MEASURE_OF_SITE, STUDY_FILL, false, cost_of_all},
    {"volume left", "m3", "water that left the site at an open end, or at water whose level is fixed", MEASURE_OF_POINT, STUDY_FILL, true, volume_left},
    {"draws missed", "m3", "water that draws wanted and did not get", MEASURE_OF_SITE, STUDY_FILL, false, draws_missed},
};
/* clang-format on */

const char *study_runs_text(unsigned runs)
{
    static const char *const texts[] = {"steady", "steady and surge", "steady and filling",
                                        "steady, surge and filling"};
    return texts[runs & (STUDY_SURGE | STUDY_FILL)];
}

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
    if (measure->kind->subject == MEASURE_OF_TANK) {
        return network_find_tank(network, measure->subject);
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
    const bool has_run = (measure->kind->run != STUDY_SURGE || view->surge) &&
                         (measure->kind->run != STUDY_FILL || view->filling);
    if (index == NETWORK_NONE || !has_run) {
        return NONE;
    }
    return measure->kind->value(view, index);
}
