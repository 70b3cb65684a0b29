/* What of a case that can be read should be looked at again. Rules about flows and pressures are
 * findings (solver/findings), not doubts: these need no solving. */
#include "io/door/explain.h"
#include "models/air_vessel.h"
#include "models/pipe.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

static const char *const mounting_words[] = {"vertical up", "level", "vertical down"};

static const struct pipe *pipe_of(const struct link *link)
{
    return link->element->pipe ? link->element->pipe(link->data) : NULL;
}

static void doubt_pipe(const struct link *link, const struct pipe *pipe, struct faults *faults)
{
    const double rise = pipe->vertical_to - pipe->vertical_from;
    if (fabs(rise) > pipe->friction.length * (1 + 1e-9)) {
        (void)faults_add(faults, FAULT_DOUBT, link->place,
                         "pipe '%s': %.4g m long, but its ends lie %.4g m apart in height",
                         link->name, pipe->friction.length, fabs(rise));
    }
}

/* One entry a run: thirty pipes without a class are one oversight. */
static void doubt_classes(const struct network *network, const struct run *run,
                          struct faults *faults)
{
    int count = 0;
    const struct link *first = NULL;
    for (int i = 0; i < run->link_count; i++) {
        const struct link *link = &network->links[run->first_link + i];
        const struct pipe *pipe = pipe_of(link);
        if (pipe && !(pipe->pressure_class > 0)) {
            first = count++ == 0 ? link : first;
        }
    }
    if (count > 0) {
        (void)faults_add(faults, FAULT_DOUBT, first->place,
                         "run '%s': the pressure class of %d %s is not known; strength and slam "
                         "cannot be judged there",
                         run->name, count, count == 1 ? "pipe" : "pipes");
    }
}

/* Pipe meets pipe of another bore, with no part between that could hold the loss of the change. */
static void doubt_bore_changes(const struct network *network, const struct run *run,
                               struct faults *faults)
{
    for (int i = 1; i < run->link_count; i++) {
        const struct link *link = &network->links[run->first_link + i];
        const struct pipe *before = pipe_of(&network->links[run->first_link + i - 1]);
        const struct pipe *after = pipe_of(link);
        if (before && after && fabs(before->friction.bore - after->friction.bore) > 1e-6) {
            (void)faults_add(faults, FAULT_DOUBT, link->place,
                             "pipe '%s': bore %.4g mm follows %.4g mm without a part between; the "
                             "loss of the change is left out",
                             link->name, after->friction.bore * 1e3, before->friction.bore * 1e3);
        }
    }
}

/* Bytes of the whole sentences (or else parts of them) of a source that a message has room for. */
static int sentences_within(const char *source)
{
    static const size_t room = 170;
    const size_t length = strlen(source);
    size_t end = length;
    for (size_t i = 0; length > room && i < room; i++) {
        if (source[i + 1] == ' ' && strchr(".:;,", source[i])) {
            end = i + 1;
        }
    }
    return (int)(end <= room ? end : room);
}

static void doubt_valve(const struct site *site, const struct valve_place *place,
                        struct faults *faults)
{
    const struct link *link = &site->network->links[place->link];
    const struct non_return *valve = link->data;
    if (!(valve->mountings & 1u << valve->mounting)) {
        (void)faults_add(faults, FAULT_DOUBT, link->place,
                         "non-return '%s': a '%s' is not for mounting %s", link->name, valve->type,
                         mounting_words[valve->mounting]);
    }
    if (valve->mounting == MOUNTING_LEVEL && valve->level_needs_back_head) {
        (void)faults_add(
            faults, FAULT_DOUBT, link->place,
            "non-return '%s': a '%s' lying level shuts only with water standing behind "
            "it",
            link->name, valve->type);
    }
    if (valve->service == SERVICE_NONE && !(place->union_before && place->union_after)) {
        (void)faults_add(faults, FAULT_DOUBT, link->place,
                         "non-return '%s': no union on %s of it; it comes out only with a saw",
                         link->name,
                         place->union_before || place->union_after ? "one side" : "either side");
    }
    if (valve->is_placeholder) {
        const char *source = valve->source ? valve->source : "no source";
        const int length = sentences_within(source);
        (void)faults_add(
            faults, FAULT_ASSUMED, link->place,
            "non-return '%.60s': numbers of a '%s' without a published figure (%.*s%s)", link->name,
            valve->type, length, source, source[length] ? " ..." : "");
    }
}

static void doubt_idle_tanks(const struct site *site, struct faults *faults)
{
    const struct network *network = site->network;
    bool *is_used = calloc((size_t)network->point_count + 1, sizeof *is_used);
    if (!is_used) {
        (void)faults_add_memory(faults, "the search for idle tanks");
        return;
    }
    for (int i = 0; i < network->link_count; i++) {
        is_used[network->links[i].from] = true;
        is_used[network->links[i].to] = true;
    }
    for (int i = 0; i < network->run_count; i++) {
        is_used[network->runs[i].from] = true;
        is_used[network->runs[i].to] = true;
    }
    for (int i = 0; i < network->point_count; i++) {
        const struct point *point = &network->points[i];
        const bool is_poured_into = point->tank >= 0 && network->tanks[point->tank].inlet_above;
        if (!is_used[i] && point->tank >= 0 && !is_poured_into) {
            (void)faults_add(faults, FAULT_DOUBT, point->place, "tank '%s' is joined by no run",
                             point->name);
        }
    }
    free(is_used);
}

static void doubt_idle_pumps(const struct site *site, struct faults *faults)
{
    for (int p = 0; p < site->pump_count; p++) {
        bool is_used = false;
        for (int i = 0; i < site->pump_place_count; i++) {
            const struct pump_unit *unit = site->network->links[site->pump_places[i].link].data;
            is_used = is_used || unit->pump == &site->pumps[p];
        }
        if (!is_used) {
            (void)faults_add(faults, FAULT_DOUBT, site->pumps[p].place,
                             "pump '%s' stands in no run", site->pumps[p].name);
        }
    }
}

/* The first pump that runs and that nothing moves, or their count. */
static int find_unswitched(const struct site *site)
{
    int pump = 0;
    for (; pump < site->pump_place_count; pump++) {
        const struct pump_unit *unit = site->network->links[site->pump_places[pump].link].data;
        if (unit->is_running && !filling_plan_has_float(&site->filling, pump) &&
            !filling_plan_has_timer(&site->filling, pump)) {
            break;
        }
    }
    return pump;
}

/* Pumps on a vessel are often moved by its pressure, which `fill` does not know. */
static void doubt_vessels(const struct site *site, struct faults *faults)
{
    const struct network *network = site->network;
    const struct filling_plan *plan = &site->filling;
    const int pump = find_unswitched(site);
    if (!plan->is_given || pump == site->pump_place_count) {
        return;
    }
    for (int i = 0; i < network->link_count; i++) {
        if (network->links[i].element == &air_vessel_element) {
            (void)faults_add(
                faults, FAULT_DOUBT, network->links[i].place,
                "air vessel at '%.60s': over hours it gives and takes no water, and no pressure "
                "switch is known: 'fill' has '%.60s' run all the time; let a timer move it for as "
                "long as it runs in a day",
                network->points[network->links[i].from].name,
                network->links[site->pump_places[pump].link].name);
            return;
        }
    }
}

void explain_doubts(const struct site *site, struct faults *faults)
{
    const struct network *network = site->network;
    for (int i = 0; i < network->link_count; i++) {
        const struct pipe *pipe = pipe_of(&network->links[i]);
        if (pipe) {
            doubt_pipe(&network->links[i], pipe, faults);
        }
    }
    for (int i = 0; i < network->run_count; i++) {
        doubt_classes(network, &network->runs[i], faults);
        doubt_bore_changes(network, &network->runs[i], faults);
    }
    for (int i = 0; i < site->valve_count; i++) {
        doubt_valve(site, &site->valves[i], faults);
    }
    doubt_idle_tanks(site, faults);
    doubt_idle_pumps(site, faults);
    doubt_vessels(site, faults);
}
