#include "solver/surge/creep.h"

#include <math.h>
#include <stddef.h>

/* 1 - (1 - e^-x)/x and e^-x - (1 - e^-x)/x: below this x by their series, whose next term is less
 * than 1e-13 of them; the plain form would lose digits. */
static const double small = 0.01;

static double near_share(double x)
{
    if (x < small) {
        return x * (1.0 / 2 - x * (1.0 / 6 - x * (1.0 / 24 - x * (1.0 / 120 - x / 720))));
    }
    return 1.0 + expm1(-x) / x;
}

static double far_share(double x)
{
    if (x < small) {
        return -x * (1.0 / 2 - x * (1.0 / 3 - x * (1.0 / 8 - x * (1.0 / 30 - x / 144))));
    }
    return exp(-x) + expm1(-x) / x;
}

struct creep creep_of(const struct wall *wall, double step)
{
    struct creep creep = {.count = wall->creep_count};
    for (int k = 0; k < creep.count; k++) {
        double x = step / wall->creep_time[k];
        double compliance = wall->creep_compliance[k];
        creep.near[k] = compliance * near_share(x);
        creep.far[k] = -compliance * far_share(x);
        creep.fade[k] = exp(-x);
        creep.often[k] = 1.0 / wall->creep_time[k];
        creep.rate += (compliance - creep.near[k]) * creep.often[k];
    }
    return creep;
}

bool creep_is_known(const struct pipe *pipe)
{
    return pipe->material != NULL && pipe->material->creep_count > 0 && pipe->wall > 0.0;
}

double creep_stress(const struct pipe *pipe, const struct water *water)
{
    const double ratio = pipe->friction.bore / pipe->wall;
    const double factor = wave_speed_thick_factor(ratio, pipe->material->poisson, pipe->restraint);
    return 0.5 * factor * water->density * water->gravity * ratio;
}

double creep_step(const struct creep *creep, double stress, double part[])
{
    double sum = 0.0;
    for (int k = 0; k < creep->count; k++) {
        double strain = creep->near[k] * stress + part[k];
        part[k] = creep->far[k] * stress + creep->fade[k] * strain;
        sum += strain;
    }
    return sum;
}
