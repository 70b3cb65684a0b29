/* A small pumped site built by hand for the tests of choice and findings: a sump at 0 m, a pump on
 * the floor beside it, a non-return valve behind it, 60 m of PVC-U 63 PN10 up to a header tank. */
#ifndef TESTS_SOLVER_SMALL_SITE_H
#define TESTS_SOLVER_SMALL_SITE_H

#include "models/circle.h"
#include "models/fitting.h"
#include "models/pipe.h"
#include "models/pipe_catalogue.h"
#include "models/site.h"

#include <assert.h>
#include <math.h>
#include <string.h>

struct small_site {
    struct site site;
    struct network network;
    struct point points[6];
    struct link links[5];
    struct tank tanks[2];
    struct run run;
    struct pump pump;
    struct pump_unit unit;
    struct pump_place pump_place;
    struct valve_place valve_place;
    struct non_return valve;
    struct fitting entry;
    struct fitting exit;
    struct pipe pipe;
};

/* The curve D4 of the project's demonstration pumps: H = 21 - 5 (Q/12 m3/h)^2 m, invented. */
static inline void small_site_pump(struct small_site *small)
{
    static const double share[] = {0.0, 0.25, 0.5, 0.75, 1.0, 1.25, 1.5};
    struct pump *pump = &small->pump;
    *pump = (struct pump){.name = "lift", .speed = 2900.0 / 60.0, .count = 7};
    pump->power_count = pump->npsh_count = pump->count;
    for (int i = 0; i < pump->count; i++) {
        const double q = share[i];
        pump->flow[i] = q * 12.0 / 3600.0;
        pump->head[i] = 21.0 - 5.0 * q * q;
        pump->power[i] = 591.0 + 309.0 * q;
        pump->npsh[i] = 1.8 * (0.6 + 0.4 * q * q);
    }
    pump->inertia = 0.004;
    struct failure failure = {0};
    (void)!pump_init(pump, &small->site.water, &failure);
    assert(failure.kind == FAILURE_NONE);
    small->unit = (struct pump_unit){.pump = pump, .speed = 1.0, .is_running = true};
}

static inline void small_site_pipe(struct small_site *small, double header)
{
    const struct pipe_size *size = pipe_catalogue_find("pvc-u 63 pn10", NULL);
    assert(size);
    small->pipe = (struct pipe){.friction = {.length = 60.0, .bore = size->bore, .roughness = 7e-6},
                                .wall = size->wall,
                                .material = wall_find(size->material),
                                .pressure_class = size->pressure_class,
                                .vertical_from = 0.3,
                                .vertical_to = header - 0.5};
    small->entry = (struct fitting){.area = circle_area(size->bore), .loss = 0.5, .loss_back = 1.0};
    small->exit = (struct fitting){.area = circle_area(size->bore), .loss = 1.0, .loss_back = 0.5};
}

static inline void small_site_join(struct small_site *small, int link, const char *name, int from,
                                   const struct element *element, const void *data)
{
    small->links[link] = (struct link){.name = name,
                                       .from = from,
                                       .to = from + 1,
                                       .run = 0,
                                       .area = circle_area(small->pipe.friction.bore),
                                       .element = element,
                                       .data = data};
}

static inline void small_site_tanks(struct small_site *small, double header)
{
    small->tanks[0] =
        (struct tank){.name = "sump", .floor = -1.0, .brim = 1.0, .area = 4.0, .point = 0};
    small->tanks[1] = (struct tank){.name = "header",
                                    .floor = header - 2.0,
                                    .brim = header + 0.5,
                                    .level = header,
                                    .area = 6.0,
                                    .point = 5};
    small->run =
        (struct run){.name = "main", .from = 0, .to = 5, .link_count = 5, .is_suction = true};
    small->network = (struct network){.point_count = 6,
                                      .link_count = 5,
                                      .tank_count = 2,
                                      .run_count = 1,
                                      .points = small->points,
                                      .links = small->links,
                                      .tanks = small->tanks,
                                      .runs = &small->run};
}

/* Header level `header` m above the sump's; a valve of the catalogue's `type` in DN50, level. */
static inline void small_site_init(struct small_site *small, const char *type, double header)
{
    struct failure failure = {0};
    memset(small, 0, sizeof *small);
    (void)!water_init(&small->site.water, 15.0, 100.0, (struct place){0}, &failure);
    assert(failure.kind == FAILURE_NONE);
    small_site_pump(small);
    small_site_pipe(small, header);
    const struct non_return_type *kind = non_return_type_find(type, NULL);
    assert(kind);
    non_return_make(kind, 0.05, MOUNTING_UP, &small->site.water, &small->valve);
    static const char *const names[] = {"sump", "run/1", "run/2", "run/3", "run/4", "header"};
    for (int i = 0; i < 6; i++) {
        small->points[i] = (struct point){
            .name = names[i], .elevation = i < 4 ? 0.3 : header - 0.5, .tank = NETWORK_NONE};
    }
    small->points[0].is_held = small->points[5].is_held = true;
    small->points[5].held_head = header;
    small->points[0].tank = 0;
    small->points[5].tank = 1;
    small_site_join(small, 0, "entry", 0, &fitting_element, &small->entry);
    small_site_join(small, 1, "lift", 1, &pump_element, &small->unit);
    small_site_join(small, 2, "delivery", 2, &non_return_element, &small->valve);
    small_site_join(small, 3, "rise", 3, &pipe_element, &small->pipe);
    small_site_join(small, 4, "exit", 4, &fitting_element, &small->exit);
    small->links[2].area = circle_area(small->valve.bore);
    small_site_tanks(small, header);
    small->pump_place = (struct pump_place){.link = 1, .from_tank = 0, .axis = 0.3};
    small->valve_place = (struct valve_place){.link = 2,
                                              .pipe_bore = small->pipe.friction.bore,
                                              .union_before = true,
                                              .union_after = true,
                                              .straight_before = 0.5,
                                              .pump_link = 1};
    struct site *site = &small->site;
    site->name = "small site";
    site->network = &small->network;
    site->pump_count = 1;
    site->pumps = &small->pump;
    site->pump_place_count = 1;
    site->pump_places = &small->pump_place;
    site->valve_count = 1;
    site->valves = &small->valve_place;
    const double none = (double)NAN;
    site->limits = (struct limits){none, none, none, none, none, none};
}

#endif
