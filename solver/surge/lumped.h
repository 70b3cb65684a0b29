/* Lumped: a link without a grid (fitting, valve, pump, stub) while things move.
 * Its law is the element's motion, else its steady law; a stub adds its series law (stub.h). */
#ifndef SOLVER_SURGE_LUMPED_H
#define SOLVER_SURGE_LUMPED_H

#include "models/network.h"

struct lumped {
    int link;  /* in the network, or NETWORK_NONE: a cavity */
    int point; /* of a cavity, else NETWORK_NONE */
    const struct element *element;
    const void *data;
    double series; /* s/m2, of a stub; 0: none */
    double going;  /* m3/s, of a stub: the flow that its waves drive in this step */
    struct instant now;
    double flow;        /* m3/s, present guess or answer */
    double flow_before; /* m3/s, a step earlier */
    struct drop drop;   /* at `flow`, with a stub's series law */
    struct span span;   /* of this step */
    double old[ELEMENT_STATE_MAX];
    double next[ELEMENT_STATE_MAX];
    double kept[ELEMENT_KEPT_MAX]; /* by the span, for the drops of this step */
};

/* At rest with the steady flow, m3/s, and heads, m, at its ends. */
void lumped_start(struct lumped *lumped, const struct link *link, const struct water *water,
                  double flow, double head_from, double head_to);

/* Begins a step: time at its end and its length, s; the setting commanded. */
void lumped_begin(struct lumped *lumped, double time, double step, double setting);

/* Drop at `flow`; state follows. */
struct drop lumped_drop(struct lumped *lumped, double flow);

/* Its coupled law, if its element has one, at the end of the step; state follows. */
struct coupled_law lumped_law(struct lumped *lumped, const struct coupled_at *at);

/* The step's flow and the head difference across it, m, are found. True: solve again, the span has
 * changed. */
bool lumped_settle(struct lumped *lumped, double difference);

/* Ends the step. */
void lumped_end(struct lumped *lumped);

#endif
