#include "solver/surge/creep.h"

#include <math.h>
#include <stddef.h>

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

struct fading creep_of_pipe(const struct pipe *pipe, const struct water *water, double wave_speed,
                            double crossing, double step)
{
    const struct wall *wall = pipe->material;
    const double give = wave_speed * wave_speed * crossing / water->gravity; /* S/2 */
    const double scale = give * creep_stress(pipe, water) / step;
    struct fading fading = {.count = 0};
    for (int k = 0; k < wall->creep_count; k++) {
        const double decay = step / wall->creep_time[k];
        fading_add(&fading, -scale * wall->creep_compliance[k] * expm1(-decay), decay);
    }
    return fading;
}
