/* Rules on non-return valves in the running site: opening, size, mounting, place, service, dirt. */
#include "solver/findings/rules.h"

#include <math.h>

static const struct finding SHUT = {.level = FINDING_FAILED,
                                    .rule = "stays shut",
                                    .text = "head across the valve; it needs more to open",
                                    .unit = "m",
                                    .remedy =
                                        "take a valve of less opening head, or more head before it",
                                    .source = "opening head of the valve",
                                    .question = 53};

static const struct finding PART_OPEN = {
    .level = FINDING_WARNING,
    .rule = "part open",
    .text = "share open at this flow",
    .unit = "1",
    .remedy = "take a smaller size, so that it stands fully open and does not chatter and wear",
    .source =
        "common practice; from 95 % open it counts as fully open, as full-open velocities are "
        "not known closer",
    .question = 52};

static const struct finding MOUNTING = {
    .level = FINDING_FAILED,
    .rule = "mounting",
    .text = "this form may not stand the way the pipe runs here",
    .unit = "1",
    .remedy = "turn the pipe, or take a spring valve, which works in any position if the arrow "
              "points with the flow",
    .source = "catalogue of forms",
    .question = 55};

static const struct finding NO_UNION = {
    .level = FINDING_NOTE,
    .rule = "service",
    .text = "no union or flange on one side or both: it comes out only with a saw",
    .unit = "1",
    .remedy = "put a union on either side",
    .source = "common practice",
    .question = 64};

static const struct finding FIBRES = {
    .level = FINDING_FAILED,
    .rule = "debris",
    .text = "a spring stands in water with fibres: they wind round it and hold it open",
    .unit = "1",
    .remedy = "take a ball or a flap, or strain the water first",
    .source = "common practice",
    .question = 51};

static const struct finding TOO_NEAR = {
    .level = FINDING_NOTE,
    .rule = "straight pipe before it",
    .text = "straight pipe before the valve, in bores",
    .limit = 5.0,
    .unit = "1",
    .remedy = "move it away from the pump or bend: disturbed flow rattles the moving part",
    .source = "5 to 10 bores after a pump or fitting (MSS SP-92 as reported; two makers say 3)",
    .question = 56};

static const struct finding TAKES_MUCH = {
    .level = FINDING_WARNING,
    .rule = "head taken",
    .text = "head the valve takes, as a share of the pump's head",
    .limit = 0.1,
    .unit = "1",
    .remedy = "take a form with less loss or a larger size",
    .source = "5 to 10 per cent of the pump's head, common practice",
    .question = 52};

static void rule_opening(const struct view *view, const struct valve_place *place)
{
    const struct link *link = &view->network->links[place->link];
    const double flow = view->steady->flow[place->link];
    const double drop = view->steady->drop[place->link];
    const struct non_return *valve = view_valve(view, place);
    if (flow <= view_still && drop > 0.0) {
        const struct told told = {drop, valve->opening_head, false};
        view_tell_link(view, &SHUT, place->link, &told);
    }
    if (flow > view_still && link->element->opening) {
        const struct told told = {link->element->opening(link->data, &view->site->water, flow),
                                  non_return_fully_open, false};
        if (told.value < non_return_fully_open &&
            isfinite(non_return_full_open_flow(valve, &view->site->water))) {
            view_tell_link(view, &PART_OPEN, place->link, &told);
        }
    }
}

static void rule_head_taken(const struct view *view, const struct valve_place *place)
{
    if (place->pump_link == NETWORK_NONE || view->steady->flow[place->link] <= view_still) {
        return;
    }
    const struct told told = {view->steady->drop[place->link] /
                                  -view->steady->drop[place->pump_link],
                              (double)NAN, false};
    if (told.value > TAKES_MUCH.limit) {
        view_tell_link(view, &TAKES_MUCH, place->link, &told);
    }
}

static void rule_place(const struct view *view, const struct valve_place *place)
{
    const struct non_return *valve = view_valve(view, place);
    const struct told plain = {(double)NAN, (double)NAN, false};
    if ((valve->mountings & (1u << (unsigned)valve->mounting)) == 0) {
        view_tell_link(view, &MOUNTING, place->link, &plain);
    }
    const bool is_glued_in = valve->service == SERVICE_NONE || valve->service == SERVICE_COVER;
    if (is_glued_in && !(place->union_before && place->union_after)) {
        view_tell_link(view, &NO_UNION, place->link, &plain);
    }
    if (view->site->circumstances.has_fibres && valve->spring_in_stream) {
        view_tell_link(view, &FIBRES, place->link, &plain);
    }
    const struct told straight = {place->straight_before / place->pipe_bore, (double)NAN, false};
    if (!place->is_on_suction && straight.value < TOO_NEAR.limit) {
        view_tell_link(view, &TOO_NEAR, place->link, &straight);
    }
}

void rules_valves(const struct view *view)
{
    for (int i = 0; i < view->site->valve_count; i++) {
        rule_opening(view, &view->site->valves[i]);
        rule_head_taken(view, &view->site->valves[i]);
        rule_place(view, &view->site->valves[i]);
    }
}
