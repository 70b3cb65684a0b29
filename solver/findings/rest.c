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

/* What comes to each point at rest, and what all that leaves can bring, found once for all tanks.
 */
struct inflows {
    double *net;    /* [point_count] m3/s */
    double *gross;  /* [point_count] m3/s, whatever leaves again */
    double at_hand; /* m3 over the floors of tanks that empty; infinite where a level is held or
                       water is fed in */
    double highest; /* m, of the heads of what leaves: no tank fills beyond it; infinite where water
                       is fed in */
};

static void add_flows(const struct view *view, struct inflows *inflows)
{
    for (int i = 0; i < view->network->link_count; i++) {
        const struct link *link = &view->network->links[i];
        const double flow = view->rest->flow[i];
        inflows->net[link->to] += flow;
        inflows->net[link->from] -= flow;
        inflows->gross[link->to] += fmax(flow, 0.0);
        inflows->gross[link->from] += fmax(-flow, 0.0);
    }
}

static void add_sources(const struct view *view, struct inflows *inflows)
{
    for (int i = 0; i < view->network->point_count; i++) {
        const struct point *point = &view->network->points[i];
        const struct tank *tank =
            point->tank == NETWORK_NONE ? NULL : &view->network->tanks[point->tank];
        if (point->draw < 0.0) {
            inflows->at_hand = (double)INFINITY;
            inflows->highest = (double)INFINITY;
        } else if (point->is_held && inflows->net[i] < -view_still) {
            inflows->at_hand += tank && !tank->is_fixed ? (tank->level - tank->floor) * tank->area
                                                        : (double)INFINITY;
            inflows->highest = fmax(inflows->highest, view->rest->head[i]);
        }
    }
}

static bool inflows_init(struct inflows *inflows, const struct view *view, struct arena *arena,
                         struct failure *failure)
{
    const size_t points = (size_t)view->network->point_count;
    *inflows = (struct inflows){.net = arena_take(arena, points, sizeof *inflows->net),
                                .gross = arena_take(arena, points, sizeof *inflows->gross),
                                .highest = -(double)INFINITY};
    if (!inflows->net || !inflows->gross) {
        return fail_memory(failure, "the inflows at rest");
    }
    add_flows(view, inflows);
    add_sources(view, inflows);
    return true;
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
static void tell_fed(const struct view *view, struct ways *ways, const struct inflows *inflows,
                     int from)
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
            finding.value = inflows->gross[i];
            findings_add(view->findings, &finding);
            is_told = true;
        }
    }
    if (!is_told) { /* it goes to draw-offs alone */
        struct finding finding = *kind_of(is_after, is_ahead);
        finding.subject = view->network->points[from].name;
        finding.place = view->network->points[from].place;
        finding.value = -inflows->net[from];
        findings_add(view->findings, &finding);
    }
}

/* What enters a tank less what leaves it, through mouths above its water too, and less what a float
 * valve will stop. */
static double filling_inflow(const struct view *view, const struct inflows *inflows,
                             const struct tank *tank)
{
    const int index = view->network->points[tank->point].tank;
    double inflow = -stopped_inflow(view, tank);
    for (int i = 0; i < view->network->point_count; i++) {
        inflow += view->network->points[i].tank == index ? inflows->net[i] : 0.0;
    }
    return inflow;
}

static void rule_tank(const struct view *view, struct ways *ways, const struct inflows *inflows,
                      const struct tank *tank)
{
    const double inflow = filling_inflow(view, inflows, tank);
    const double noise = 1e-7; /* m3/s, a drop a second: not worth a word */
    if (inflows->net[tank->point] < -noise) {
        tell_fed(view, ways, inflows, tank->point);
    }
    const double room = (tank->brim - tank->level) * tank->area;
    if (inflow > noise && !tank->is_fixed && inflows->at_hand >= room &&
        inflows->highest > tank->brim) {
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
    struct inflows inflows;
    if (!view->rest) {
        return true;
    }
    if (!ways_init(&ways, view, arena, failure) || !inflows_init(&inflows, view, arena, failure)) {
        return false;
    }
    for (int i = 0; i < view->network->tank_count; i++) {
        rule_tank(view, &ways, &inflows, &view->network->tanks[i]);
    }
    for (int i = 0; i < view->site->valve_count; i++) {
        rule_seating(view, &view->site->valves[i], view->back_head[i]);
    }
    return true;
}
