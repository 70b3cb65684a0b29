/* Circle: the one constant and the one area that every bore needs. */
#ifndef MODELS_CIRCLE_H
#define MODELS_CIRCLE_H

static const double circle_pi = 3.14159265358979323846;

/* m2 for a bore in m. */
static inline double circle_area(double bore)
{
    return 0.25 * circle_pi * bore * bore;
}

#endif
