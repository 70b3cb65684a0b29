/* Rules on pumps: duty against the best point, NPSH, steepness, whether it moves water at all. */
#include "models/pipe.h"
#include "models/pump_curve.h"
#include "solver/findings/rules.h"

#include <math.h>

static const struct finding TOO_LITTLE = {
    .level = FINDING_WARNING,
    .rule = "duty",
    .text = "flow as a share of best-efficiency flow",
    .limit = 0.7,
    .unit = "1",
    .remedy = "take a smaller pump or a lower speed",
    .source = "preferred range 70 to 120 per cent of best flow, pump handbooks",
    .question = 30};

static const struct finding TOO_MUCH = {
    .level = FINDING_WARNING,
    .rule = "duty",
    .text = "flow as a share of best-efficiency flow",
    .limit = 1.2,
    .unit = "1",
    .remedy = "take a pump of more flow and less head, or throttle it",
    .source = "preferred range 70 to 120 per cent of best flow, pump handbooks",
    .question = 30};

static const struct finding BEYOND_CURVE = {
    .level = FINDING_WARNING,
    .rule = "beyond its curve",
    .text = "flow as a share of that at the last point of its curve",
    .limit = 1.0,
    .unit = "1",
    .remedy =
        "head, power and NPSH are guessed there, as the curve would go on: get more of it, or "
        "throttle the pump",
    .source = "the case's curve",
    .question = 30};

static const struct finding DRIVEN = {
    .level = FINDING_FAILED,
    .rule = "driven",
    .text = "head that the running pump adds",
    .limit = 0.0,
    .unit = "m",
    .remedy =
        "water is pushed through it from outside: look whether its run is told from where the "
        "water comes to where it goes, else leave the pump out or throttle it",
    .source = "steady answer",
    .question = 30};

static const struct finding NO_FLOW = {
    .level = FINDING_FAILED,
    .rule = "no flow",
    .text = "flow through the running pump",
    .limit = 0.0,
    .unit = "m3/s",
    .remedy = "its head at no flow does not open the way: take a pump of more head or a valve of "
              "less opening head; stop it until then: a pump that moves nothing heats its water "
              "until plastic gives way",
    .source = "steady answer",
    .question = 31};

static const struct finding CANNOT_FILL = {
    .level = FINDING_WARNING,
    .rule = "cannot fill",
    .text =
        "height of the highest point of its way over the water it draws, against its head at no "
        "flow",
    .unit = "m",
    .remedy = "by itself it cannot fill the pipe over that point, and what is told here holds only "
              "for a full one: fill it by other means and keep it full, or take a pump of more "
              "head",
    .source = "hydrostatics",
    .question = 19};

static const struct finding BACKWARD = {
    .level = FINDING_FAILED,
    .rule = "runs backward",
    .text = "flow through the running pump",
    .limit = 0.0,
    .unit = "m3/s",
    .remedy = "another pump or a tank overpowers it: put a non-return valve behind it",
    .source = "steady answer",
    .question = 33};

static const struct finding SUCTION_MARGIN = {
    .level = FINDING_WARNING,
    .rule = "suction margin",
    .text = "NPSH available less NPSH required",
    .limit = 0.5,
    .unit = "m",
    .remedy = "set the pump lower, take a wider suction pipe with fewer parts, a foot valve "
              "without spring",
    .source = "ISO 5199 and old practice: at least 0.5 m (from memory), or the case's own limit",
    .question = 39};

static const struct finding FLAT_CURVE = {
    .level = FINDING_NOTE,
    .rule = "flat curve",
    .text = "head at no flow over head at duty",
    .limit = 1.1,
    .unit = "1",
    .remedy = "expect the flow to wander with small changes of level; where pumps share a pipe "
              "take steeper curves",
    .source = "common practice",
    .question = 35};

static void rule_duty(const struct view *view, const struct pump_place *place, double flow)
{
    const struct pump_unit *unit = view_pump(view, place);
    const double share = flow / (unit->pump->best_flow * unit->speed);
    const struct told told = {share, (double)NAN, false};
    if (share < TOO_LITTLE.limit) {
        view_tell_link(view, &TOO_LITTLE, place->link, &told);
    } else if (share > TOO_MUCH.limit) {
        view_tell_link(view, &TOO_MUCH, place->link, &told);
    }
}

static void rule_curve(const struct view *view, const struct pump_place *place, double flow)
{
    const struct pump_unit *unit = view_pump(view, place);
    const struct pump *pump = unit->pump;
    const double head = pump_head(pump, flow, unit->speed).head;
    const double share = flow / (pump->flow[pump->count - 1] * unit->speed);
    if (head < 0.0) {
        view_tell_link(view, &DRIVEN, place->link, &(struct told){head, (double)NAN, true});
    } else if (share > BEYOND_CURVE.limit) {
        view_tell_link(view, &BEYOND_CURVE, place->link, &(struct told){share, (double)NAN, false});
    }
}

static void rule_suction_margin(const struct view *view, const struct pump_place *place,
                                double flow)
{
    const struct pump_unit *unit = view_pump(view, place);
    const int inlet = view->network->links[place->link].from;
    const double required = pump_npsh(unit->pump, flow, unit->speed);
    const double available =
        pump_npsh_available(&view->site->water, view->steady->head[inlet], place->axis);
    const double given = view->site->limits.suction_margin;
    const struct told told = {available - required, given, available < required};
    if (told.value < (isnan(given) ? SUCTION_MARGIN.limit : given)) {
        view_tell_link(view, &SUCTION_MARGIN, place->link, &told);
    }
}

static void rule_flat_curve(const struct view *view, const struct pump_place *place, double flow)
{
    const struct pump_unit *unit = view_pump(view, place);
    const double at_duty = pump_head(unit->pump, flow, unit->speed).head;
    const struct told told = {pump_head(unit->pump, 0.0, unit->speed).head / at_duty, (double)NAN,
                              false};
    if (at_duty > 0.0 && told.value < FLAT_CURVE.limit) {
        view_tell_link(view, &FLAT_CURVE, place->link, &told);
    }
}

enum { NO_ONE_PART = -2 };

/* The only part that takes water on from each point, else NETWORK_NONE or NO_ONE_PART: where it
 * parts, goes on against the way that part is told, or into pipes of a table, of which there may be
 * a million. */
static int *find_parts_on(const struct view *view, struct arena *arena)
{
    const struct network *network = view->network;
    int *only = arena_take(arena, (size_t)network->point_count, sizeof *only);
    for (int i = 0; only && i < network->point_count; i++) {
        only[i] = NETWORK_NONE;
    }
    for (int i = 0; only && i < network->link_count; i++) {
        const struct link *link = &network->links[i];
        const double flow = view->steady->flow[i];
        const bool is_of_table = link->run == NETWORK_NONE && view_pipe(view, i);
        if (flow < -view_still) {
            only[link->to] = NO_ONE_PART;
        } else if (flow > view_still) {
            int *there = &only[link->from];
            *there = *there == NETWORK_NONE && !is_of_table ? i : NO_ONE_PART;
        }
    }
    return only;
}

static int next_part(const struct view *view, const int only[], int link)
{
    const struct link *at = &view->network->links[link];
    if (view->network->points[at->to].is_held) {
        return NETWORK_NONE;
    }
    const bool is_last = at->run == NETWORK_NONE || link + 1 >= view->network->link_count ||
                         view->network->links[link + 1].run != at->run;
    return is_last ? only[at->to] : link + 1;
}

/* The head at no flow of a running pump that is this part, else 0. */
static double lift_of(const struct view *view, int link)
{
    const struct link *at = &view->network->links[link];
    const struct pump_unit *unit = pump_is_kind(at->element) ? at->data : NULL;
    return unit && unit->is_running ? pump_head(unit->pump, 0.0, unit->speed).head : 0.0;
}

/* Whether the water comes from its tank through no other pump. */
static bool draws_from_tank(const struct view *view, const struct pump_place *place)
{
    for (int i = 0; i < view->site->pump_place_count; i++) {
        const int other = view->site->pump_places[i].link;
        if (other != place->link && network_leads_to(view->network, other, place->link)) {
            return false;
        }
    }
    return place->from_tank != NETWORK_NONE;
}

/* A full siphon runs where the empty pipe cannot be filled: the water stands up to where the pumps
 * before it lift it at no flow. */
static void rule_fills(const struct view *view, const int only[], const struct pump_place *place)
{
    if (!draws_from_tank(view, place)) {
        return;
    }
    const double level = view->network->tanks[place->from_tank].level;
    double lift = 0.0;
    int steps = view->network->link_count; /* in a ring it ends */
    for (int i = place->link; i >= 0 && steps > 0; i = next_part(view, only, i), steps--) {
        const struct pipe *pipe = view_pipe(view, i);
        lift += lift_of(view, i);
        if (pipe && pipe_top(pipe) - level > lift) {
            view_tell_link(view, &CANNOT_FILL, place->link,
                           &(struct told){pipe_top(pipe) - level, lift, false});
            return;
        }
    }
}

bool rules_pumps(const struct view *view, struct arena *arena, struct failure *failure)
{
    const int *only = view->site->pump_place_count > 0 ? find_parts_on(view, arena) : NULL;
    if (view->site->pump_place_count > 0 && !only) {
        return fail_memory(failure, "the ways from pumps");
    }
    for (int i = 0; i < view->site->pump_place_count; i++) {
        const struct pump_place *place = &view->site->pump_places[i];
        const double flow = view->steady->flow[place->link];
        const bool is_still = fabs(flow) <= view_still;
        const struct told told = {is_still ? 0.0 : flow, (double)NAN, true};
        if (!view_pump(view, place)->is_running) {
            continue;
        }
        if (flow > view_still) {
            rule_duty(view, place, flow);
            rule_curve(view, place, flow);
            rule_suction_margin(view, place, flow);
            rule_flat_curve(view, place, flow);
            rule_fills(view, only, place);
        } else {
            view_tell_link(view, is_still ? &NO_FLOW : &BACKWARD, place->link, &told);
        }
    }
    return true;
}
