/* A small light pump and a non-return valve for the surge tests' rig; each test lays the pipes. */
#ifndef TESTS_SOLVER_SURGE_RIG_LIFT_H
#define TESTS_SOLVER_SURGE_RIG_LIFT_H

#include "models/non_return.h"
#include "tests/solver/surge_rig_start.h"

struct lift {
    struct rig rig;
    struct pump pump;
    struct pump_unit unit;
    struct non_return valve;
};

/* Opens the rig and makes the pump and a DN50 valve of this type; nothing is joined yet. */
static inline void lift_open(struct lift *lift, const char *type, double duration)
{
    struct rig *rig = &lift->rig;
    rig_open(rig, duration);
    lift->pump = (struct pump){.name = "lift",
                               .speed = 2900.0 / 60.0,
                               .count = 5,
                               .flow = {0.0, 1e-3, 2e-3, 3e-3, 4e-3},
                               .head = {24.0, 23.0, 20.5, 16.5, 11.0},
                               .power_count = 5,
                               .power = {450.0, 550.0, 660.0, 740.0, 800.0},
                               .inertia = 0.002};
    cr_assert(pump_init(&lift->pump, &rig->site.water, &rig->failure), "%s", rig->failure.message);
    lift->unit = (struct pump_unit){.pump = &lift->pump, .speed = 1.0, .is_running = true};
    non_return_make(non_return_type_find(type, NULL), 0.05, MOUNTING_UP, &rig->site.water,
                    &lift->valve);
}

#endif
