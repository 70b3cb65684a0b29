#include "solver/surge/unsteady.h"

#include <math.h>

/* Where models/friction.h leaves Hagen-Poiseuille's law. */
static const double laminar_end = 2000.0;

/* B psi from which on less than 0.25 % of the integral of Vardy & Brown's W is left: its
 * complementary error function of the root of it. */
static const double forgotten = 4.75;

/* A fit by scripts/reference/weights.py; of the turbulent ones e^(B psi) W. */
struct fit {
    double end; /* psi up to which it holds */
    struct unsteady_weight weight;
};

static const struct unsteady_weight laminar = {
    8,
    {1.02003, 1.51537, 3.29351, 6.9723, 14.6988, 30.3527, 62.5639, 121.02},
    {26.4885, 81.2393, 265.352, 1008.11, 4142.01, 17504.3, 73951.2, 308844}};

static const struct fit turbulent[] = {
    {0.00058,
     {5,
      {20.5521, 30.5096, 60.8836, 133.331, 300.465},
      {983.202, 11618.5, 59656.3, 284054, 1.39861e+06}}},
    {0.003,
     {6,
      {9.21842, 14.1979, 28.6541, 61.0331, 132.981, 299.506},
      {196.344, 2395.33, 12786.7, 61311.2, 287742, 1.40209e+06}}},
    {0.015,
     {7,
      {4.14474, 6.37236, 13.5547, 29.2804, 60.839, 132.865, 298.76},
      {39.7632, 482.063, 2655.06, 13464.5, 63268.4, 291588, 1.40672e+06}}},
    {0.06,
     {8,
      {2.04013, 3.02947, 6.22476, 13.806, 30.1314, 64.0893, 137.372, 290.483},
      {9.68215, 114.429, 598.812, 2948.28, 14463.9, 68620.3, 317546, 1.46413e+06}}}};

struct unsteady_weight unsteady_weight_of(double reynolds)
{
    const int last = (int)(sizeof turbulent / sizeof turbulent[0]) - 1;
    if (!(reynolds > laminar_end)) {
        return laminar;
    }
    const double shear = pow(reynolds, log10(15.29 / pow(reynolds, 0.0567))) / 12.86;
    int fit = 0;
    while (fit < last && turbulent[fit].end * shear < forgotten) {
        fit++;
    }
    struct unsteady_weight weight = turbulent[fit].weight;
    for (int k = 0; k < weight.count; k++) {
        weight.decay[k] += shear;
    }
    return weight;
}

double unsteady_weight_at(const struct unsteady_weight *weight, double psi)
{
    double sum = 0.0;
    for (int k = 0; k < weight->count; k++) {
        sum += weight->size[k] * exp(-weight->decay[k] * psi);
    }
    return sum;
}

struct fading unsteady_of(const struct unsteady_weight *weight, const struct unsteady_reach *reach)
{
    struct fading fading = {.count = 0};
    const double square = reach->bore * reach->bore;
    const double psi = 4.0 * reach->viscosity * reach->step / square;
    const double scale =
        16.0 * reach->viscosity * reach->length / (reach->gravity * square * reach->area);
    for (int k = 0; k < weight->count; k++) {
        const double decay = weight->decay[k] * psi;
        fading_add(&fading, scale * weight->size[k] * (-expm1(-decay) / decay), decay);
    }
    return fading;
}

struct fading unsteady_of_pipe(const struct pipe *pipe, double reaches, const struct water *water,
                               double flow, double step)
{
    const struct friction *friction = &pipe->friction;
    const double area = pipe_area(pipe);
    const double reynolds = fabs(flow) / area * friction->bore / water->viscosity;
    const struct unsteady_weight weight = unsteady_weight_of(reynolds);
    const struct unsteady_reach reach = {
        .length = friction->length / reaches,
        .bore = friction->bore,
        .area = area,
        .viscosity = water->viscosity,
        .gravity = water->gravity,
        .step = step,
    };
    return unsteady_of(&weight, &reach);
}
