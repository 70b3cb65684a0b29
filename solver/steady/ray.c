#include "solver/steady/ray.h"

#include <math.h>

/* The root is good to this share of the slope at the start: nearer is lost in round-off. */
static const double root_share = 1e-12;

enum { SEARCH_LIMIT = 200 };

static double clamp(double flow, struct span span)
{
    if (flow < span.lower) {
        return span.lower;
    }
    return flow > span.upper ? span.upper : flow;
}

double ray_slope(const struct ray *ray, double t)
{
    double slope = ray->start + ray->linear * t;
    for (int i = 0; i < ray->count; i++) {
        const double now = clamp(ray->flow[i], ray->span[i]);
        const double then = clamp(ray->flow[i] + ray->rate[i] * t, ray->span[i]);
        slope += (then - now) * ray->drop[i];
    }
    return slope;
}

double ray_limit(const struct ray *ray)
{
    if (ray->linear > 0.0) {
        return INFINITY;
    }
    double slope = ray->start;
    for (int i = 0; i < ray->count; i++) {
        const double now = clamp(ray->flow[i], ray->span[i]);
        if (ray->rate[i] > 0.0) {
            slope += (ray->span[i].upper - now) * ray->drop[i];
        } else if (ray->rate[i] < 0.0) {
            slope += (ray->span[i].lower - now) * ray->drop[i];
        }
    }
    return slope;
}

/* First t among 1, 2, 4 ... with f(t) >= -small: where f ends on the last digits below 0, no t
 * would ever be far enough. */
static double find_upper(const struct ray *ray, double small, double *slope)
{
    double t = 1.0;
    *slope = ray_slope(ray, t);
    for (int i = 0; i < 1000 && *slope < -small; i++) {
        t *= 2.0;
        *slope = ray_slope(ray, t);
    }
    return t;
}

double ray_root(const struct ray *ray)
{
    const double small = root_share * fabs(ray->start);
    if (ray_limit(ray) < -small) {
        return INFINITY;
    }
    double low = 0.0;
    double low_slope = ray->start;
    double high_slope;
    double high = find_upper(ray, small, &high_slope);
    if (high_slope <= small) {
        return high;
    }
    for (int i = 0; i < SEARCH_LIMIT; i++) {
        /* Straight line through the ends, in turn with halving: the first is exact once no kink
         * lies between them, the second keeps the bracket shrinking. */
        double t = low + (high - low) * (low_slope / (low_slope - high_slope));
        if (i % 3 == 2) {
            t = low + 0.5 * (high - low);
        }
        if (!(t > low && t < high)) {
            return high;
        }
        const double slope = ray_slope(ray, t);
        if (fabs(slope) <= small) {
            return t;
        }
        if (slope < 0.0) {
            low = t;
            low_slope = slope;
        } else {
            high = t;
            high_slope = slope;
        }
    }
    return high;
}
