#include "io/door/read_surge.h"

#include "io/door/lost.h"
#include "io/door/read_creep.h"
#include "io/door/read_measured.h"
#include "io/nearest.h"
#include "models/float_valve.h"
#include "models/pump_curve.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* A day: beyond it somebody means hours of filling, and the steps would never end. s */
static const double LONGEST_SURGE = 86400;

struct surge_words {
    double duration, largest_step, times_a_day;
    int reaches, friction, walls, cavities;
    const struct tree *events, *gauges, *measured;
};

#define FIELD(name) offsetof(struct surge_words, name)
static const struct key surge_keys[] = {
    {.name = "duration",
     .kind = KEY_QUANTITY,
     .offset = FIELD(duration),
     .quantity = QUANTITY_TIME,
     .plausible = PLAUSIBLE_SURGE_TIME,
     .range = RANGE_POSITIVE,
     .is_required = true,
     .help = "from the start"},
    {.name = "events",
     .kind = KEY_NODE,
     .offset = FIELD(events),
     .help = "a list: {at: 0.5 s, stop: lift-1}"},
    {.name = "gauges",
     .kind = KEY_NODE,
     .offset = FIELD(gauges),
     .help = "a list of points and parts whose head and flow are kept; the head of a part is "
             "that behind it, seen from its run's beginning"},
    {.name = "measured",
     .kind = KEY_NODE,
     .offset = FIELD(measured),
     .help = "heads measured at a gauge: {file: trace.csv, gauge: header}"},
    {.name = "largest step",
     .kind = KEY_QUANTITY,
     .offset = FIELD(largest_step),
     .quantity = QUANTITY_TIME,
     .plausible = PLAUSIBLE_STEP,
     .range = RANGE_POSITIVE,
     .help = "of time; else from the pipes"},
    {.name = "reaches",
     .kind = KEY_WHOLE,
     .offset = FIELD(reaches),
     .range = RANGE_POSITIVE,
     .help = "at least so many in the shortest pipe that is not interpolated"},
    {.name = "friction",
     .kind = KEY_CHOICE,
     .offset = FIELD(friction),
     .choices = "quasi-steady|unsteady",
     .fallback = "quasi-steady",
     .help =
         "unsteady: it remembers how the flow changed (by a weighting function); else waves die "
         "away slower than in truth"},
    {.name = "cavities",
     .kind = KEY_CHOICE,
     .offset = FIELD(cavities),
     .choices = "vapour|gas",
     .fallback = "vapour",
     .help =
         "where water boils: of vapour (meets the exact single cavity), or of a little gas that "
         "is everywhere in the water"},
    {.name = "walls",
     .kind = KEY_CHOICE,
     .offset = FIELD(walls),
     .choices = "elastic|creeping",
     .fallback = "elastic",
     .help = "creeping: plastic whose creep is known goes on stretching; built in for PE100 at 20 "
             "degC only: for PVC, ABS and PE80, and for other temperatures, none published was "
             "found"},
    {.name = "times a day",
     .kind = KEY_QUANTITY,
     .offset = FIELD(times_a_day),
     .quantity = QUANTITY_NUMBER,
     .plausible = PLAUSIBLE_TIMES_A_DAY,
     .range = RANGE_POSITIVE,
     .help = "how often all this happens, such as the starts of its pump: by this PVC pipe tires"},
};
#undef FIELD

const struct section surge_section = {"surge", "what the pipes feel after a pump stops",
                                      sizeof surge_keys / sizeof *surge_keys, surge_keys};

struct event_words {
    double at, to, over;
    const char *stop, *start, *set;
    struct numbers times, settings;
};

#define FIELD(name) offsetof(struct event_words, name)
static const struct key event_keys[] = {
    {.name = "at",
     .kind = KEY_QUANTITY,
     .offset = FIELD(at),
     .quantity = QUANTITY_TIME,
     .plausible = PLAUSIBLE_SURGE_TIME,
     .range = RANGE_NOT_NEGATIVE,
     .is_required = true,
     .help = "when it begins"},
    {.name = "stop", .kind = KEY_TEXT, .offset = FIELD(stop), .help = "a pump: its power fails"},
    {.name = "start", .kind = KEY_TEXT, .offset = FIELD(start), .help = "a pump: power comes on"},
    {.name = "set",
     .kind = KEY_TEXT,
     .offset = FIELD(set),
     .help = "a part with a setting: a throttling valve, or a pump with a drive"},
    {.name = "to",
     .kind = KEY_QUANTITY,
     .offset = FIELD(to),
     .quantity = QUANTITY_NUMBER,
     .range = RANGE_SHARE,
     .help = "the setting it is brought to: share open; of a pump: share of its speed"},
    {.name = "over",
     .kind = KEY_QUANTITY,
     .offset = FIELD(over),
     .quantity = QUANTITY_TIME,
     .plausible = PLAUSIBLE_SURGE_TIME,
     .range = RANGE_NOT_NEGATIVE,
     .fallback = "0 s",
     .help = "so long does it take; a pump by its drive"},
    {.name = "times",
     .kind = KEY_QUANTITIES,
     .offset = FIELD(times),
     .quantity = QUANTITY_TIME,
     .plausible = PLAUSIBLE_SURGE_TIME,
     .range = RANGE_NOT_NEGATIVE,
     .help = "after 'at', rising: a law of opening or closing, instead of 'to' and 'over'"},
    {.name = "settings",
     .kind = KEY_QUANTITIES,
     .offset = FIELD(settings),
     .quantity = QUANTITY_NUMBER,
     .range = RANGE_SHARE,
     .help = "at these times, evenly between them"},
};
#undef FIELD

const struct section event_section = {"surge: events", "what happens",
                                      sizeof event_keys / sizeof *event_keys, event_keys};

/* Told with the nearest name among links, and points too when `with_points`; but not of one that
 * was lost. */
static void refuse_name(struct draft *draft, const char *what, const char *name, struct place place,
                        bool with_points)
{
    const struct network *network = draft->network;
    struct nearest nearest;
    if (is_lost(draft, name)) {
        return;
    }
    nearest_start(&nearest, name);
    for (int i = 0; i < network->link_count; i++) {
        nearest_offer(&nearest, network->links[i].name);
    }
    for (int i = 0; with_points && i < network->point_count; i++) {
        nearest_offer(&nearest, network->points[i].name);
    }
    (void)draft_error(draft, place, "%s: no %s is called '%.60s'%s", what,
                      with_points ? "point or part" : "part", name,
                      nearest_hint(&(struct hint){{0}}, nearest.found, ""));
}

/* The link an event acts on, with what it then does; false: told. */
static bool find_target(struct draft *draft, const struct tree *node,
                        const struct event_words *words, struct surge_event *event)
{
    const bool is_pump_event = words->stop || words->start;
    const char *key = words->stop ? "stop" : words->start ? "start" : "set";
    const char *name = words->stop ? words->stop : words->start ? words->start : words->set;
    const struct place place = tree_find(node, key)->place;
    event->link = names_find(&draft->links, name);
    if (event->link < 0) {
        refuse_name(draft, "surge event", name, place, false);
        return false;
    }
    const struct link *link = &draft->network->links[event->link];
    const bool is_pump = pump_is_kind(link->element);
    if (is_pump_event && !is_pump) {
        return draft_error(draft, place, "surge event: '%s' is a %s, not a pump", name,
                           link->element->kind);
    }
    const struct motion *motion = link->element->motion;
    if (!is_pump_event && (!motion || !motion->setting || is_pump)) {
        return draft_error(draft, place, "surge event: '%s' is a %s and has no setting", name,
                           link->element->kind);
    }
    if (!is_pump_event && link->element == &float_valve_element) {
        return draft_error(draft, place, "surge event: '%s' is a %s; the level of its tank sets it",
                           name, link->element->kind);
    }
    if (!is_pump_event && !isfinite(words->to) && words->times.count == 0) {
        return draft_error(draft, node->place, "surge event: 'set' needs 'to', such as 'to: 0'");
    }
    /* A stop that takes time is one by a drive; the power fails at once. */
    event->kind = words->stop && !(words->over > 0) ? SURGE_EVENT_STOP : SURGE_EVENT_SET;
    event->value = words->stop ? 0 : words->start ? 1 : words->to;
    return true;
}

/* The rows of a law of closing, if any, are right. */
static bool check_law(struct draft *draft, const struct tree *node, const struct event_words *words)
{
    const struct numbers *times = &words->times;
    if (times->count == 0 && words->settings.count == 0) {
        return true;
    }
    if (!words->set || isfinite(words->to) || words->over > 0 ||
        times->count != words->settings.count) {
        return draft_error(draft, node->place,
                           "surge event: 'times' and 'settings' go with 'set', number by number, "
                           "without 'to' and 'over'");
    }
    for (int i = 1; i < times->count; i++) {
        if (times->value[i] <= times->value[i - 1]) {
            return draft_error(draft, tree_find(node, "times")->place,
                               "surge event: times must rise; %.4g s follows %.4g s",
                               times->value[i], times->value[i - 1]);
        }
    }
    return true;
}

/* A growing list. */
struct event_list {
    int count;
    int room;
    struct surge_event *events;
};

static bool push_event(struct draft *draft, struct event_list *list,
                       const struct surge_event *event)
{
    if (list->count == list->room) {
        const int room = 2 * list->room + 8;
        struct surge_event *events = draft_take(draft, (size_t)room, sizeof *events);
        if (!events) {
            return false;
        }
        if (list->count > 0) {
            memcpy(events, list->events, (size_t)list->count * sizeof *events);
        }
        list->events = events;
        list->room = room;
    }
    list->events[list->count++] = *event;
    return true;
}

/* A law of closing is a chain of even changes. */
static bool push_law(struct draft *draft, struct event_list *list, const struct event_words *words,
                     const struct surge_event *event)
{
    double before = 0;
    for (int i = 0; i < words->times.count; i++) {
        struct surge_event change = *event;
        change.at = words->at + before;
        change.ramp = words->times.value[i] - before;
        change.value = words->settings.value[i];
        before = words->times.value[i];
        if (!push_event(draft, list, &change)) {
            return false;
        }
    }
    return true;
}

static bool read_event(struct draft *draft, const struct tree *node, struct event_list *list)
{
    struct event_words words;
    struct surge_event event = {.place = node->place};
    const struct target targets[] = {{&event_section, &words}};
    if (!keys_read(&draft->reader, node, "surge event", 1, targets)) {
        return false;
    }
    const int deeds = (words.stop != NULL) + (words.start != NULL) + (words.set != NULL);
    if (deeds != 1) {
        return draft_error(draft, node->place,
                           "surge event: exactly one of 'stop', 'start' and 'set' is expected");
    }
    event.at = words.at;
    event.ramp = words.over;
    if (!find_target(draft, node, &words, &event) || !check_law(draft, node, &words)) {
        return false;
    }
    if (event.at > draft->site->surge.duration) {
        draft_doubt(draft, node->place, "surge event: at %.4g s, after the end at %.4g s", event.at,
                    draft->site->surge.duration);
    }
    return words.times.count > 0 ? push_law(draft, list, &words, &event)
                                 : push_event(draft, list, &event);
}

static int compare_events(const void *left, const void *right)
{
    const struct surge_event *a = left;
    const struct surge_event *b = right;
    if (a->at < b->at || a->at > b->at) {
        return a->at < b->at ? -1 : 1;
    }
    if (a->place.line != b->place.line || a->place.column != b->place.column) {
        return a->place.line != b->place.line ? a->place.line - b->place.line
                                              : a->place.column - b->place.column;
    }
    return (a->ramp > b->ramp) - (a->ramp < b->ramp); /* of one law: first what is at once */
}

static void read_events(struct draft *draft, const struct tree *list)
{
    struct surge_plan *plan = &draft->site->surge;
    struct event_list events = {0};
    if (!list || list->kind != TREE_LIST || list->count == 0) {
        if (list) {
            (void)draft_error(draft, list->place,
                              "surge: events: a list is expected, such as "
                              "'- {at: 0.5 s, stop: lift-1}'");
        }
        return;
    }
    for (const struct tree *child = list->first; child; child = child->next) {
        if (!read_event(draft, child, &events)) {
            continue; /* told; the others are read all the same */
        }
    }
    if (events.count > 0) {
        qsort(events.events, (size_t)events.count, sizeof *events.events, compare_events);
    }
    plan->event_count = events.count;
    plan->events = events.events;
}

static void read_gauges(struct draft *draft, const struct tree *list)
{
    struct surge_plan *plan = &draft->site->surge;
    if (!list) {
        return;
    }
    if (list->kind != TREE_LIST) {
        (void)draft_error(draft, list->place,
                          "surge: gauges: a list of names is expected, such as "
                          "[lift-1, header]");
        return;
    }
    int *gauges = draft_take(draft, (size_t)list->count, sizeof *gauges);
    bool *is_link = draft_take(draft, (size_t)list->count, sizeof *is_link);
    if (!gauges || !is_link) {
        return;
    }
    for (const struct tree *child = list->first; child; child = child->next) {
        const char *name = child->kind == TREE_TEXT ? child->text : tree_kind_name(child->kind);
        const int link = names_find(&draft->links, name);
        const int point = names_find(&draft->points, name);
        if (link < 0 && point < 0) {
            refuse_name(draft, "surge: gauges", name, child->place, true);
            continue;
        }
        is_link[plan->gauge_count] = link >= 0;
        gauges[plan->gauge_count++] = link >= 0 ? link : point;
    }
    plan->gauges = gauges;
    plan->gauge_is_link = is_link;
}

void read_surge(struct draft *draft, const struct tree *node)
{
    struct surge_words words;
    const struct target targets[] = {{&surge_section, &words}};
    struct surge_plan *plan = &draft->site->surge;
    if (!node) {
        return;
    }
    const bool is_good = keys_read(&draft->reader, node, "surge", 1, targets);
    plan->is_given = is_good;
    plan->place = node->place;
    plan->duration = isfinite(words.duration) ? words.duration : (double)INFINITY;
    if (isfinite(words.duration) && words.duration > LONGEST_SURGE) {
        (void)faults_add(draft->reader.faults, FAULT_ERROR, node->place,
                         "surge: duration: waves die within minutes, at most %g h are followed; "
                         "state a shorter one, and hours in the section filling",
                         LONGEST_SURGE / 3600);
    }
    plan->largest_step = isfinite(words.largest_step) ? words.largest_step : 0;
    plan->times_a_day = isfinite(words.times_a_day) ? words.times_a_day : 0;
    plan->reaches = words.reaches > 0 ? words.reaches : 0;
    plan->is_friction_unsteady = words.friction == 1;
    if (is_good && !plan->is_friction_unsteady) {
        draft_assume(
            draft, node->place,
            "surge: friction as in steady flow: waves die away slower than in truth, above "
            "all in a short pipe behind a shut valve; 'friction: unsteady' reckons with it");
    }
    plan->is_cavity_gas = words.cavities == 1;
    plan->is_wall_creeping = words.walls == 1;
    if (plan->is_wall_creeping) {
        doubt_creep(draft, node->place);
    }
    if (node->kind == TREE_MAP) {
        read_events(draft, words.events);
        read_gauges(draft, words.gauges);
        read_measured(draft, words.measured);
    }
}
