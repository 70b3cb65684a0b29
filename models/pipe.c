#include "models/pipe.h"

#include "models/circle.h"

#include <math.h>
#include <stddef.h>

static struct drop drop(const void *data, const struct water *water, double flow)
{
    const struct pipe *pipe = data;
    return friction_drop(&pipe->friction, water->viscosity, water->gravity, flow);
}

static struct span span(const void *data, const struct water *water)
{
    (void)data;
    (void)water;
    return (struct span){.lower = -HUGE_VAL, .upper = HUGE_VAL};
}

static const struct pipe *itself(const void *data)
{
    return data;
}

static const struct friction *friction(const void *data)
{
    const struct pipe *pipe = data;
    return &pipe->friction;
}

const struct element pipe_element = {.kind = "pipe",
                                     .drop = drop,
                                     .span = span,
                                     .opening = NULL,
                                     .pipe = itself,
                                     .friction = friction,
                                     .motion = NULL};

double pipe_area(const struct pipe *pipe)
{
    return circle_area(pipe->friction.bore);
}

static bool is_rigid(const struct pipe *pipe)
{
    return !pipe->material || !(pipe->wall > 0.0);
}

double pipe_wave_speed(const struct pipe *pipe, const struct water *water)
{
    if (pipe->stated_wave_speed > 0.0) {
        return pipe->stated_wave_speed;
    }
    if (is_rigid(pipe)) {
        return sqrt(water->bulk_modulus / water->density);
    }
    const double ratio = pipe->friction.bore / pipe->wall;
    const double factor = wave_speed_thick_factor(ratio, pipe->material->poisson, pipe->restraint);
    return wave_speed(water->bulk_modulus, water->density, pipe->material->modulus, ratio, factor);
}

/* One of the profile's rows at `x` m, linear between its points. */
static double at_profile(const struct pipe *pipe, const double value[], double x)
{
    const int count = pipe->profile_count;
    const double *at = pipe->profile_distance;
    int right = 0;
    while (right < count && at[right] < x) {
        right++;
    }
    if (right == 0) {
        return value[0];
    }
    if (right == count) {
        return value[count - 1];
    }
    const double share = (x - at[right - 1]) / (at[right] - at[right - 1]);
    return value[right - 1] + share * (value[right] - value[right - 1]);
}

double pipe_ground(const struct pipe *pipe, double distance)
{
    return pipe->profile_ground ? at_profile(pipe, pipe->profile_ground, distance) : (double)NAN;
}

double pipe_elevation(const struct pipe *pipe, double distance)
{
    const double length = pipe->friction.length;
    const double x = fmin(fmax(distance, 0.0), length);
    if (pipe->profile_count == 0) {
        const double share = length > 0.0 ? x / length : 0.0;
        return pipe->vertical_from + share * (pipe->vertical_to - pipe->vertical_from);
    }
    return at_profile(pipe, pipe->profile_elevation, x);
}

double pipe_volume_above(const struct pipe *pipe, double from, double to, double level)
{
    const double one = pipe_elevation(pipe, from);
    const double other = pipe_elevation(pipe, to);
    const double low = fmin(one, other);
    const double high = fmax(one, other);
    const double volume = fabs(to - from) * pipe_area(pipe);
    if (low >= level) {
        return volume;
    }
    return high <= level ? 0.0 : volume * (high - level) / (high - low);
}

double pipe_top(const struct pipe *pipe)
{
    double top = fmax(pipe_elevation(pipe, 0.0), pipe_elevation(pipe, pipe->friction.length));
    for (int i = 0; i < pipe->profile_count; i++) {
        top = fmax(top, pipe->profile_elevation[i]);
    }
    return top;
}

double pipe_warmth(const struct pipe *pipe, const struct water *water)
{
    return fmax(pipe->temperature_c, water->temperature_c);
}

double pipe_allowed_pressure(const struct pipe *pipe, const struct water *water)
{
    if (!pipe->material) {
        return pipe->pressure_class;
    }
    return pipe->pressure_class * wall_derating(pipe->material, pipe_warmth(pipe, water));
}

double pipe_collapse_pressure(const struct pipe *pipe)
{
    if (is_rigid(pipe)) {
        return HUGE_VAL;
    }
    const struct wall *material = pipe->material;
    const double ratio = pipe->wall / (pipe->friction.bore + pipe->wall);
    return 2.0 * material->modulus / (1.0 - material->poisson * material->poisson) * ratio * ratio *
           ratio;
}
