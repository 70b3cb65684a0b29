#include "solver/steady/safeguard.h"

#include <math.h>

const double safeguard_light_damping = 1e-10;
const double safeguard_first_damping = 1.0;
const double safeguard_most_damping = 1e6;

/* A trial is good when it takes this share of its length off the bar. */
static const double least_descent = 1e-4;

/* The most by which a step may lessen or raise the damping. */
static const double most_speed_up = 10.0;

void safeguard_begin(struct safeguard *safeguard, double size)
{
    for (int i = 0; i < SAFEGUARD_MEMORY; i++) {
        safeguard->last[i] = size;
    }
}

void safeguard_note(struct safeguard *safeguard, int step, double size)
{
    safeguard->last[step % SAFEGUARD_MEMORY] = size;
}

double safeguard_bar(const struct safeguard *safeguard)
{
    double worst = safeguard->last[0];
    for (int i = 1; i < SAFEGUARD_MEMORY; i++) {
        worst = fmax(worst, safeguard->last[i]);
    }
    return worst;
}

bool safeguard_is_good(double size, double bar, double share)
{
    return size <= bar * (1.0 - least_descent * share);
}

double safeguard_next_damping(double damping, double before, double now)
{
    const double change = fmin(fmax(now / before, 1.0 / most_speed_up), most_speed_up);
    return fmin(fmax(damping * change, safeguard_light_damping), safeguard_most_damping);
}
