/* Section types: the case's own kinds of valve, and the numbers of one valve that a case may state
 * over the catalogue's. */
#ifndef IO_DOOR_READ_TYPES_H
#define IO_DOOR_READ_TYPES_H

#include "io/door/draft.h"
#include "io/door/measured_loss.h"

/* Every number of struct non_return that may be stated; NAN, NULL or -1: not stated. */
struct valve_numbers {
    double port_area, opening_head, full_open_loss, full_open_velocity, strainer_loss, seat_area;
    double moving_mass, moving_inertia, travel, swing_angle, arm, damping, swing_damping;
    double closing_force, closing_moment, opening_floor, seating_head, holding_head, leak,
        leak_share;
    double restitution;
    double preload, preload_moment, spring_rate, swing_spring_rate, weight, weight_moment;
    double seat_angle, swept_share, sticks_until, shut_delay;
    struct numbers loss_opening, loss_at_opening, slam_deceleration, slam_velocity;
    struct measured_loss measured;
    int spring_in_stream, level_needs_back_head, debris, slam, service;
    const char *mountings, *source;
};

/* What stands in a part about one valve, beside the numbers. */
struct valve_choice {
    const char *type;
    double bore; /* m, nominal */
    enum mounting mounting;
    int strainer;                        /* 1, 0; -1: as the type has it */
    const struct valve_numbers *numbers; /* stated at its place; NULL: none */
    struct place place;
};

extern const struct section valve_numbers_section;
extern const struct section own_type_section;

/* Numbers of the motion beyond the catalogue's, of those stated: into valve->own, with the opening
 * head and full-open loss that follow. False: told at `place`. */
MUST_CHECK bool state_own_motion(struct draft *draft, const struct valve_numbers *numbers,
                                 struct place place, struct non_return *valve);

/* Takes the section's node, or NULL; faults go to the list. */
void read_types(struct draft *draft, const struct tree *node);

/* Is there a type of this name, own or built in, and is it for the foot of a suction pipe? False:
 * there is none, told at `place` with the nearest. */
MUST_CHECK bool find_valve_type(struct draft *draft, const char *name, struct place place,
                                bool *is_foot);

/* Is there a type of this name of the case's own, which then counts, not the built-in one? */
bool is_own_type(const struct draft *draft, const char *name);

/* The complete valve in the arena, checked; NULL: told. */
struct non_return *make_valve(struct draft *draft, const struct valve_choice *choice);

#endif
