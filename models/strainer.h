/* Strainer: a screen or basket in the stream, clean or partly blocked.
 * With a share b of its free area blocked the velocity through the rest rises: K = K_clean/(1-b)^2,
 * so that half blocked is four times the clean loss. */
#ifndef MODELS_STRAINER_H
#define MODELS_STRAINER_H

#include "models/element.h"

struct strainer {
    double area;       /* m2, bore area its K refers to */
    double clean_loss; /* K, clean, > 0 */
    double laminar;    /* K1 of K1/Re; 0: none */
    double blocked;    /* share of its free area, 0 to 1; 1: shut */
};

extern const struct element strainer_element; /* kind "strainer" */

/* K as it is now; nearly blocked counts as a millionth free. */
double strainer_loss(const struct strainer *strainer);

/* K of a thin plate with sharp-edged holes, on the velocity in front of it, by its free share of
 * area f: (0.707 sqrt(1-f) + 1 - f)^2/f^2. Idelchik, Handbook of Hydraulic Resistance, diagram 8-1
 * (from memory). f is brought to 0.001 .. 1. */
double strainer_plate_loss(double free_share);

/* The same for a screen of round wire at Re of the wire above 1000: 1.3(1-f) + (1/f - 1)^2.
 * Idelchik, diagram 8-6 (from memory). */
double strainer_screen_loss(double free_share);

/* K said of the velocity in front of a screen of `screen_area` m2 as it counts in `area` m2. */
double strainer_refer(double loss, double screen_area, double area);

/* Every number finite and in its range; the first fault is told. */
MUST_CHECK bool strainer_check(const struct strainer *strainer, struct place place,
                               struct failure *failure);

#endif
