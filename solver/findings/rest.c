/* Rules on the site at rest: with every pump stopped, what still flows and from which tank. */
#include "solver/findings/rules.h"

#include <math.h>

static const struct finding FEEDS = {
    .level = FINDING_WARNING,
    .rule = "flows at rest",
    .text = "with all pumps stopped water still leaves this tank",
    .limit = 0.0,
    .unit = "m3/s",
    .remedy = "put a non-return valve in, or end the pipe above the water",
    .source = "steady answer with all pumps stopped",
    .question = 43};

static const struct finding FEEDS_BY_GRAVITY = {
    .level = FINDING_NOTE,
    .rule = "flows at rest",
    .text = "feeds by gravity alone; it goes on when the pumps stop",
    .limit = 0.0,
    .unit = "m3/s",
    .remedy = "none if that is meant; the tank empties unless the pumps return in time",
    .source = "steady answer with all pumps stopped",
    .question = 43};

static const struct finding FILLS = {
    .level = FINDING_WARNING,
    .rule = "flows at rest",
    .text = "with all pumps stopped water still enters this tank; time until it is at the brim",
    .unit = "s",
    .remedy = "put a non-return valve in, or an overflow of enough capacity",
    .source = "steady answer with all pumps stopped",
    .question = 45};

static const struct finding WILL_NOT_SEAT = {
    .level = FINDING_WARNING,
    .rule = "seating",
    .text = "back head on the shut valve at rest",
    .unit = "m",
    .remedy = "take a spring valve, or let the pipe stand full behind it",
    .source = "seating head of the valve",
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

/* Water that runs at rest through a standing pump is what a non-return valve is there to stop:
 * backward, from whichever tank behind it, or forward from the tank its run draws from. */
static bool leaves_through_pump(const struct view *view, int point)
{
    for (int i = 0; i < view->site->pump_place_count; i++) {
        const struct link *pump = &view->network->links[view->site->pump_places[i].link];
        const double flow = view->rest->flow[view->site->pump_places[i].link];
        const bool is_source =
            pump->run != NETWORK_NONE && view->network->runs[pump->run].from == point;
        if (flow < -view_still || (flow > view_still && is_source)) {
            return true;
        }
    }
    return false;
}

static void rule_tank(const struct view *view, const struct tank *tank)
{
    const double inflow = net_inflow(view, tank->point);
    const double noise = 1e-7; /* m3/s, a drop a second: not worth a word */
    if (inflow < -noise) {
        const bool by_pump = leaves_through_pump(view, tank->point);
        view_tell_point(view, by_pump ? &FEEDS : &FEEDS_BY_GRAVITY, tank->point,
                        &(struct told){-inflow, (double)NAN, false});
    } else if (inflow > noise && !tank->is_fixed) {
        const double room = (tank->brim - tank->level) * tank->area;
        view_tell_point(view, &FILLS, tank->point,
                        &(struct told){room / inflow, (double)NAN, false});
    }
}

static void rule_seating(const struct view *view, const struct valve_place *place)
{
    const struct link *link = &view->network->links[place->link];
    const struct non_return *valve = view_valve(view, place);
    const double back_head = -view->rest->drop[place->link];
    const bool is_defined =
        view->rest->zone[link->from] == NETWORK_NONE && view->rest->zone[link->to] == NETWORK_NONE;
    if (is_defined && view->rest->flow[place->link] <= view_still &&
        back_head < valve->seating_head) {
        view_tell_link(view, &WILL_NOT_SEAT, place->link,
                       &(struct told){back_head, valve->seating_head, false});
    }
}

void rules_rest(const struct view *view)
{
    if (!view->rest) {
        return;
    }
    for (int i = 0; i < view->network->tank_count; i++) {
        rule_tank(view, &view->network->tanks[i]);
    }
    for (int i = 0; i < view->site->valve_count; i++) {
        rule_seating(view, &view->site->valves[i]);
    }
}
