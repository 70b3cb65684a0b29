/* Station: an end or the middle of a short pipe (solver/surge/stub.h), and how water and wall damp
 * waves there.
 *
 * A wave that crosses the pipe loses head to friction and to a wall that gives way; the loss is
 * taken where it passes a station, as the method of characteristics takes it at nodes (trapezoidal
 * rule; Wylie & Streeter 1993, ch. 3):
 *   friction  share F at each station, with F = F_s(q) + total q - sum over the whole pipe: the
 *             steady law, and the drag of a flow that changes (solver/surge/unsteady.h)
 *   wall      E = 2 share (total H - sum), of a wall of Kelvin-Voigt elements over the whole
 *             crossing (solver/surge/creep.h)
 * `sum` being what is remembered of flows and heads (solver/surge/fading.h). The shares of a pipe's
 * stations, one at an end and two inside it, add up to 1. Water that a wall takes in at a station
 * leaves the stream there: 2 share g A/a^2 L/2 ... = E/B at an end. */
#ifndef SOLVER_SURGE_STATION_H
#define SOLVER_SURGE_STATION_H

#include "models/network.h"
#include "solver/surge/fading.h"

#include <stdbool.h>

/* What damps waves in one short pipe, whole. */
struct damping {
    const struct link *link; /* its steady law */
    const struct water *water;
    struct fading friction; /* of flows, m3/s; nothing: it is that of steady flow */
    struct fading wall;     /* of heads, m; nothing: it is elastic */
};

/* What is wished of a pipe and where it stands. */
struct damping_wishes {
    bool friction;      /* unsteady */
    bool wall;          /* creep, where the material's is known */
    double crossing;    /* s */
    double steady_flow; /* m3/s */
    double step;        /* s */
};

struct damping damping_of(const struct link *link, const struct water *water,
                          const struct damping_wishes *wishes);

struct station {
    double share;
    double flow;               /* m3/s, along the pipe at the end of the last step */
    double lagging;            /* m, that friction remembers: less by it at a flow that stays */
    double term[FADING_TERMS]; /* m, of the flow */
    double memory;             /* m, of the wall */
    double part[FADING_TERMS]; /* m, of the head */
    double yield;              /* E, m, at the end of the last step */
    double grown; /* m s: the integral of E over the steps, by the trapezoidal rule, over a step */
};

/* A station of a pipe in steady flow. */
struct station station_start(const struct damping *damping, double share, double head, double flow);

/* F, m, of the whole pipe at `flow` m3/s, and how it rises. */
struct drop station_friction(const struct damping *damping, const struct station *station,
                             double flow);

/* E, m, at `head` m; it rises by station_softness for each m. */
double station_yield(const struct damping *damping, const struct station *station, double head);
double station_softness(const struct damping *damping, const struct station *station);

/* Ends a step with this flow, and with this head. */
void station_take_flow(const struct damping *damping, struct station *station, double flow);
void station_take_head(const struct damping *damping, struct station *station, double head);

#endif
