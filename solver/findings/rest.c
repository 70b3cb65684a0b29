/* Rules on the site at rest: with every pump stopped, what still flows, from which tank into which,
 * and whether each non-return valve finds the back head it needs to be tight. */
#include "models/float_valve.h"
#include "solver/findings/reach.h"
#include "solver/findings/rules.h"

#include <math.h>

static const struct finding FEEDS = {
    .level = FINDING_WARNING,
    .rule = "flows at rest",
    .text = "with all pumps stopped water runs this way through a standing pump; what arrives",
    .limit = 0.0,
    .unit = "m3/s",
    .remedy = "put a non-return valve in, or end the pipe above the water",
    .source = "steady answer with all pumps stopped",
    .question = 43};

static const struct finding RUNS_ON = {
    .level = FINDING_WARNING,
    .rule = "flows at rest",
    .text = "with all pumps stopped water runs on forward through a standing pump; what arrives",
    .limit = 0.0,
    .unit = "m3/s",
    .remedy = "nothing, if that is meant; a non-return valve does not stop it: let air in at the "
              "highest point, end the pipe above the water it comes from, or shut a valve",
    .source = "steady answer with all pumps stopped",
    .question = 43};

static const struct finding FEEDS_BY_GRAVITY = {
    .level = FINDING_NOTE,
    .rule = "flows at rest",
    .text = "feeds by gravity alone and goes on when the pumps stop; what arrives",
    .limit = 0.0,
    .unit = "m3/s",
    .remedy = "nothing, if that is meant; else mind that the tank empties unless the pumps return",
    .source = "steady answer with all pumps stopped",
    .question = 43};

static const struct finding FILLS = {
    .level = FINDING_WARNING,
    .rule = "fills at rest",
    .text = "with all pumps stopped water still enters this tank; time until it is at the brim",
    .unit = "s",
    .remedy = "put a non-return valve in, or an overflow of enough capacity",
    .source = "steady answer with all pumps stopped",
    .question = 45};

static const struct finding WILL_NOT_SEAT = {
    .level = FINDING_WARNING,
    .rule = "seating",
    .text = "back head on the valve at rest when it alone holds",
    .unit = "m",
    .remedy = "take a spring valve, or let the pipe stand full behind it",
    .source = "seating head of the valve",
    .question = 54};

static const struct finding WILL_NOT_HOLD = {
    .level = FINDING_FAILED,
    .rule = "holding",
    .text = "back head on the valve at rest when it alone holds; more than its part bears",
    .unit = "m",
    .remedy =
        "take a valve with a seat; rubber lips fold inward: ask their maker for what they hold",
    .source = "holding head of the valve",
    .question = 54};

static double net_inflow(const struct view *view, int point)
{
    double inflow = 0.0;
    for (int i = 0; i < view->network->link_count; i++) {
        const struct link *link = &view->network->links[i];
        inflow += link->to == point ? view->rest->flow[i] : 0.0;
        inflow -= link->from == point ? view->rest->flow[i] : 0.0;
    }
    return inflow;
}

/* What comes in, whatever leaves again. */
static double gross_inflow(const struct view *view, int point)
{
    double inflow = 0.0;
    for (int i = 0; i < view->network->link_count; i++) {
        const struct link *link = &view->network->links[i];
        inflow += link->to == point ? fmax(view->rest->flow[i], 0.0) : 0.0;
        inflow += link->from == point ? fmax(-view->rest->flow[i], 0.0) : 0.0;
    }
    return inflow;
}

/* What comes in through runs with a float valve that shuts before the tank is at its brim. */
static double stopped_inflow(const struct view *view, const struct tank *tank)
{
    const struct network *network = view->network;
    double inflow = 0.0;
    for (int i = 0; i < network->link_count; i++) {
        const struct link *link = &network->links[i];
        const struct float_valve *valve = link->data;
        const bool leads_here =
            link->run != NETWORK_NONE &&
            network->points[network->runs[link->run].to].tank == network->points[tank->point].tank;
        if (link->element == &float_valve_element && leads_here &&
            valve->shut_level <= tank->brim) {
            inflow += fmax(view->rest->flow[i], 0.0);
        }
    }
    return inflow;
}

/* Where the water of one tank goes at rest, and where that goes which ran through a standing pump.
 */
struct ways {
    struct reach reach;
    bool *is_fed;   /* [point_count] */
    bool *is_after; /* [point_count] behind a pump that its water runs back through */
    bool *is_ahead; /* [point_count] behind a pump that its water runs forward through */
};

static bool ways_init(struct ways *ways, const struct view *view, struct arena *arena,
                      struct failure *failure)
{
    const size_t points = (size_t)view->network->point_count;
    ways->is_fed = arena_take(arena, points, sizeof *ways->is_fed);
    ways->is_after = arena_take(arena, points, sizeof *ways->is_after);
    ways->is_ahead = arena_take(arena, points, sizeof *ways->is_ahead);
    if (!ways->is_fed || !ways->is_after || !ways->is_ahead) {
        return fail_memory(failure, "the ways of the water at rest");
    }
    return reach_init(&ways->reach, view->network, view->rest, view_still, arena, failure);
}

static void note_reached(struct ways *ways, const struct network *network, bool *notes)
{
    for (int i = 0; i < network->point_count; i++) {
        notes[i] = notes[i] || reach_came_by(&ways->reach, i);
    }
}

/* Water that runs back at rest through a standing pump is what a non-return valve is there to stop;
 * what runs forward, down a siphon or from a higher tank, passes it. */
static void find_ways(struct ways *ways, const struct view *view, int from)
{
    const struct network *network = view->network;
    for (int i = 0; i < network->point_count; i++) {
        ways->is_fed[i] = false;
        ways->is_after[i] = false;
        ways->is_ahead[i] = false;
    }
    reach_from(&ways->reach, from);
    note_reached(ways, network, ways->is_fed);
    for (int i = 0; i < view->site->pump_place_count; i++) {
        const int pump = view->site->pump_places[i].link;
        const struct link *link = &network->links[pump];
        const double flow = view->rest->flow[pump];
        const int before = flow > 0.0 ? link->from : link->to;
        const bool is_tank = before != from && network->points[before].is_held;
        if (fabs(flow) > view_still && ways->is_fed[before] && !is_tank) {
            reach_from(&ways->reach, flow > 0.0 ? link->to : link->from);
            note_reached(ways, network, flow > 0.0 ? ways->is_ahead : ways->is_after);
        }
    }
}

static const struct finding *kind_of(bool is_after, bool is_ahead)
{
    return is_after ? &FEEDS : is_ahead ? &RUNS_ON : &FEEDS_BY_GRAVITY;
}

/* One finding for each place that this tank's water comes to at rest: tanks and open ends. */
static void tell_fed(const struct view *view, struct ways *ways, int from, double outflow)
{
    bool is_told = false;
    bool is_after = false;
    bool is_ahead = false;
    find_ways(ways, view, from);
    for (int i = 0; i < view->network->point_count; i++) {
        const struct point *end = &view->network->points[i];
        is_after = is_after || ways->is_after[i];
        is_ahead = is_ahead || ways->is_ahead[i];
        if (i != from && end->is_held && ways->is_fed[i]) {
            struct finding finding = *kind_of(ways->is_after[i], ways->is_ahead[i]);
            finding.subject = view->network->points[from].name;
            finding.place = view->network->points[from].place;
            finding.other =
                end->tank == NETWORK_NONE ? end->name : view->network->tanks[end->tank].name;
            finding.value = gross_inflow(view, i);
            findings_add(view->findings, &finding);
            is_told = true;
        }
    }
    if (!is_told) { /* it goes to draw-offs alone */
        struct finding finding = *kind_of(is_after, is_ahead);
        finding.subject = view->network->points[from].name;
        finding.place = view->network->points[from].place;
        finding.value = outflow;
        findings_add(view->findings, &finding);
    }
}

/* What enters a tank less what leaves it, through mouths above its water too, and less what a float
 * valve will stop. */
static double filling_inflow(const struct view *view, const struct tank *tank)
{
    const int index = view->network->points[tank->point].tank;
    double inflow = -stopped_inflow(view, tank);
    for (int i = 0; i < view->network->point_count; i++) {
        inflow += view->network->points[i].tank == index ? net_inflow(view, i) : 0.0;
    }
    return inflow;
}

/* m3 that all water which leaves at rest can bring: what stands over the floors of tanks that
 * empty; infinite where a level is held or water is fed in. */
static double water_at_hand(const struct view *view)
{
    double volume = 0.0;
    for (int i = 0; i < view->network->point_count; i++) {
        const struct point *point = &view->network->points[i];
        const struct tank *tank =
            point->tank == NETWORK_NONE ? NULL : &view->network->tanks[point->tank];
        if (point->draw < 0.0) {
            return (double)INFINITY;
        }
        if (point->is_held && net_inflow(view, i) < -view_still) {
            volume += tank && !tank->is_fixed ? (tank->level - tank->floor) * tank->area
                                              : (double)INFINITY;
        }
    }
    return volume;
}

/* The highest head, m, of what leaves at rest: no tank fills beyond it. */
static double highest_source(const struct view *view)
{
    double highest = -(double)INFINITY;
    for (int i = 0; i < view->network->point_count; i++) {
        const struct point *point = &view->network->points[i];
        if (point->draw < 0.0) {
            return (double)INFINITY;
        }
        if (point->is_held && net_inflow(view, i) < -view_still) {
            highest = fmax(highest, view->rest->head[i]);
        }
    }
    return highest;
}

static void rule_tank(const struct view *view, struct ways *ways, const struct tank *tank)
{
    const double outflow = -net_inflow(view, tank->point);
    const double inflow = filling_inflow(view, tank);
    const double noise = 1e-7; /* m3/s, a drop a second: not worth a word */
    if (outflow > noise) {
        tell_fed(view, ways, tank->point, outflow);
    }
    const double room = (tank->brim - tank->level) * tank->area;
    if (inflow > noise && !tank->is_fixed && water_at_hand(view) >= room &&
        highest_source(view) > tank->brim) {
        view_tell_point(view, &FILLS, tank->point,
                        &(struct told){room / inflow, (double)NAN, false});
    }
}

static void rule_seating(const struct view *view, const struct valve_place *place, double back_head)
{
    const struct non_return *valve = view_valve(view, place);
    if (isfinite(back_head) && back_head < valve->seating_head) {
        view_tell_link(view, &WILL_NOT_SEAT, place->link,
                       &(struct told){back_head, valve->seating_head, false});
    }
    if (isfinite(back_head) && valve->holding_head > 0.0 && back_head > valve->holding_head) {
        view_tell_link(view, &WILL_NOT_HOLD, place->link,
                       &(struct told){back_head, valve->holding_head, true});
    }
}

bool rules_rest(const struct view *view, struct arena *arena, struct failure *failure)
{
    struct ways ways;
    if (!view->rest) {
        return true;
    }
    if (!ways_init(&ways, view, arena, failure)) {
        return false;
    }
    for (int i = 0; i < view->network->tank_count; i++) {
        rule_tank(view, &ways, &view->network->tanks[i]);
    }
    for (int i = 0; i < view->site->valve_count; i++) {
        rule_seating(view, &view->site->valves[i], view->back_head[i]);
    }
    return true;
}
