/* Rules on the suction side: lift against altitude and temperature, a foot valve where the pump
 * stands above the water, how long the prime holds, a spring that costs lift. */
#include "models/circle.h"
#include "models/pipe.h"
#include "solver/findings/rules.h"

#include <math.h>

/* Trade rule: within 6 m of the water at sea level and 20 degC; what the altitude and the warmth
 * take from the air's head less boiling is taken off it. */
static const double PRACTICAL_LIFT = 6.0;       /* m */
static const double BOILING_LIFT_AT_SEA = 10.1; /* m, (101325 - 2339)/(998.2 g) */

/* A visible leak of a worn seat: rate D of EN 12266-1, 0.1 mm3/s for each mm of nominal bore (from
 * memory). */
static const double LEAK_RATE = 1e-7; /* m3/s for each m of bore */

/* With this share of the suction pipe empty the pump no longer draws. Our own choice. */
static const double PRIME_SHARE = 0.1;

static const struct finding LIFT = {
    .level = FINDING_WARNING,
    .rule = "suction lift",
    .text = "height of the pump above the water it draws",
    .unit = "m",
    .remedy = "set the pump lower or nearer, or use a submerged pump",
    .source = "trade rule 6 m at sea level, less what altitude and warm water take",
    .question = 38};

static const struct finding NO_FOOT_VALVE = {
    .level = FINDING_WARNING,
    .rule = "prime",
    .text = "height of the pump above the water it draws, and no non-return valve below it",
    .limit = 0.0,
    .unit = "m",
    .remedy = "put a foot valve without spring at the bottom of the suction pipe, or use a "
              "self-priming pump",
    .source = "common practice",
    .question = 41};

static const struct finding PRIME_TIME = {
    .level = FINDING_NOTE,
    .rule = "prime",
    .text = "time the prime holds at rest if the foot valve leaks at rate D",
    .unit = "s",
    .remedy = "clean the seat yearly; provide a filling plug above the pump",
    .source = "leakage rate D of EN 12266-1 (from memory), a tenth of the suction pipe's water",
    .question = 41};

static const struct finding SPRING_ON_SUCTION = {
    .level = FINDING_WARNING,
    .rule = "spring on suction",
    .text = "opening head that counts as extra suction lift",
    .limit = 0.1,
    .unit = "m",
    .remedy = "on the suction side put a foot valve without spring",
    .source = "common practice; NPSH is reduced by it",
    .question = 53};

static const struct finding SUBMERGENCE = {
    .level = FINDING_WARNING,
    .rule = "submergence",
    .text = "water over the inlet of a pipe that leaves a tank",
    .unit = "m",
    .remedy = "set the inlet deeper or give it a bell: it draws air by a whirl",
    .source = "S = D(1 + 2.3 F), F = v/sqrt(g D), ANSI/HI 9.8 (from memory)",
    .question = 40};

static double practical_lift(const struct view *view)
{
    return PRACTICAL_LIFT - (BOILING_LIFT_AT_SEA + water_vapour_head(&view->site->water));
}

/* The non-return valve on the suction of the pump of `pump_link`, or NULL. */
static const struct valve_place *valve_below(const struct view *view, int pump_link)
{
    for (int i = 0; i < view->site->valve_count; i++) {
        const struct valve_place *place = &view->site->valves[i];
        if (place->is_on_suction && network_leads_to(view->network, place->link, pump_link)) {
            return place;
        }
    }
    return NULL;
}

/* A foot valve that several pumps share is told once. */
static bool is_told_before(const struct view *view, const struct pump_place *place,
                           const struct valve_place *below)
{
    for (const struct pump_place *other = view->site->pump_places; other < place; other++) {
        if (other->from_tank != NETWORK_NONE &&
            other->axis > view->network->tanks[other->from_tank].level &&
            network_leads_to(view->network, below->link, other->link) &&
            valve_below(view, other->link) == below) {
            return true;
        }
    }
    return false;
}

static void rule_prime(const struct view *view, const struct pump_place *place, double lift)
{
    const struct valve_place *below = valve_below(view, place->link);
    if (!below) {
        const struct told told = {lift, (double)NAN, false};
        view_tell_link(view, &NO_FOOT_VALVE, place->link, &told);
        return;
    }
    if (is_told_before(view, place, below)) {
        return;
    }
    const double leak = LEAK_RATE * view_valve(view, below)->bore;
    const struct told told = {
        PRIME_SHARE * network_volume_before(view->network, place->link) / leak, (double)NAN, false};
    view_tell_link(view, &PRIME_TIME, below->link, &told);
}

/* A link that takes water out of a tank at an inlet that lies under its surface. */
static void rule_submergence(const struct view *view, int link)
{
    const struct link *at = &view->network->links[link];
    const struct point *water = &view->network->points[at->from];
    const double flow = view->steady->flow[link];
    const double bore = sqrt(4.0 * at->area / circle_pi);
    const double speed_number = flow / at->area / sqrt(view->site->water.gravity * bore);
    const struct told told = {water->held_head - view->network->points[at->to].elevation,
                              bore * (1.0 + 2.3 * speed_number), false};
    if (water->tank != NETWORK_NONE && flow > view_still && told.value < told.limit) {
        view_tell_link(view, &SUBMERGENCE, link, &told);
    }
}

void rules_suction(const struct view *view)
{
    for (int i = 0; i < view->network->link_count; i++) {
        rule_submergence(view, i);
    }
    for (int i = 0; i < view->site->pump_place_count; i++) {
        const struct pump_place *place = &view->site->pump_places[i];
        if (place->from_tank == NETWORK_NONE) {
            continue;
        }
        const double lift = place->axis - view->network->tanks[place->from_tank].level;
        const struct told told = {lift, practical_lift(view), false};
        if (lift > told.limit) {
            view_tell_link(view, &LIFT, place->link, &told);
        }
        if (lift > 0.0) {
            rule_prime(view, place, lift);
        }
    }
    for (int i = 0; i < view->site->valve_count; i++) {
        const struct valve_place *place = &view->site->valves[i];
        const struct told told = {view_valve(view, place)->opening_head, (double)NAN, false};
        if (place->is_on_suction && told.value > SPRING_ON_SUCTION.limit) {
            view_tell_link(view, &SPRING_ON_SUCTION, place->link, &told);
        }
    }
}
