#include "io/door/protection.h"

#include "models/air_valve.h"
#include "models/air_vessel.h"
#include "models/circle.h"

#include <math.h>

/* Discharge coefficient of a sharp-edged hole: 0.6 (any textbook of hydraulics; from memory). */
#define HOLE_COEFFICIENT "0.6"
static const double hole_coefficient = 0.6;

struct protection {
    struct place vessel_place;
    double volume, gas, precharge, exponent, surface, bottom;
    double joint_bore, bypass_bore, loss_in, loss_out;
    struct place air_place;
    double air_bore, air_outlet, coefficient;
};

#define FIELD(name) offsetof(struct protection, name)
static const struct key vessel_keys[] = {
    {.name = "volume",
     .kind = KEY_QUANTITY,
     .offset = FIELD(volume),
     .quantity = QUANTITY_VOLUME,
     .range = RANGE_POSITIVE,
     .is_required = true,
     .help = "of water and gas together"},
    {.name = "gas",
     .kind = KEY_QUANTITY,
     .offset = FIELD(gas),
     .quantity = QUANTITY_VOLUME,
     .range = RANGE_POSITIVE,
     .help = "of the gas in it while the pumps run steadily; or say 'precharge'"},
    {.name = "precharge",
     .kind = KEY_QUANTITY,
     .offset = FIELD(precharge),
     .quantity = QUANTITY_HEAD,
     .range = RANGE_NOT_NEGATIVE,
     .help = "pressure of its gas before any water came in"},
    {.name = "exponent",
     .kind = KEY_QUANTITY,
     .offset = FIELD(exponent),
     .quantity = QUANTITY_NUMBER,
     .range = RANGE_POSITIVE,
     .fallback = "1.2",
     .help = "polytropic: 1 slow, 1.2 usual, 1.4 fast"},
    {.name = "water surface",
     .kind = KEY_QUANTITY,
     .offset = FIELD(surface),
     .quantity = QUANTITY_AREA,
     .plausible = PLAUSIBLE_WATER_AREA,
     .range = RANGE_POSITIVE,
     .help = "in an upright vessel, whose water level then counts"},
    {.name = "bottom",
     .kind = KEY_QUANTITY,
     .offset = FIELD(bottom),
     .quantity = QUANTITY_LENGTH,
     .help = "elevation; else that of the point"},
    {.name = "joint bore",
     .kind = KEY_QUANTITY,
     .offset = FIELD(joint_bore),
     .quantity = QUANTITY_LENGTH,
     .plausible = PLAUSIBLE_BORE,
     .range = RANGE_POSITIVE,
     .help = "of the pipe that joins it; else that of the main"},
    {.name = "loss in",
     .kind = KEY_QUANTITY,
     .offset = FIELD(loss_in),
     .quantity = QUANTITY_NUMBER,
     .plausible = PLAUSIBLE_LOSS,
     .range = RANGE_POSITIVE,
     .help = "K of the joint for water going in; else 1.5"},
    {.name = "loss out",
     .kind = KEY_QUANTITY,
     .offset = FIELD(loss_out),
     .quantity = QUANTITY_NUMBER,
     .plausible = PLAUSIBLE_LOSS,
     .range = RANGE_POSITIVE,
     .help = "K of the joint for water coming out; else 1.5"},
    {.name = "bypass bore",
     .kind = KEY_QUANTITY,
     .offset = FIELD(bypass_bore),
     .quantity = QUANTITY_LENGTH,
     .plausible = PLAUSIBLE_BORE,
     .range = RANGE_POSITIVE,
     .help = "of the hole that water must take going in, past a non-return valve in the joint"},
};

const struct section air_vessel_section = {"points: air vessel",
                                           "a closed vessel with gas in it that stands on the main",
                                           sizeof vessel_keys / sizeof *vessel_keys, vessel_keys};

static const struct key air_keys[] = {
    {.name = "bore",
     .kind = KEY_QUANTITY,
     .offset = FIELD(air_bore),
     .quantity = QUANTITY_LENGTH,
     .plausible = PLAUSIBLE_BORE,
     .range = RANGE_POSITIVE,
     .is_required = true,
     .help = "through which air comes in"},
    {.name = "outlet bore",
     .kind = KEY_QUANTITY,
     .offset = FIELD(air_outlet),
     .quantity = QUANTITY_LENGTH,
     .plausible = PLAUSIBLE_BORE,
     .range = RANGE_POSITIVE,
     .help = "through which it goes out; else the same"},
    {.name = "discharge coefficient",
     .kind = KEY_QUANTITY,
     .offset = FIELD(coefficient),
     .quantity = QUANTITY_NUMBER,
     .plausible = PLAUSIBLE_DISCHARGE,
     .range = RANGE_SHARE,
     .fallback = HOLE_COEFFICIENT,
     .help = "of both"},
};
#undef FIELD

const struct section air_valve_section = {
    "points: air valve", "lets air in where the main falls below the pressure of the air, and out",
    sizeof air_keys / sizeof *air_keys, air_keys};

static bool check_vessel(struct draft *draft, const char *subject,
                         const struct protection *protection)
{
    if (isfinite(protection->gas) == isfinite(protection->precharge)) {
        return draft_error(draft, protection->vessel_place,
                           "%s: say either 'gas' (its volume at rest) or 'precharge' (its pressure "
                           "before any water came in)",
                           subject);
    }
    if (isfinite(protection->gas) && protection->gas > protection->volume) {
        return draft_error(draft, protection->vessel_place,
                           "%s: %.4g L of gas do not go into %.4g L", subject,
                           1e3 * protection->gas, 1e3 * protection->volume);
    }
    if (isfinite(protection->bypass_bore) && isfinite(protection->loss_in)) {
        return draft_error(draft, protection->vessel_place,
                           "%s: 'bypass bore' says the loss of the way in; leave out 'loss in'",
                           subject);
    }
    return true;
}

bool protection_read(struct draft *draft, struct point_law *law)
{
    const char *name = draft->network->points[law->point].name;
    law->protection = NULL;
    if (!law->vessel && !law->air) {
        return true;
    }
    struct protection *protection = draft_take(draft, 1, sizeof *protection);
    if (!protection) {
        return false;
    }
    law->protection = protection;
    bool is_good = true;
    if (law->vessel) {
        const char *subject = draft_text(draft, "point '%s', air vessel", name);
        const struct target targets[] = {{&air_vessel_section, protection}};
        protection->vessel_place = law->vessel->place;
        is_good = keys_read(&draft->reader, law->vessel, subject, 1, targets) &&
                  check_vessel(draft, subject, protection);
    }
    if (law->air) {
        const char *subject = draft_text(draft, "point '%s', air valve", name);
        const struct target targets[] = {{&air_valve_section, protection}};
        protection->air_place = law->air->place;
        is_good = keys_read(&draft->reader, law->air, subject, 1, targets) && is_good;
    }
    return is_good;
}

static double or_else(double said, double otherwise)
{
    return isfinite(said) ? said : otherwise;
}

/* A branch into still water or out of it: entry 0.5 and exit 1 (any textbook). */
static const double plain_joint = 1.5;

/* K of a hole in the way: Q = C A sqrt(2 g h), on the velocity in the joint. */
static double hole_loss(double joint_area, double hole_area)
{
    const double ratio = joint_area / (hole_coefficient * hole_area);
    return ratio * ratio;
}

bool protection_make_vessel(struct draft *draft, const struct point_law *law, struct link *link,
                            double *held_head)
{
    const struct protection *said = law->protection;
    const struct point *point = &draft->network->points[law->point];
    struct failure failure;
    struct air_vessel *vessel = draft_take(draft, 1, sizeof *vessel);
    if (!vessel) {
        return false;
    }
    if (isfinite(said->joint_bore)) {
        link->area = circle_area(said->joint_bore);
    } else {
        draft_assume(draft, said->vessel_place,
                     "point '%s', air vessel: no joint bore said; taken as wide as the main",
                     point->name);
    }
    *vessel = (struct air_vessel){.volume = said->volume,
                                  .gas = or_else(said->gas, 0),
                                  .precharge = or_else(said->precharge, 0),
                                  .exponent = said->exponent,
                                  .area = or_else(said->surface, 0),
                                  .joint_area = link->area,
                                  .loss_in = or_else(said->loss_in, plain_joint),
                                  .loss_out = or_else(said->loss_out, plain_joint),
                                  .bottom = or_else(said->bottom, point->elevation)};
    if (isfinite(said->bypass_bore)) {
        vessel->loss_in = hole_loss(link->area, circle_area(said->bypass_bore));
    }
    link->element = &air_vessel_element;
    link->data = vessel;
    *held_head = vessel->bottom;
    return air_vessel_check(vessel, said->vessel_place, &failure) ||
           faults_add_failure(draft->reader.faults, &failure);
}

bool protection_make_air_valve(struct draft *draft, const struct point_law *law, struct link *link,
                               double *held_head)
{
    const struct protection *said = law->protection;
    struct failure failure;
    struct air_valve *valve = draft_take(draft, 1, sizeof *valve);
    if (!valve) {
        return false;
    }
    *valve = (struct air_valve){.area_in = circle_area(said->air_bore),
                                .area_out = circle_area(or_else(said->air_outlet, said->air_bore)),
                                .coefficient_in = said->coefficient,
                                .coefficient_out = said->coefficient};
    link->area = valve->area_in;
    link->element = &air_valve_element;
    link->data = valve;
    *held_head = draft->network->points[law->point].elevation;
    return air_valve_check(valve, said->air_place, &failure) ||
           faults_add_failure(draft->reader.faults, &failure);
}
