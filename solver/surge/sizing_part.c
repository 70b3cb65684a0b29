/* Sizing parts: what can be sized, and a link's data with another size. */
#include "models/air_vessel.h"
#include "models/circle.h"
#include "models/pump_curve.h"
#include "models/relief_valve.h"
#include "solver/surge/sizing.h"

#include <math.h>
#include <stddef.h>

bool sizing_is_part(const struct link *link, enum sizing_part part)
{
    if (part == SIZING_FLYWHEEL) {
        return pump_is_kind(link->element);
    }
    return link->element == (part == SIZING_VESSEL ? &air_vessel_element : &relief_valve_element);
}

int sizing_find_part(const struct network *network, enum sizing_part part, int *count)
{
    int first = NETWORK_NONE;
    *count = 0;
    for (int i = 0; i < network->link_count; i++) {
        if (sizing_is_part(&network->links[i], part)) {
            first = first == NETWORK_NONE ? i : first;
            ++*count;
        }
    }
    return first;
}

void sizing_default_range(const struct link *link, enum sizing_part part, double *smallest,
                          double *largest)
{
    if (part == SIZING_VESSEL) {
        const struct air_vessel *vessel = link->data;
        *smallest = 1e-3 * vessel->volume;
        *largest = 1e3 * vessel->volume;
    } else if (part == SIZING_FLYWHEEL) {
        const struct pump_unit *unit = link->data;
        *smallest = 1e-2 * unit->pump->inertia;
        *largest = 1e4 * unit->pump->inertia;
    } else {
        const struct relief_valve *valve = link->data;
        const double bore = sqrt(4.0 * valve->area / circle_pi);
        *smallest = 0.05 * bore;
        *largest = 5.0 * bore;
    }
}

static const void *size_vessel(const struct air_vessel *now, double size, struct arena *arena)
{
    struct air_vessel *vessel = arena_take(arena, 1, sizeof *vessel);
    if (vessel != NULL) {
        const double share = size / now->volume;
        *vessel = *now;
        vessel->volume = size;
        vessel->gas *= share;
        vessel->area *= share;
    }
    return vessel;
}

const void *sizing_data(const struct link *link, enum sizing_part part, double size,
                        struct arena *arena)
{
    if (part == SIZING_VESSEL) {
        return size_vessel(link->data, size, arena);
    }
    if (part == SIZING_FLYWHEEL) {
        struct pump_unit *unit = arena_take(arena, 1, sizeof *unit);
        if (unit != NULL) {
            *unit = *(const struct pump_unit *)link->data;
            unit->flywheel = size;
        }
        return unit;
    }
    struct relief_valve *valve = arena_take(arena, 1, sizeof *valve);
    if (valve != NULL) {
        *valve = *(const struct relief_valve *)link->data;
        valve->area = circle_area(size);
    }
    return valve;
}
