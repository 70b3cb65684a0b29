/* Random parts: a network that grows, and what is put into it, real elements of models/ beside laws
 * made of numbers. */
#ifndef TESTS_SOLVER_RANDOM_PARTS_H
#define TESTS_SOLVER_RANDOM_PARTS_H

#include "models/circle.h"
#include "models/draw_off.h"
#include "models/fitting.h"
#include "models/flow_limiter.h"
#include "models/non_return.h"
#include "models/pump.h"
#include "models/relief_valve.h"
#include "tests/solver/kit.h"
#include "tests/solver/random_numbers.h"

enum { TRIAL_POINTS = 500, TRIAL_LINKS = 1600, TRIAL_PUMPS = 16 };

/* What a link of a trial works on. */
union trial_data {
    struct pipe pipe;
    struct fitting fitting;
    struct kit_law law;
    struct non_return valve;
    struct pump_unit unit;
    struct draw_off draw;
    struct relief_valve relief;
    struct flow_limiter limiter;
};

struct trial {
    struct random random;
    struct network network;
    struct point points[TRIAL_POINTS];
    struct link links[TRIAL_LINKS];
    union trial_data data[TRIAL_LINKS];
    struct pump pumps[TRIAL_PUMPS];
    int pump_count;
    int directional_count; /* links with an end to their span */
};

/* Room for the next link's data. */
static inline union trial_data *trial_next(struct trial *trial)
{
    return &trial->data[trial->network.link_count];
}

static inline void trial_join(struct trial *trial, int from, int to, double area,
                              const struct element *element)
{
    const union trial_data *data = trial_next(trial);
    const struct span span = element->span(data, &kit_water);
    trial->directional_count += isfinite(span.lower) || isfinite(span.upper);
    trial->links[trial->network.link_count++] = (struct link){.name = "link",
                                                              .from = from,
                                                              .to = to,
                                                              .run = NETWORK_NONE,
                                                              .area = area,
                                                              .element = element,
                                                              .data = data};
}

static inline int trial_point(struct trial *trial, bool is_held, double draw)
{
    struct random *random = &trial->random;
    struct point *point = &trial->points[trial->network.point_count];
    *point = (struct point){.name = "point", .draw = draw, .is_held = is_held};
    point->tank = NETWORK_NONE;
    /* whole numbers, so that equal levels and ties at the opening head happen */
    if (is_held) {
        point->held_head =
            random_pick(random, 2) ? random_pick(random, 12) : random_even(random, 0, 60);
    }
    return trial->network.point_count++;
}

static inline double trial_bore(struct random *random)
{
    static const double bores[] = {0.016, 0.02, 0.032, 0.05, 0.063, 0.09, 0.11, 0.16, 0.2};
    return bores[random_pick(random, sizeof bores / sizeof *bores)];
}

/* One link in ten a fitting, some purely quadratic, some by r Q|Q|; else pipe, a quarter of it by
 * Hazen-Williams, a few with a fixed factor. */
static inline void trial_pipe(struct trial *trial, int from, int to)
{
    struct random *random = &trial->random;
    const double bore = trial_bore(random);
    const double area = circle_area(bore);
    union trial_data *data = trial_next(trial);
    if (random_pick(random, 10) == 0) {
        const double loss = random_spread(random, 0.05, 50);
        data->fitting = (struct fitting){.area = area,
                                         .loss = loss,
                                         .loss_back = random_pick(random, 4) ? loss : 2 * loss,
                                         .laminar = random_pick(random, 2) ? 500 : 0};
        if (random_pick(random, 6) == 0) {
            data->fitting.resistance = loss / (19.62 * area * area);
        }
        trial_join(trial, from, to, area, &fitting_element);
        return;
    }
    data->pipe = (struct pipe){.friction = {.length = random_spread(random, 0.5, 500),
                                            .bore = bore,
                                            .roughness = 1e-5 * random_pick(random, 10)}};
    if (random_pick(random, 4) == 0) {
        data->pipe.friction.hazen_williams = 150;
        data->pipe.friction.hazen_williams_constant = 10.667;
        data->pipe.friction.hazen_williams_flow_power = 1.852;
        data->pipe.friction.hazen_williams_bore_power = 4.871;
    } else if (random_pick(random, 20) == 0) {
        data->pipe.friction.factor = 0.02;
    }
    trial_join(trial, from, to, area, &pipe_element);
}

#endif
