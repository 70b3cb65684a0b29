/* Filling rig: small sites put together by hand for the tests of filling. */
#ifndef TESTS_SOLVER_FILLING_RIG_H
#define TESTS_SOLVER_FILLING_RIG_H

#include "models/circle.h"
#include "models/fitting.h"
#include "models/site.h"
#include "solver/filling/filling.h"
#include "tests/solver/kit_law.h"

#include <criterion/criterion.h>
#include <string.h>

enum { RIG_MAX = 16, RIG_COURSES = 8 };

struct rig {
    struct site site;
    struct network network;
    struct point points[RIG_MAX];
    struct link links[RIG_MAX];
    struct tank tanks[RIG_MAX];
    struct filling_tank words[RIG_MAX];
    struct fitting fittings[RIG_MAX];
    struct kit_law laws[RIG_MAX];
    struct pump pumps[RIG_MAX];
    struct pump_unit units[RIG_MAX];
    struct filling_pump pump_words[RIG_MAX];
    struct filling_switch switches[RIG_MAX];
    struct filling_draw draws[RIG_MAX];
    struct filling_timer timers[RIG_MAX];
    double numbers[RIG_MAX][2];
    int pump_list[RIG_MAX][RIG_MAX];
    struct arena *arena;
    struct filling answer;
};

static inline void rig_init(struct rig *rig, double gravity)
{
    memset(rig, 0, sizeof *rig);
    rig->site.name = "rig";
    rig->site.network = &rig->network;
    rig->site.water =
        (struct water){.gravity = gravity, .density = 1000, .viscosity = 1e-6, .temperature_c = 20};
    rig->network.points = rig->points;
    rig->network.links = rig->links;
    rig->network.tanks = rig->tanks;
    struct filling_plan *plan = &rig->site.filling;
    plan->is_given = true;
    plan->tanks = rig->words;
    plan->pumps = rig->pump_words;
    plan->switches = rig->switches;
    plan->draws = rig->draws;
    plan->timers = rig->timers;
    rig->arena = arena_new();
}

static inline int rig_held(struct rig *rig, double head)
{
    const int point = rig->network.point_count++;
    rig->points[point] = (struct point){.name = "held",
                                        .elevation = head,
                                        .held_head = head,
                                        .is_held = true,
                                        .tank = NETWORK_NONE};
    return point;
}

static inline int rig_free(struct rig *rig, double draw)
{
    const int point = rig->network.point_count++;
    rig->points[point] = (struct point){.name = "free", .draw = draw, .tank = NETWORK_NONE};
    return point;
}

/* A tank whose brim is at the top of its shape; gives its point. */
static inline int rig_tank(struct rig *rig, struct tank_shape shape, double floor, double level)
{
    const int tank = rig->network.tank_count++;
    const int point = rig_held(rig, level);
    rig->points[point].tank = tank;
    rig->tanks[tank] = (struct tank){.name = "tank",
                                     .floor = floor,
                                     .brim = floor + shape.height,
                                     .level = level,
                                     .area = 1.0,
                                     .point = point};
    rig->words[tank] = (struct filling_tank){.shape = shape, .overflow_to = NETWORK_NONE};
    return point;
}

static inline int rig_link(struct rig *rig, int from, int to, const struct element *element,
                           const void *data)
{
    const int link = rig->network.link_count++;
    rig->links[link] = (struct link){.name = "link",
                                     .from = from,
                                     .to = to,
                                     .run = NETWORK_NONE,
                                     .area = 0.01,
                                     .element = element,
                                     .data = data};
    return link;
}

/* An opening of `area` m2 into the air at `head` m: flow = coefficient area sqrt(2 g depth). */
static inline int rig_orifice(struct rig *rig, int from, double head, double area,
                              double coefficient)
{
    struct fitting *fitting = &rig->fittings[rig->network.link_count];
    *fitting =
        (struct fitting){.area = area, .loss = 1 / (coefficient * coefficient), .is_one_way = true};
    fitting->loss_back = fitting->loss;
    return rig_link(rig, from, rig_held(rig, head), &fitting_element, fitting);
}

static inline int rig_law(struct rig *rig, int from, int to, struct kit_law law)
{
    struct kit_law *mine = &rig->laws[rig->network.link_count];
    *mine = law;
    return rig_link(rig, from, to, &kit_element, mine);
}

#endif
