/* Rigid column: a main as one rigid column of water from a reservoir to an element that stands at
 * its far end, which is shut off from everything else at once. The textbooks' exact swings of surge
 * tanks and air vessels are for it. */
#ifndef TESTS_MODELS_RIGID_COLUMN_H
#define TESTS_MODELS_RIGID_COLUMN_H

#include "tests/models/law_kit.h"

#include <string.h>

struct column {
    double length;   /* m */
    double area;     /* m2 */
    double head;     /* m of the reservoir */
    double velocity; /* m/s at first, towards the element */
};

/* What is followed. */
struct swing {
    double lowest; /* of state `watched` */
    double highest;
    double head_lowest; /* m, at the element */
    double head_highest;
};

/* The column without friction for `duration` s in steps of `step`: each step's velocity by
 * bisection of its equation of motion (trapezoidal rule) with the element's law. `far` is the head
 * at the element's own far end; state number `flow_state` is its flow. */
static inline struct swing column_run(const struct column *column, const struct element *element,
                                      const void *data, double far, int flow_state, int watched,
                                      double duration, double step)
{
    double old[ELEMENT_STATE_MAX] = {0};
    double next[ELEMENT_STATE_MAX] = {0};
    double v = column->velocity;
    double head = column->head;
    element->motion->start(data, &law_water, 0, head - far, old);
    old[flow_state] = v * column->area;
    struct swing swing = {old[watched], old[watched], head, head};
    for (double time = 0; time < duration; time += step) {
        const struct instant now = {time, step, 1, &law_water, NULL};
        double low = v - 1;
        double high = v + 1;
        double there = head;
        for (int i = 0; i < 60; i++) {
            const double w = 0.5 * (low + high);
            there = element->motion->drop(data, &now, old, w * column->area, next).head + far;
            const double pull = column->head - 0.5 * (head + there);
            const bool is_short = w - v < 9.81 * step / column->length * pull;
            low = is_short ? w : low;
            high = is_short ? high : w;
        }
        v = 0.5 * (low + high);
        head = there;
        memcpy(old, next, sizeof old);
        swing.lowest = fmin(swing.lowest, old[watched]);
        swing.highest = fmax(swing.highest, old[watched]);
        swing.head_lowest = fmin(swing.head_lowest, head);
        swing.head_highest = fmax(swing.head_highest, head);
    }
    return swing;
}

#endif
