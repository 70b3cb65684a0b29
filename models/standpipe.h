/* Standpipe: an open upright pipe (or a surge tank) that stands on a main.
 *
 * It joins the main to a held point at the elevation of its top. At rest it is a dead leg: the
 * water in it stands at the head of the main; a head above its top spills there, to the air. While
 * things move its level follows the flow into it,
 *     level' = flow/area   (trapezoidal rule),   head of the main = level + (K + K1/Re) v|v|/2g,
 * the rigid surge tank of any textbook (Wylie & Streeter, Fluid Transients in Systems, 1993). The
 * inertia of its own water is left out. When it runs empty nothing more comes out of it: air that
 * would then enter the main is not followed. */
#ifndef MODELS_STANDPIPE_H
#define MODELS_STANDPIPE_H

#include "models/element.h"

struct standpipe {
    double area;       /* m2 of its free surface */
    double joint_area; /* m2, bore area of the joint its K refers to */
    double loss;       /* K of the joint, and of the spill over the top, > 0 */
    double laminar;    /* K1 of K1/Re; 0: none */
    double top;        /* m, elevation; the head held at the link's far end */
    double bottom;     /* m, elevation of the joint, < top */
};

enum {
    STANDPIPE_STATE_LEVEL, /* m */
    STANDPIPE_STATE_FLOW,  /* m3/s into it */
    STANDPIPE_STATE_SPILT, /* m3 over its top so far */
    STANDPIPE_STATE_COUNT
};

extern const struct element standpipe_element; /* kind "standpipe" */

/* Every number finite and in its range; the first fault is told. */
MUST_CHECK bool standpipe_check(const struct standpipe *standpipe, struct place place,
                                struct failure *failure);

#endif
