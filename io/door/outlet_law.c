#include "io/door/outlet_law.h"

#include "models/draw_off.h"
#include "models/relief_valve.h"

#include <math.h>

#define FIELD(name) offsetof(struct outlet_law, name)
static const struct key outlet_law_keys[] = {
    {.name = "flow",
     .kind = KEY_QUANTITY,
     .offset = FIELD(flow),
     .quantity = QUANTITY_FLOW,
     .range = RANGE_POSITIVE,
     .help = "a nozzle's, at its 'pressure'"},
    {.name = "pressure",
     .kind = KEY_QUANTITY,
     .offset = FIELD(pressure),
     .quantity = QUANTITY_HEAD,
     .range = RANGE_POSITIVE,
     .help = "over the air at which a nozzle gives its 'flow'"},
    {.name = "power",
     .kind = KEY_QUANTITY,
     .offset = FIELD(power),
     .quantity = QUANTITY_NUMBER,
     .range = RANGE_POSITIVE,
     .fallback = "0.5",
     .help = "of the pressure with which a nozzle's flow goes"},
    {.name = "sprinkler factor",
     .kind = KEY_QUANTITY,
     .offset = FIELD(factor),
     .quantity = QUANTITY_NUMBER,
     .range = RANGE_POSITIVE,
     .help = "litres a minute at 1 bar, as in EN 12845; goes with the root of the pressure"},
    {.name = "opens at",
     .kind = KEY_QUANTITY,
     .offset = FIELD(opens_at),
     .quantity = QUANTITY_HEAD,
     .range = RANGE_NOT_NEGATIVE,
     .help = "pressure over the air at which a relief valve begins to lift"},
    {.name = "overpressure",
     .kind = KEY_QUANTITY,
     .offset = FIELD(overpressure),
     .quantity = QUANTITY_NUMBER,
     .range = RANGE_NOT_NEGATIVE,
     .fallback = "0.1",
     .help = "share above it at which a relief valve is fully lifted"},
    {.name = "lifts in",
     .kind = KEY_QUANTITY,
     .offset = FIELD(opening_time),
     .quantity = QUANTITY_TIME,
     .range = RANGE_NOT_NEGATIVE,
     .fallback = "0 s",
     .help = "time a relief valve needs for its whole lift"},
    {.name = "shuts in",
     .kind = KEY_QUANTITY,
     .offset = FIELD(closing_time),
     .quantity = QUANTITY_TIME,
     .range = RANGE_NOT_NEGATIVE,
     .fallback = "0 s",
     .help = "time it needs to come down from it"},
};
#undef FIELD

const struct section outlet_law_section = {
    "outlets: nozzle or relief valve", "an outlet known by its flow, or one that opens by itself",
    sizeof outlet_law_keys / sizeof *outlet_law_keys, outlet_law_keys};

bool outlet_law_check(struct draft *draft, const char *subject, struct place place,
                      const struct outlet_law *law)
{
    const bool is_nozzle = isfinite(law->flow) || isfinite(law->pressure);
    const int claims = is_nozzle + isfinite(law->factor) + isfinite(law->opens_at);
    if (claims > 1) {
        return draft_error(draft, place,
                           "%s: one of 'flow' with 'pressure' (a nozzle), 'sprinkler factor' and "
                           "'opens at' (a relief valve)",
                           subject);
    }
    if (isfinite(law->flow) != isfinite(law->pressure)) {
        return draft_error(draft, place, "%s: a nozzle's 'flow' and 'pressure' go together",
                           subject);
    }
    return true;
}

static bool make_nozzle(struct draft *draft, const struct outlet *outlet, struct link *link)
{
    const struct outlet_law *law = &outlet->law;
    struct failure failure;
    struct draw_off *nozzle = draft_take(draft, 1, sizeof *nozzle);
    if (!nozzle) {
        return false;
    }
    if (isfinite(law->factor)) {
        *nozzle = draw_off_sprinkler(law->factor, &draft->site->water);
    } else {
        *nozzle = (struct draw_off){
            .flow = law->flow, .head = law->pressure, .exponent = law->power, .most = HUGE_VAL};
    }
    link->element = &nozzle_element;
    link->data = nozzle;
    return draw_off_check(nozzle, outlet->place, &failure) ||
           faults_add_failure(draft->reader.faults, &failure);
}

static bool make_relief_valve(struct draft *draft, const struct outlet *outlet, struct link *link)
{
    struct failure failure;
    struct relief_valve *valve = draft_take(draft, 1, sizeof *valve);
    if (!valve) {
        return false;
    }
    *valve = (struct relief_valve){.area = link->area,
                                   .coefficient = outlet->discharge_coefficient,
                                   .set_head = outlet->law.opens_at,
                                   .overpressure = outlet->law.overpressure,
                                   .opening_time = outlet->law.opening_time,
                                   .closing_time = outlet->law.closing_time};
    link->element = &relief_valve_element;
    link->data = valve;
    if (!isfinite(outlet->bore)) {
        draft_assume(draft, outlet->place,
                     "outlet '%s': no bore said; the relief valve's seat is taken as wide as the "
                     "pipe",
                     outlet->name);
    }
    return relief_valve_check(valve, outlet->place, &failure) ||
           faults_add_failure(draft->reader.faults, &failure);
}

bool outlet_law_make(struct draft *draft, const struct outlet *outlet, struct link *link)
{
    if (isfinite(outlet->law.opens_at)) {
        return make_relief_valve(draft, outlet, link);
    }
    if (isfinite(outlet->law.factor) || isfinite(outlet->law.flow)) {
        return make_nozzle(draft, outlet, link);
    }
    return false;
}
