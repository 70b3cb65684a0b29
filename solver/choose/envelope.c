#include "solver/choose/envelope.h"

#include "models/pump.h"

#include <string.h>

/* Without a plan of its own a site is tried by the failure every pump meets: the power fails. */
static const double DEFAULT_STOP_AT = 0.5; /* s */
static const double DEFAULT_DURATION =
    20.0; /* s, several reflections of any site of plastic pipe */

enum { NAME_SIZE = 200 };

/* One way to run: all pumps of the case (alone < 0), or one of them alone. */
struct draft_envelope {
    struct envelope *envelope;
    const struct site *base;
    struct arena *arena;
    bool *runs;        /* [pumps + 1][pumps] */
    int running_count; /* in the case */
    int running[64];   /* pump places that run in the case, as many as are tried alone */
    int tried_alone;
    bool is_short; /* memory ended */
};

static const char *pump_name(const struct draft_envelope *draft, int pump)
{
    return draft->base->network->links[draft->base->pump_places[pump].link].name;
}

/* Adds as much of `more` as there is room for. */
static void append(char text[NAME_SIZE], const char *more)
{
    strncat(text, more, NAME_SIZE - 1 - strlen(text));
}

static void name_it(struct draft_envelope *draft, const char **name, const char *what,
                    const char *where)
{
    char text[NAME_SIZE] = "";
    append(text, what);
    append(text, *what && *where ? ", " : "");
    append(text, where);
    *name = arena_text(draft->arena, *text ? text : "as the case says");
    draft->is_short = draft->is_short || !*name;
}

/* --- what happens --- */

static bool stops_pump(const struct surge_plan *plan)
{
    for (int i = 0; i < plan->event_count; i++) {
        if (plan->events[i].kind == SURGE_EVENT_STOP) {
            return true;
        }
    }
    return plan->event_count == 0;
}

static double stop_time(const struct surge_plan *plan)
{
    for (int i = 0; i < plan->event_count; i++) {
        if (plan->events[i].kind == SURGE_EVENT_STOP) {
            return plan->events[i].at;
        }
    }
    return DEFAULT_STOP_AT;
}

static bool is_stopped_by(const struct surge_plan *plan, int link)
{
    for (int i = 0; i < plan->event_count; i++) {
        if (plan->events[i].kind == SURGE_EVENT_STOP && plan->events[i].link == link) {
            return true;
        }
    }
    return plan->event_count == 0;
}

/* The case's events with the stops replaced by those of the pumps in `stops`, in order of time. */
static bool make_plan(struct draft_envelope *draft, const struct surge_plan *given,
                      const bool stops[], struct surge_plan *plan)
{
    const struct site *site = draft->base;
    const size_t room = (size_t)given->event_count + (size_t)site->pump_place_count;
    struct surge_event *events = arena_take(draft->arena, room, sizeof *events);
    const double at = stop_time(given);
    int count = 0;
    bool is_put = false;
    draft->is_short = draft->is_short || !events;
    for (int i = 0; events && i <= given->event_count; i++) {
        const bool is_past = i == given->event_count || given->events[i].at >= at;
        for (int k = 0; is_past && !is_put && k < site->pump_place_count; k++) {
            if (stops[k]) {
                events[count++] = (struct surge_event){
                    .kind = SURGE_EVENT_STOP, .at = at, .link = site->pump_places[k].link};
            }
        }
        is_put = is_put || is_past;
        if (i < given->event_count && given->events[i].kind != SURGE_EVENT_STOP) {
            events[count++] = given->events[i];
        }
    }
    plan->event_count = count;
    plan->events = events;
    return events != NULL;
}

static void add_trip(struct draft_envelope *draft, int condition, const bool stops[],
                     const char *what)
{
    struct envelope *envelope = draft->envelope;
    const struct condition *from = &envelope->conditions[condition];
    const struct site *site = envelope->sites[from->site].site;
    struct trip *trip = &envelope->trips[envelope->trip_count++];
    *trip = (struct trip){.condition = condition, .plan = site->surge};
    trip->plan.is_given = true;
    trip->plan.gauge_count = 0; /* nothing is drawn of it */
    trip->plan.measured.count = 0;
    if (!site->surge.is_given) {
        trip->plan.duration = DEFAULT_DURATION;
    }
    if (site->choose.duration > 0.0) {
        trip->plan.duration = site->choose.duration;
    }
    if (stops && !make_plan(draft, &site->surge, stops, &trip->plan)) {
        return;
    }
    name_it(draft, &trip->name, what, condition > 0 ? from->name : "");
}

/* One of several pumps that run together fails by itself, unless that is what the plan does. */
static void add_single_stops(struct draft_envelope *draft, int condition, bool stops[])
{
    const struct surge_plan *plan = &draft->base->surge;
    int stopped = 0;
    for (int i = 0; i < draft->running_count; i++) {
        stopped += is_stopped_by(plan, draft->base->pump_places[draft->running[i]].link);
    }
    for (int i = 0; i < draft->tried_alone; i++) {
        char what[NAME_SIZE] = "";
        const int pump = draft->running[i];
        const int link = draft->base->pump_places[pump].link;
        if (stopped == 1 && is_stopped_by(plan, link)) {
            continue;
        }
        memset(stops, 0, (size_t)draft->base->pump_place_count * sizeof *stops);
        stops[pump] = true;
        append(what, pump_name(draft, pump));
        append(what, " fails, the others run on");
        add_trip(draft, condition, stops, what);
    }
}

static void add_trips(struct draft_envelope *draft, int condition, int alone)
{
    const struct surge_plan *plan = &draft->base->surge;
    const struct condition *from = &draft->envelope->conditions[condition];
    const size_t pumps = (size_t)draft->base->pump_place_count;
    bool *stops = arena_take(draft->arena, pumps + 1, sizeof *stops);
    if (!stops) {
        draft->is_short = true;
        return;
    }
    if (!stops_pump(plan)) {
        add_trip(draft, condition, NULL, "the case's events");
        return;
    }
    memcpy(stops, from->runs, pumps * sizeof *stops);
    if (alone >= 0) {
        add_trip(draft, condition, stops, "power fails");
        return;
    }
    add_trip(draft, condition, plan->event_count > 0 ? NULL : stops,
             plan->event_count > 0 ? "the case's events" : "power fails");
    if (draft->tried_alone > 1) {
        add_single_stops(draft, condition, stops);
    }
}

/* --- where it starts from --- */

static void add_condition(struct draft_envelope *draft, int site, int alone, bool with_surge)
{
    struct envelope *envelope = draft->envelope;
    const int pumps = draft->base->pump_place_count;
    const int index = envelope->condition_count++;
    struct condition *condition = &envelope->conditions[index];
    char what[NAME_SIZE] = "";
    condition->site = site;
    condition->runs = draft->runs + (ptrdiff_t)(alone + 1) * pumps;
    if (alone >= 0) {
        append(what, pump_name(draft, alone));
        append(what, " alone");
    } else if (draft->tried_alone > 1 && index > 0) {
        append(what, "all pumps");
    }
    name_it(draft, &condition->name, what, index > 0 ? envelope->sites[site].name : "");
    if (with_surge) {
        add_trips(draft, index, alone);
    }
}

static bool take_room(struct draft_envelope *draft, int site_count)
{
    const struct site *base = draft->base;
    const int pumps = base->pump_place_count;
    const size_t ways = (size_t)draft->tried_alone + 1;
    const size_t conditions = 1 + (size_t)site_count * ways;
    struct envelope *envelope = draft->envelope;
    draft->runs = arena_take(draft->arena, (size_t)(pumps + 1) * (size_t)(pumps + 1), sizeof(bool));
    envelope->conditions = arena_take(draft->arena, conditions, sizeof *envelope->conditions);
    envelope->trips = arena_take(draft->arena, conditions * (ways + 1), sizeof *envelope->trips);
    if (!draft->runs || !envelope->conditions || !envelope->trips) {
        return false;
    }
    for (int i = 0; i < draft->running_count; i++) {
        const int pump = draft->running[i];
        draft->runs[pump] = true;
        draft->runs[(ptrdiff_t)(pump + 1) * pumps + pump] = true;
    }
    return true;
}

bool envelope_init(struct envelope *envelope, int site_count, const struct envelope_site sites[],
                   bool without_surge, struct arena *arena, struct failure *failure)
{
    const struct site *base = sites[0].site;
    struct draft_envelope draft = {.envelope = envelope, .base = base, .arena = arena};
    *envelope = (struct envelope){
        .site_count = site_count, .sites = sites, .plan_is_default = base->surge.event_count == 0};
    for (int i = 0; i < base->pump_place_count; i++) {
        const struct pump_unit *unit = base->network->links[base->pump_places[i].link].data;
        if (unit->is_running && draft.running_count < 64) {
            draft.running[draft.running_count++] = i;
        }
    }
    draft.tried_alone =
        draft.running_count > 1 && !base->choose.pumps_as_stated ? draft.running_count : 0;
    if (!take_room(&draft, site_count)) {
        return fail_memory(failure, "the cases of the choice");
    }
    add_condition(&draft, 0, -1, !without_surge);
    for (int i = 0; i < site_count; i++) {
        for (int k = i == 0 ? 0 : -1; k < draft.tried_alone; k++) {
            const bool is_envelope = site_count == 1 || i > 0;
            if (is_envelope) {
                add_condition(&draft, i, k < 0 ? -1 : draft.running[k], !without_surge);
            }
        }
    }
    return !draft.is_short || fail_memory(failure, "the cases of the choice");
}
