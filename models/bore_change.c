#include "models/bore_change.h"

#include "models/circle.h"

#include <math.h>

static double within(double value, double low, double high)
{
    return fmin(fmax(value, low), high);
}

/* 1 - ratio^2: the share of the larger area that the smaller one leaves. */
static double step_area(double ratio)
{
    const double beta = within(ratio, 0.0, 1.0);
    return 1.0 - beta * beta;
}

double bore_change_enlargement(double ratio)
{
    const double step = step_area(ratio);
    return step * step;
}

/* K = 0.0696 (1 - b^5) l^2 + (l - 1)^2 with the jet's velocity ratio
 * l = 1 + 0.622 (1 - 0.215 b^2 - 0.785 b^5). */
double bore_change_contraction(double ratio)
{
    const double beta = within(ratio, 0.0, 1.0);
    const double fifth = pow(beta, 5.0);
    const double jet = 1.0 + 0.622 * (1.0 - 0.215 * beta * beta - 0.785 * fifth);
    return 0.0696 * (1.0 - fifth) * jet * jet + (jet - 1.0) * (jet - 1.0);
}

/* 0.8 sin(a/2) (1 - b^2) up to 45 deg, 0.5 sqrt(sin(a/2)) (1 - b^2) above. */
double bore_change_tapered_contraction(double ratio, double angle)
{
    const double full = within(angle, 0.0, circle_pi);
    const double sine = sin(0.5 * full);
    const double shape = full <= 0.25 * circle_pi ? 0.8 * sine : 0.5 * sqrt(sine);
    return shape * step_area(ratio);
}

/* 2.6 sin(a/2) (1 - b^2)^2 up to 45 deg, (1 - b^2)^2 above. */
double bore_change_tapered_enlargement(double ratio, double angle)
{
    const double full = within(angle, 0.0, circle_pi);
    const double shape = full <= 0.25 * circle_pi ? 2.6 * sin(0.5 * full) : 1.0;
    return shape * bore_change_enlargement(ratio);
}

double bore_change_refer(double loss, double from, double to)
{
    const double ratio = to / from;
    return loss * ratio * ratio * ratio * ratio;
}

double bore_change_between(double from, double to, double referred)
{
    static const double same_bore = 0.85;
    const double smaller = fmin(from, to);
    const double ratio = smaller / fmax(from, to);
    if (!(ratio < same_bore)) {
        return 0.0;
    }
    const double loss = from > to ? bore_change_contraction(ratio) : bore_change_enlargement(ratio);
    return bore_change_refer(loss, smaller, referred);
}
