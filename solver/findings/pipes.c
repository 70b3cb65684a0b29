/* Rules on pipes: velocity, gradient, class at this temperature, dead legs, high points. */
#include "models/pipe.h"
#include "solver/findings/rules.h"

#include <math.h>

static const struct finding FAST_SUCTION = {
    .level = FINDING_WARNING,
    .rule = "velocity",
    .text = "velocity in a suction pipe",
    .limit = 1.5,
    .unit = "m/s",
    .remedy = "take the next size up",
    .source = "best 1 m/s, at most 1.5 m/s on suction, published practice tables",
    .question = 24};

static const struct finding FAST_DELIVERY = {
    .level = FINDING_WARNING,
    .rule = "velocity",
    .text = "velocity in a delivery pipe",
    .limit = 2.4,
    .unit = "m/s",
    .remedy = "take the next size up: surge grows with it",
    .source = "8 ft/s without fast valves, 5 ft/s with them, valve makers' practice for plastic",
    .question = 24};

static const struct finding SLOW = {
    .level = FINDING_NOTE,
    .rule = "velocity",
    .text = "velocity at which dirt settles",
    .limit = 0.5,
    .unit = "m/s",
    .remedy = "take a smaller size, or provide a flushing tee at the low point",
    .source = "0.5 to 0.7 m/s moves solids, published practice",
    .question = 28};

static const struct finding OVER_CLASS = {
    .level = FINDING_FAILED,
    .rule = "pressure class",
    .text = "pressure as a share of what the pipe bears at this temperature",
    .limit = 1.0,
    .unit = "1",
    .remedy = "take a higher class, or keep pipe and water cooler",
    .source = "class of the standard times the material's temperature rule",
    .question = 78};

static const struct finding DEAD_LEG = {
    .level = FINDING_NOTE,
    .rule = "dead leg",
    .text = "nothing flows here in this state",
    .limit = 0.0,
    .unit = "m3/s",
    .remedy = "let it drain or flush it: standing water warms, fouls and freezes",
    .source = "steady answer",
    .question = 28};

static const struct finding VACUUM_AT_HIGH_POINT = {
    .level = FINDING_WARNING,
    .rule = "air at a high point",
    .text = "gauge pressure head at the highest point of the pipe",
    .limit = -3.0,
    .unit = "m",
    .remedy =
        "lower the crest or vent it on purpose: air comes out of the water and is drawn in at "
        "joints",
    .source = "common practice: above -3 m while running",
    .question = 20};

static const struct finding BOILS = {
    .level = FINDING_FAILED,
    .rule = "boils",
    .text = "gauge pressure head at the highest point of the pipe, where water boils at the limit",
    .unit = "m",
    .remedy = "the water parts there, and less flows than is told here: lower the crest, or "
              "throttle beyond it",
    .source = "vapour pressure at this temperature and altitude",
    .question = 20};

static const struct finding AIR_POCKET = {
    .level = FINDING_NOTE,
    .rule = "air pocket",
    .text = "velocity / sqrt(g bore) past a high point, against what carries air down",
    .limit = 0.8,
    .unit = "1",
    .remedy = "put an air valve or a vent at the high point",
    .source = "0.5 to 1 for slopes to 45 degrees (Wisner, Mohsen & Kouwen 1975, from memory)",
    .question = 68};

static const struct finding AIR_POCKET_IN_VACUUM = {
    .level = FINDING_NOTE,
    .rule = "air pocket",
    .text = "velocity / sqrt(g bore) past a high point below the air's pressure, against what "
            "carries air down",
    .limit = 0.8,
    .unit = "1",
    .remedy = "an air valve there lets air in and breaks the siphon, which stops water running on "
              "where that is wanted; to keep it, take a smaller bore, or draw the air off",
    .source = "0.5 to 1 for slopes to 45 degrees (Wisner, Mohsen & Kouwen 1975, from memory)",
    .question = 68};

static bool is_suction_pipe(const struct view *view, int link)
{
    for (int i = 0; i < view->site->pump_place_count; i++) {
        const struct pump_place *place = &view->site->pump_places[i];
        if (place->from_tank != NETWORK_NONE &&
            network_leads_to(view->network, link, place->link)) {
            return true;
        }
    }
    return false;
}

static void rule_velocity(const struct view *view, int link, const struct pipe *pipe)
{
    const double flow = fabs(view->steady->flow[link]);
    const struct limits *limits = &view->site->limits;
    const bool is_suction = is_suction_pipe(view, link);
    const struct finding *rule = is_suction ? &FAST_SUCTION : &FAST_DELIVERY;
    const double given = is_suction ? limits->velocity_suction : limits->velocity_delivery;
    const struct told told = {flow / pipe_area(pipe), given, false};
    if (flow <= view_still) {
        view_tell_link(view, &DEAD_LEG, link, &(struct told){flow, (double)NAN, false});
    } else if (told.value > (isnan(given) ? rule->limit : given)) {
        view_tell_link(view, rule, link, &told);
    } else if (told.value < SLOW.limit) {
        view_tell_link(view, &SLOW, link, &(struct told){told.value, (double)NAN, false});
    }
}

/* Highest pressure is at an end or, below a dip of the ground, at a point of the profile; the
 * pressure line is straight along a pipe. */
static double pressure_head_at(const struct view *view, int link, const struct pipe *pipe,
                               double distance)
{
    const struct link *at = &view->network->links[link];
    const double share = distance / pipe->friction.length;
    const double head =
        (1.0 - share) * view->steady->head[at->from] + share * view->steady->head[at->to];
    return head - pipe_elevation(pipe, distance);
}

static void rule_class(const struct view *view, int link, const struct pipe *pipe)
{
    const double allowed = pipe_allowed_pressure(pipe, &view->site->water);
    double highest = fmax(pressure_head_at(view, link, pipe, 0.0),
                          pressure_head_at(view, link, pipe, pipe->friction.length));
    for (int i = 0; i < pipe->profile_count; i++) {
        highest = fmax(highest, pressure_head_at(view, link, pipe, pipe->profile_distance[i]));
    }
    const struct told told = {water_pressure(&view->site->water, highest) / allowed, (double)NAN,
                              true};
    if (pipe->pressure_class > 0.0 && !(told.value <= 1.0)) {
        view_tell_link(view, &OVER_CLASS, link, &told);
    }
}

/* What is told of a high point: the least pressure there, and the pipe in which air must go down.
 */
static void tell_crest(const struct view *view, int link, double pressure, int down)
{
    const double boiling = water_vapour_head(&view->site->water);
    if (pressure < boiling) {
        view_tell_link(view, &BOILS, link, &(struct told){pressure, boiling, false});
    } else if (pressure < VACUUM_AT_HIGH_POINT.limit) {
        view_tell_link(view, &VACUUM_AT_HIGH_POINT, link,
                       &(struct told){pressure, (double)NAN, false});
    }
    const struct pipe *pipe = view_pipe(view, down);
    const double velocity = fabs(view->steady->flow[link]) / pipe_area(pipe);
    const struct told pocket = {velocity / sqrt(view->site->water.gravity * pipe->friction.bore),
                                (double)NAN, false};
    if (pocket.value < AIR_POCKET.limit) {
        view_tell_link(view, pressure < 0.0 ? &AIR_POCKET_IN_VACUUM : &AIR_POCKET, link, &pocket);
    }
}

/* A high point between pipes of one run: this pipe rises to it, and after parts that lie level, if
 * any, the next falls. Where it rises or falls by less than its bore, air goes by along its crown.
 */
static void rule_crest_between(const struct view *view, int link, const struct pipe *pipe)
{
    const struct network *network = view->network;
    const double top = network->points[network->links[link].to].elevation;
    double pressure = view_pressure_head(view, network->links[link].to);
    int next = link + 1;
    if (network->links[link].run == NETWORK_NONE || pipe_top(pipe) > top ||
        top - pipe_elevation(pipe, 0.0) <= pipe->friction.bore) {
        return;
    }
    for (; next < network->link_count && network->links[next].run == network->links[link].run;
         next++) {
        const struct pipe *after = view_pipe(view, next);
        const double fall = top - network->points[network->links[next].to].elevation;
        if (after && fall > after->friction.bore && pipe_top(after) <= top) {
            tell_crest(view, link, pressure, view->steady->flow[link] < 0.0 ? link : next);
            return;
        }
        if (fabs(fall) > pipe->friction.bore || (after && pipe_top(after) > top)) {
            return;
        }
        pressure = fmin(pressure, view_pressure_head(view, network->links[next].to));
    }
}

/* A crest inside the pipe. */
static void rule_crest(const struct view *view, int link, const struct pipe *pipe)
{
    const double end = pipe->friction.length;
    double crest = -1.0;
    double top = fmax(pipe_elevation(pipe, 0.0), pipe_elevation(pipe, end));
    for (int i = 1; i + 1 < pipe->profile_count; i++) {
        if (pipe->profile_elevation[i] > top) {
            top = pipe->profile_elevation[i];
            crest = pipe->profile_distance[i];
        }
    }
    if (crest >= 0.0) {
        tell_crest(view, link, pressure_head_at(view, link, pipe, crest), link);
    } else {
        rule_crest_between(view, link, pipe);
    }
}

void rules_pipes(const struct view *view)
{
    for (int i = 0; i < view->network->link_count; i++) {
        const struct pipe *pipe = view_pipe(view, i);
        if (pipe) {
            rule_velocity(view, i, pipe);
            rule_class(view, i, pipe);
            rule_crest(view, i, pipe);
        }
    }
}
