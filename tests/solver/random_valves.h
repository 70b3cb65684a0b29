/* Random valves and pumps for random_parts.h. */
#ifndef TESTS_SOLVER_RANDOM_VALVES_H
#define TESTS_SOLVER_RANDOM_VALVES_H

#include "tests/solver/random_parts.h"

#include <stdio.h>
#include <stdlib.h>

/* `count` equal non-return valves side by side: any type, size and mounting of the catalogue, or a
 * law with an opening head of a whole tenth and with or without loss. */
static inline void trial_valves(struct trial *trial, int from, int to, int count)
{
    struct random *random = &trial->random;
    const bool is_real = random_pick(random, 2);
    union trial_data data;
    double bore = trial_bore(random);
    if (is_real) {
        const struct non_return_type *type =
            non_return_type_at(random_pick(random, non_return_type_count()));
        bore = non_return_size_at(random_pick(random, non_return_size_count()));
        non_return_make(type, bore, (enum mounting)random_pick(random, MOUNTING_COUNT), &kit_water,
                        &data.valve);
    } else {
        static const double openings[] = {0, 0, 0.05, 0.3, 1};
        const double area = circle_area(bore);
        const double loss = random_pick(random, 4) == 0 ? 0 : random_spread(random, 0.5, 10);
        data.law = kit_valve(openings[random_pick(random, 5)], loss / (19.62 * area * area));
    }
    for (int i = 0; i < count; i++) {
        *trial_next(trial) = data;
        trial_join(trial, from, to, circle_area(bore),
                   is_real ? &non_return_element : &kit_element);
    }
}

/* A mouth to the air at `from`: nozzle, sprinkler, tap with a most, open end, relief valve. */
static inline void trial_mouth(struct trial *trial, int from)
{
    struct random *random = &trial->random;
    const int air = trial_point(trial, true, 0);
    const double bore = random_spread(random, 0.003, 0.03);
    const double area = circle_area(bore);
    union trial_data *data = trial_next(trial);
    const struct element *element = &draw_off_element;
    switch (random_pick(random, 5)) {
    case 0:
        data->draw = draw_off_orifice(bore, 0.62, &kit_water);
        element = &nozzle_element;
        break;
    case 1:
        data->draw = draw_off_sprinkler(80, &kit_water);
        break;
    case 2:
        data->draw = (struct draw_off){.flow = 3e-4, .head = 10, .exponent = 0.5, .most = 3e-4};
        break;
    case 3:
        data->fitting =
            (struct fitting){.area = area, .loss = 1, .loss_back = 1, .is_one_way = true};
        element = &fitting_element;
        break;
    default:
        data->relief = (struct relief_valve){.area = area,
                                             .coefficient = 0.6,
                                             .set_head = random_pick(random, 40),
                                             .overpressure = random_pick(random, 2) ? 0.1 : 0};
        element = &relief_valve_element;
    }
    trial_join(trial, from, air, area, element);
}

static inline void trial_limiter(struct trial *trial, int from, int to)
{
    struct random *random = &trial->random;
    const double area = circle_area(trial_bore(random));
    trial_next(trial)->limiter = (struct flow_limiter){.area = area,
                                                       .loss = random_spread(random, 1, 20),
                                                       .laminar = random_pick(random, 2) ? 500 : 0,
                                                       .limit = area * random_even(random, 0.1, 2),
                                                       .is_one_way = random_pick(random, 2)};
    trial_join(trial, from, to, area, &flow_limiter_element);
}

/* A pump law made of numbers: a parabola, or straight lines of which the first lies level where
 * nothing can run backward. */
static inline struct kit_law trial_pump_law(struct random *random, double rated, bool has_valve)
{
    const double head = random_pick(random, 2) ? 30 : random_even(random, 5, 60);
    struct kit_law law = kit_pump(head, 0.4 * head / (rated * rated));
    if (random_pick(random, 3) == 0) {
        const double share_flow[] = {0, 0.5, 1, 1.6};
        const double share_head[] = {has_valve ? 1 : 1.1, 1, 0.8, 0.2};
        law.count = 4;
        for (int k = 0; k < 4; k++) {
            law.flow[k] = share_flow[k] * rated;
            law.head[k] = share_head[k] * head;
        }
    }
    return law;
}

/* A machine of models/pump at some speed, one in ten standing, or a law. */
static inline void trial_pump(struct trial *trial, int from, int to, bool has_valve)
{
    struct random *random = &trial->random;
    const double area = circle_area(trial_bore(random));
    const double rated = 1.5 * area;
    if (random_pick(random, 2) || trial->pump_count == TRIAL_PUMPS) {
        trial_next(trial)->law = trial_pump_law(random, rated, has_valve);
        trial_join(trial, from, to, area, &kit_element);
        return;
    }
    struct failure failure = {0};
    const double head = random_pick(random, 2) ? 30 : random_even(random, 5, 60);
    struct pump *pump = &trial->pumps[trial->pump_count++];
    *pump = (struct pump){.name = "pump",
                          .speed = random_pick(random, 2) ? 48.3 : 24.2,
                          .count = 5,
                          .flow = {0, 0.4 * rated, 0.8 * rated, 1.2 * rated, 1.6 * rated},
                          .head = {head, 0.97 * head, 0.86 * head, 0.62 * head, 0.2 * head}};
    if (!pump_init(pump, &kit_water, &failure)) {
        printf("%s\n", failure.message);
        exit(2);
    }
    trial_next(trial)->unit = (struct pump_unit){.pump = pump,
                                                 .speed = random_even(random, 0.6, 1.1),
                                                 .is_running = random_pick(random, 10) > 0};
    trial_join(trial, from, to, area, &pump_element);
}

#endif
