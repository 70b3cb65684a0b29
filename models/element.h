/* Element: what a solver needs to know of anything that joins two points.
 *
 * Sign: flow is positive from the link's `from` point to its `to` point; `drop.head` is head(from)
 * - head(to), so a pump in normal running has a negative drop. Every steady law is a maximal
 * monotone graph given as two pieces: a span of flows and, inside it, a drop that never falls with
 * flow; at the ends of the span the graph stands upright (at the lower end any drop up to
 * drop(lower), at the upper end any drop from drop(upper)). A shut non-return valve is the upright
 * at lower = 0.
 *
 * Laws are total: a finite value for every finite flow (also outside the span), no failure.
 * A solver asks this table and never switches on a kind. A new element is one pair of files in
 * models/ with one constant `struct element`, and one line in models/elements.h. */
#ifndef MODELS_ELEMENT_H
#define MODELS_ELEMENT_H

#include "models/failure.h"
#include "models/water.h"

struct friction;
struct pipe;

/* Head lost along an element and its derivative by flow. */
struct drop {
    double head;  /* m */
    double slope; /* s/m2, >= 0 for a monotone law; 0 is allowed */
};

/* Flows an element lets pass, m3/s; lower <= upper, either may be infinite. */
struct span {
    double lower;
    double upper;
};

enum { ELEMENT_STATE_MAX = 12, ELEMENT_KEPT_MAX = 4 };

/* One time step as an element sees it. */
struct instant {
    double time;    /* s, at the end of the step */
    double step;    /* s, > 0 */
    double setting; /* what the plan of events commands now: pump: share of its speed, 0 = power
                       off; throttling valve: opening, share; otherwise unused */
    const struct water *water;
    double *kept; /* [ELEMENT_KEPT_MAX] where the span of a step from `old` may leave what all drops
                     of that step from the same `old` need, whatever the flow; noughts: it has left
                     nothing; NULL: nothing is kept */
};

/* How an element behaves while things move. An element without one keeps its steady law. All
 * state is in the caller's array, so that a step can be tried and thrown away. */
struct motion {
    int state_count; /* doubles of state, at most ELEMENT_STATE_MAX */

    /* The state at rest with the steady `flow` m3/s and `drop` m. */
    void (*start)(const void *data, const struct water *water, double flow, double drop,
                  double state[]);

    /* Flows possible in this step from `old`. A seated valve gives {0, 0}. */
    struct span (*span)(const void *data, const struct instant *now, const double old[]);

    bool never_shuts; /* no step's span has an end, whatever the state */

    /* Drop at the end of the step if the flow then is `flow`, with what moves solved implicitly for
     * that flow; the slope is the total derivative. `next` gets the state at the end of the step.
     */
    struct drop (*drop)(const void *data, const struct instant *now, const double old[],
                        double flow, double next[]);

    /* Called once when flow and head of the step are found. May change `next` (a valve that met its
     * seat notes its reverse flow; one that is lifted off begins to move). True: the span has
     * changed within this step (the valve has just seated) and the step must be solved again from
     * `next`. NULL: nothing to settle. */
    bool (*settle)(const void *data, const struct instant *now, const double old[], double flow,
                   double drop, double next[]);

    /* The setting it has before any event; NULL: 1. */
    double (*setting)(const void *data);
};

enum { COUPLING_PARTNER_MAX = 2 };

/* What a coupled law looks at. */
struct coupled_at {
    double flow;      /* m3/s */
    double head_from; /* m, total */
    double head_to;
    double partner_flow[COUPLING_PARTNER_MAX]; /* m3/s in the partner links' own directions */
    double impedance; /* s/m2, while things move: that of the pipes around, by which a flow counts
                         as head; 0: not known */
};

/* A law read as value = 0, with its derivatives. Semismooth pieces (min, max) are welcome. */
struct coupled_law {
    double value; /* m */
    double by_flow;
    double by_head_from;
    double by_head_to;
    double by_partner[COUPLING_PARTNER_MAX];
};

/* A law that is no monotone graph of flow and drop alone: a regulator that holds a head behind it,
 * a leg of a tee whose loss hangs on the flows of the other legs, a pump curve with a rising part.
 * The plain `drop` and `span` of such an element are its nearest monotone law: the steady solver
 * starts from the answer with them and goes on to this one. While things move the coupled law holds
 * too; drop and settle of its motion, if it has one, are not asked. */
struct coupling {
    int partner_count; /* other links it looks at, at most COUPLING_PARTNER_MAX; each has a coupled
                          law too and shares a point that is not held with this one */
    void (*partners)(const void *data, int links[]); /* their indices; NULL when there are none */
    struct coupled_law (*law)(const void *data, const struct water *water,
                              const struct coupled_at *at);

    /* The state at rest with this flow, m3/s, and heads, m, at its ends; NULL: that of its motion,
     * or none. */
    void (*start)(const void *data, const struct water *water, double flow, double head_from,
                  double head_to, double state[]);

    /* The law at the end of a step from `old`, as drop of a motion; `next` gets the state there.
     * NULL: `law` holds at every instant. */
    struct coupled_law (*law_of_step)(const void *data, const struct instant *now,
                                      const double old[], const struct coupled_at *at,
                                      double next[]);
};

struct element {
    const char *kind; /* one word for messages and results: "pipe", "pump", "non-return" ... */

    struct drop (*drop)(const void *data, const struct water *water, double flow);
    struct span (*span)(const void *data, const struct water *water);

    /* Share open at `flow`, 0 to 1, of an element that opens by itself; NULL: has no opening. */
    double (*opening)(const void *data, const struct water *water, double flow);

    /* The pipe, when the element is one (it carries waves); NULL: a lumped element. */
    const struct pipe *(*pipe)(const void *data);

    /* The friction that is the whole of its steady law, so that many can be evaluated at once
     * (models/friction_many.h); NULL: its law is more than that, or another. */
    const struct friction *(*friction)(const void *data);

    const struct motion *motion; /* NULL: the steady law holds at every instant */

    const struct coupling *coupling; /* NULL: drop and span are the whole law */
};

#endif
