/* The numbers of a valve's motion that only a case states. */
#include "io/door/read_types.h"
#include "models/circle.h"

#include <math.h>

static void state(double stated, double *value)
{
    if (isfinite(stated)) {
        *value = stated;
    }
}

/* The four numbers of the closing force against the two that the catalogue has. */
static bool state_force(struct draft *draft, const struct valve_numbers *numbers,
                        struct place place, struct non_return *valve)
{
    struct non_return_own *own = &valve->own;
    const bool swings = valve->is_swing;
    const double preload = swings ? numbers->preload_moment : numbers->preload;
    const double rate = swings ? numbers->swing_spring_rate : numbers->spring_rate;
    const double weight = swings ? numbers->weight_moment : numbers->weight;
    const double plain = swings ? numbers->closing_moment : numbers->closing_force;
    const bool is_own = isfinite(preload) || isfinite(rate) || isfinite(weight);
    const bool is_plain =
        isfinite(plain) || isfinite(numbers->opening_head) || isfinite(numbers->full_open_velocity);
    if (is_own && is_plain) {
        return draft_error(draft, place,
                           "'%s': its opening head, full-open velocity and closing force follow "
                           "from preload, spring rate and weight; state one or the other",
                           valve->type);
    }
    own->has_force = is_own || (own->has_force && !is_plain);
    state(preload, &own->preload);
    state(rate, &own->rate);
    state(weight, &own->weight);
    state(numbers->seat_angle, &own->seat_angle);
    return true;
}

/* Two lists of one length each point of which is a pair. */
static bool check_pair(struct draft *draft, const char *first, const struct numbers *at,
                       const char *second, const struct numbers *value, struct place place)
{
    return at->count == value->count ||
           draft_error(draft, place, "'%s' has %d numbers and '%s' has %d; they go in pairs", first,
                       at->count, second, value->count);
}

bool state_own_motion(struct draft *draft, const struct valve_numbers *numbers, struct place place,
                      struct non_return *valve)
{
    struct non_return_own *own = &valve->own;
    if (!check_pair(draft, "loss opening", &numbers->loss_opening, "loss at opening",
                    &numbers->loss_at_opening, place) ||
        !check_pair(draft, "slam deceleration", &numbers->slam_deceleration, "slam velocity",
                    &numbers->slam_velocity, place) ||
        !state_force(draft, numbers, place, valve)) {
        return false;
    }
    if (numbers->loss_opening.count > 0) {
        own->loss_count = numbers->loss_opening.count;
        own->loss_opening = numbers->loss_opening.value;
        own->loss = numbers->loss_at_opening.value;
        valve->full_open_loss = own->loss[own->loss_count - 1];
    }
    if (numbers->slam_deceleration.count > 0) {
        own->curve_count = numbers->slam_deceleration.count;
        own->curve_deceleration = numbers->slam_deceleration.value;
        own->curve_velocity = numbers->slam_velocity.value;
    }
    state(numbers->swept_share, &own->rotation);
    state(numbers->sticks_until, &own->stick_velocity);
    state(numbers->shut_delay, &own->shut_delay);
    if (own->has_force) {
        const double area = circle_area(valve->bore);
        valve->closing_force = non_return_force(valve, &draft->site->water, 0.0, NULL);
        valve->opening_head = valve->closing_force / non_return_lift(valve, &draft->site->water);
        valve->full_open_velocity = non_return_full_open_flow(valve, &draft->site->water) / area;
    }
    return true;
}
