#include "solver/surge/plan.h"

#include <math.h>
#include <stddef.h>

static double event_value(const struct surge_event *event)
{
    return event->kind == SURGE_EVENT_STOP ? 0.0 : event->value;
}

/* Setting that an event begun at `from` commands at `time`. */
static double event_setting(const struct surge_event *event, double from, double time)
{
    double value = event_value(event);
    double ramp = event->kind == SURGE_EVENT_STOP ? 0.0 : event->ramp;
    if (time >= event->at + ramp || ramp <= 0.0) {
        return value;
    }
    return from + (value - from) * (time - event->at) / ramp;
}

static bool check_events(const struct surge_plan *events, const struct network *network,
                         struct failure *failure)
{
    for (int i = 0; i < events->event_count; i++) {
        const struct surge_event *event = &events->events[i];
        if (event->link < 0 || event->link >= network->link_count) {
            return fail(failure, FAILURE_INPUT, event->place,
                        "surge event %d: names no part of the site", i + 1);
        }
        if (!isfinite(event->at) || !isfinite(event_value(event)) ||
            (i > 0 && event->at < events->events[i - 1].at)) {
            return fail(failure, FAILURE_INPUT, event->place,
                        "surge event %d: events must be given in order of time; this one is at "
                        "%.6g s",
                        i + 1, event->at);
        }
    }
    return true;
}

/* What each event finds when it begins: the end of the one before it on the same link. */
static void find_beginnings(struct plan *plan)
{
    for (int i = 0; i < plan->event_count; i++) {
        int link = plan->events[i].link;
        double from = plan->setting[link];
        for (int j = 0; j < i; j++) {
            if (plan->events[j].link == link) {
                from = event_setting(&plan->events[j], plan->from[j], plan->events[i].at);
            }
        }
        plan->from[i] = from;
    }
}

bool plan_init(struct plan *plan, const struct surge_plan *events, const struct network *network,
               struct arena *arena, struct failure *failure)
{
    *plan = (struct plan){.event_count = events->event_count, .events = events->events};
    plan->from = arena_take(arena, (size_t)events->event_count, sizeof *plan->from);
    plan->setting = arena_take(arena, (size_t)network->link_count, sizeof *plan->setting);
    if (plan->from == NULL || plan->setting == NULL) {
        return fail_memory(failure, "surge plan");
    }
    if (!check_events(events, network, failure)) {
        return false;
    }
    for (int i = 0; i < network->link_count; i++) {
        const struct link *link = &network->links[i];
        const struct motion *motion = link->element->motion;
        plan->setting[i] =
            motion == NULL || motion->setting == NULL ? 1.0 : motion->setting(link->data);
    }
    find_beginnings(plan);
    plan->first_time = plan->event_count > 0 ? plan->events[0].at : (double)INFINITY;
    return true;
}

void plan_set(struct plan *plan, double time, double blur)
{
    for (int i = 0; i < plan->event_count; i++) {
        const struct surge_event *event = &plan->events[i];
        if (time > event->at + blur) {
            plan->setting[event->link] = event_setting(event, plan->from[i], time);
        }
    }
}
