#include "solver/choose/candidate.h"

#include "models/bore_change.h"

#include <math.h>
#include <string.h>

enum { SIZES_TRIED = 3 }; /* the pipe's nominal size and one either side */

static const char *const requirements[REQUIREMENT_COUNT] = {
    [REQUIREMENT_MOUNTING] = "mounting",
    [REQUIREMENT_OPENS] = "opens",
    [REQUIREMENT_FLOW] = "flow kept",
    [REQUIREMENT_SEATS] = "back head to seat",
    [REQUIREMENT_HOLDS] = "back head it holds",
    [REQUIREMENT_SUCTION] = "suction margin",
    [REQUIREMENT_DEBRIS] = "debris",
    [REQUIREMENT_SLAM] = "slam head",
    [REQUIREMENT_REVERSE] = "reverse velocity",
    [REQUIREMENT_PRESSURE] = "highest pressure",
    [REQUIREMENT_VAPOUR] = "above boiling",
};

const char *requirement_name(enum requirement requirement)
{
    return requirements[requirement];
}

int candidate_list_max(void)
{
    return non_return_type_count() * SIZES_TRIED + 1;
}

static bool is_foot(enum non_return_form form)
{
    return form == NON_RETURN_FOOT_POPPET || form == NON_RETURN_FOOT_BALL ||
           form == NON_RETURN_FOOT_FLAP;
}

/* The same kind in the same size: then the case's own numbers stand for it. */
static bool is_same(const struct non_return *a, const struct non_return *b)
{
    return strcmp(a->type, b->type) == 0 && fabs(a->bore - b->bore) < 1e-6;
}

/* Two reducers where the valve's bore is not the pipe's; K on the velocity in the valve. */
static double adaptor_loss(double valve_bore, double pipe_bore)
{
    return bore_change_between(pipe_bore, valve_bore, valve_bore) +
           bore_change_between(valve_bore, pipe_bore, valve_bore);
}

static void make(const struct non_return_type *type, double bore, enum mounting mounting,
                 const struct site *site, const struct valve_place *place, struct non_return *valve)
{
    non_return_make(type, bore, mounting, &site->water, valve);
    valve->extra_loss += adaptor_loss(bore, place->pipe_bore);
}

static int add_sizes(const struct site *site, const struct valve_place *place,
                     const struct non_return *present, const struct non_return_type *type, int room,
                     struct candidate out[])
{
    const double margin = 1e-6; /* m; a size is a round number of millimetres */
    const int middle = non_return_size_nearest(place->pipe_bore);
    int count = 0;
    for (int i = middle - SIZES_TRIED / 2; i <= middle + SIZES_TRIED / 2; i++) {
        if (i < 0 || i >= non_return_size_count() || count >= room) {
            continue;
        }
        const double bore = non_return_size_at(i);
        if (bore < type->smallest - margin || bore > type->largest + margin) {
            continue;
        }
        struct candidate *candidate = &out[count];
        *candidate = (struct candidate){.type = type->name, .kind = type};
        make(type, bore, present->mounting, site, place, &candidate->valve);
        if (!is_same(&candidate->valve, present)) {
            count++;
        }
    }
    return count;
}

int candidate_list(const struct site *site, const struct valve_place *place,
                   const struct non_return *present, int room, struct candidate out[])
{
    int count = 0;
    if (room > 0) {
        out[count++] =
            (struct candidate){.type = present->type, .valve = *present, .is_present = true};
    }
    for (int i = 0; i < non_return_type_count(); i++) {
        const struct non_return_type *type = non_return_type_at(i);
        if (type->form != NON_RETURN_IDEAL && type->is_foot == is_foot(present->form)) {
            count += add_sizes(site, place, present, type, room - count, out + count);
        }
    }
    return count;
}

void candidate_in_waters(const struct candidate *candidate, int place, int site_count,
                         const struct site *const sites[], struct non_return in_water[])
{
    for (int i = 0; i < site_count; i++) {
        const struct valve_place *where = &sites[i]->valves[place];
        if (candidate->kind) {
            make(candidate->kind, candidate->valve.bore, candidate->valve.mounting, sites[i], where,
                 &in_water[i]);
        } else {
            in_water[i] = *(const struct non_return *)sites[i]->network->links[where->link].data;
        }
    }
}

struct non_return candidate_reference(const struct non_return *present)
{
    struct non_return ideal = *present;
    ideal.form = NON_RETURN_IDEAL;
    ideal.type = "reference";
    ideal.opening_head = 0.0;
    ideal.full_open_velocity = 0.0;
    ideal.full_open_loss = 1e-6;
    ideal.extra_loss = 0.0;
    ideal.leak_area = 0.0;
    ideal.closing_force = 0.0;
    ideal.seating_head = 0.0;
    ideal.holding_head = 0.0;
    return ideal;
}
