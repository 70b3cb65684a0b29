#include "solver/study/failed_site.h"

#include "models/circle.h"

#include <math.h>

const double failures_leak = 0.01;
const double failures_debris = 0.10;
const double failures_debris_area = 0.5;

/* Without a plan of its own a site is watched for so long, several reflections of plastic pipe. */
static const double DEFAULT_DURATION = 20.0; /* s */
static const double DEFAULT_AT = 0.5;        /* s */

static bool has_spring(const struct non_return *valve)
{
    switch (valve->form) {
    case NON_RETURN_SPRING_CONE:
    case NON_RETURN_DUAL_PLATE:
    case NON_RETURN_AXIAL_NOZZLE:
    case NON_RETURN_FOOT_POPPET:
        return valve->opening_head > 0.0;
    case NON_RETURN_BALL:
    case NON_RETURN_SWING_FLAP:
    case NON_RETURN_WAFER_FLAP:
    case NON_RETURN_TILTING_DISC:
    case NON_RETURN_DUCKBILL:
    case NON_RETURN_LIFT:
    case NON_RETURN_FOOT_BALL:
    case NON_RETURN_FOOT_FLAP:
    case NON_RETURN_IDEAL:
    case NON_RETURN_FORM_COUNT:
        break;
    }
    return false;
}

bool failed_site_can(const struct site *site, enum failed_kind kind, int link)
{
    return kind != FAILED_SPRING_GONE || has_spring(site->network->links[link].data);
}

static void fail_valve(struct failed_site *failed, enum failed_kind kind, int number)
{
    struct link *link = &failed->network->links[number];
    const struct non_return *before = link->data;
    const double loss = before->full_open_loss + before->extra_loss;
    const double bore_area = circle_area(before->bore);
    failed->valve = *before;
    link->data = &failed->valve;
    if (kind == FAILED_STUCK_OPEN) {
        failed->open = (struct fitting){.area = link->area, .loss = loss, .loss_back = loss};
        link->element = &fitting_element;
        link->data = &failed->open;
    } else if (kind == FAILED_STUCK_SHUT) {
        failed->shut = (struct strainer){.area = link->area, .clean_loss = 1.0, .blocked = 1.0};
        link->element = &strainer_element;
        link->data = &failed->shut;
    } else if (kind == FAILED_LEAKING) {
        failed->valve.leak_area = fmax(before->leak_area, failures_leak * bore_area);
    } else if (kind == FAILED_DEBRIS) {
        failed->valve.leak_area = fmax(before->leak_area, failures_debris * bore_area);
        failed->valve.extra_loss += strainer_plate_loss(1.0 - failures_debris_area);
    } else if (kind == FAILED_SPRING_GONE) {
        /* Nothing presses it shut but the water itself. */
        failed->valve.opening_head = 0.0;
        failed->valve.closing_force = 0.0;
        failed->valve.full_open_velocity = 0.0;
    }
}

static void make_plan(struct failed_site *failed, const struct site *site, enum failed_kind kind,
                      int link)
{
    struct surge_plan *plan = &failed->site.surge;
    const bool is_given = site->surge.is_given;
    const double at =
        is_given && site->surge.event_count > 0 ? site->surge.events[0].at : DEFAULT_AT;
    int count = 0;
    for (int i = 0; i < site->pump_place_count; i++) {
        const int pump = site->pump_places[i].link;
        const struct pump_unit *unit = site->network->links[pump].data;
        if (unit->is_running && (kind != FAILED_PUMP || pump == link)) {
            failed->events[count++] =
                (struct surge_event){.kind = SURGE_EVENT_STOP, .at = at, .link = pump};
        }
    }
    plan->is_given = true;
    plan->duration = is_given ? site->surge.duration : DEFAULT_DURATION;
    plan->event_count = count;
    plan->events = failed->events;
}

bool failed_site_init(struct failed_site *failed, const struct site *site, enum failed_kind kind,
                      int link, struct arena *arena, struct failure *failure)
{
    const size_t pumps = (size_t)site->pump_place_count;
    failed->site = *site;
    failed->network = network_copy(site->network, arena);
    failed->units = arena_take(arena, pumps, sizeof *failed->units);
    failed->events = arena_take(arena, pumps, sizeof *failed->events);
    if (!failed->network || !failed->units || !failed->events) {
        return fail_memory(failure, "the failures of a site");
    }
    failed->site.network = failed->network;
    for (int i = 0; i < site->pump_place_count; i++) {
        failed->units[i] =
            *(const struct pump_unit *)site->network->links[site->pump_places[i].link].data;
        failed->network->links[site->pump_places[i].link].data = &failed->units[i];
    }
    if (kind >= FAILED_STUCK_OPEN && kind <= FAILED_SPRING_GONE) {
        fail_valve(failed, kind, link);
    }
    make_plan(failed, site, kind, link);
    return true;
}

void failed_site_run_pumps(struct failed_site *failed, const struct site *site, int stopped)
{
    for (int i = 0; i < site->pump_place_count; i++) {
        const int link = site->pump_places[i].link;
        const struct pump_unit *unit = site->network->links[link].data;
        failed->units[i].is_running = unit->is_running && link != stopped;
    }
}

void failed_site_rest(struct failed_site *failed)
{
    for (int i = 0; i < failed->site.pump_place_count; i++) {
        failed->units[i].is_running = false;
    }
}
