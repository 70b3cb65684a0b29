/* Rules on points: wanted pressure, air drawn in at joints under vacuum, zones cut off. */
#include "models/air_vessel.h"
#include "solver/findings/rules.h"

#include <math.h>

static const struct finding WANTED = {
    .level = FINDING_FAILED,
    .rule = "wanted pressure",
    .text = "gauge pressure head where more is wanted",
    .unit = "m",
    .remedy = "a stronger pump, a wider pipe or a valve that takes less head",
    .source = "the case",
    .question = 11};

static const struct finding WITHOUT_PRESSURE = {
    .level = FINDING_FAILED,
    .rule = "drawn without pressure",
    .text = "gauge pressure head where water is drawn; none comes in truth",
    .limit = 0.0,
    .unit = "m",
    .remedy = "a pump that runs or a tank above it; 'falls with pressure: yes' counts what comes",
    .source = "a draw is taken whatever the pressure; an open tap lets air in below the air's",
    .question = 11};

static const struct finding DRAWS_AIR = {
    .level = FINDING_WARNING,
    .rule = "draws air",
    .text = "gauge pressure head at a joint on the delivery side",
    .limit = 0.0,
    .unit = "m",
    .remedy =
        "what drips when stopped draws air when running: lower the joint or throttle beyond it",
    .source = "common practice",
    .question = 67};

static const struct finding VESSEL_EMPTY = {
    .level = FINDING_WARNING,
    .rule = "empty vessel",
    .text =
        "pressure head over the vessel's bottom; its gas, put in at the limit, leaves no room for "
        "water",
    .unit = "m",
    .remedy = "fill its gas to less than the least working pressure: empty, it gives no water when "
              "the pump stops",
    .source = "the case's precharge",
    .question = 76};

static const struct finding CUT_OFF = {
    .level = FINDING_NOTE,
    .rule = "cut off",
    .text = "shut valves part this place from every tank; its head is not defined",
    .unit = "1",
    .remedy = "none needed where water may stand; pressure stays locked in until released",
    .source = "steady answer",
    .question = 18};

/* Between a tank and its pump vacuum is usual and has its own rules. */
static bool is_before_pump(const struct view *view, int link)
{
    for (int i = 0; i < view->site->pump_place_count; i++) {
        const int pump = view->site->pump_places[i].link;
        if (link == pump || network_leads_to(view->network, link, pump)) {
            return true;
        }
    }
    return false;
}

static void rule_draws_air(const struct view *view)
{
    for (int i = 0; i < view->network->link_count; i++) {
        const struct link *link = &view->network->links[i];
        const double pressure = view_pressure_head(view, link->to);
        const struct told told = {pressure, (double)NAN, false};
        if (!view_pipe(view, i) && link->run != NETWORK_NONE && !is_before_pump(view, i) &&
            !view->network->points[link->to].is_held && pressure < DRAWS_AIR.limit &&
            view->steady->zone[link->to] == NETWORK_NONE) {
            view_tell_link(view, &DRAWS_AIR, i, &told);
        }
    }
}

static void rule_vessels(const struct view *view)
{
    for (int i = 0; i < view->network->link_count; i++) {
        const struct link *link = &view->network->links[i];
        if (link->element != &air_vessel_element ||
            view->steady->zone[link->from] != NETWORK_NONE) {
            continue;
        }
        const struct air_vessel *vessel = link->data;
        const struct told told = {view->steady->head[link->from] - vessel->bottom,
                                  vessel->precharge, false};
        if (!(vessel->gas > 0.0) && told.value <= told.limit) {
            view_tell_link(view, &VESSEL_EMPTY, i, &told);
        }
    }
}

void rules_points(const struct view *view)
{
    int told_zone = NETWORK_NONE; /* zones are numbered in the order of points: tell each once */
    for (int i = 0; i < view->network->point_count; i++) {
        const struct point *point = &view->network->points[i];
        const double pressure = view_pressure_head(view, i);
        const struct told told = {pressure, point->wanted_head, true};
        if (view->steady->zone[i] > told_zone) {
            told_zone = view->steady->zone[i];
            view_tell_point(view, &CUT_OFF, i, &(struct told){(double)NAN, (double)NAN, false});
        } else if (point->wanted_head > 0.0 && pressure < point->wanted_head) {
            view_tell_point(view, &WANTED, i, &told);
        } else if (point->draw > view_still && !point->is_held && pressure < 0.0) {
            view_tell_point(view, &WITHOUT_PRESSURE, i, &(struct told){pressure, 0.0, true});
        }
    }
    rule_draws_air(view);
    rule_vessels(view);
}
