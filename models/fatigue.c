#include "models/fatigue.h"

#include <math.h>

const double fatigue_swing_share = 0.5;
const double fatigue_few_a_day = 4.0;
const double fatigue_years_asked = 100.0;

static const double PSI = 6894.757;          /* Pa */
static const double VINSON_CYCLES = 5.05e21; /* at 1 psi */
static const double VINSON_POWER = 4.906;
static const double CYCLES_AN_EVENT = 2.0;
static const double DAYS_A_YEAR = 365.25;

double fatigue_hoop_stress(const struct pipe *pipe, double pressure)
{
    if (!(pipe->wall > 0.0)) {
        return 0.0;
    }
    return pressure * (pipe->friction.bore + pipe->wall) / (2.0 * pipe->wall);
}

bool fatigue_is_known(const struct pipe *pipe)
{
    return pipe->wall > 0.0 && pipe->material && pipe->material->tires;
}

double fatigue_cycles(const struct pipe *pipe, double pressure)
{
    if (!fatigue_is_known(pipe)) {
        return (double)NAN;
    }
    const double stress = fmax(fatigue_hoop_stress(pipe, pressure), 0.0) / PSI;
    return VINSON_CYCLES * pow(stress, -VINSON_POWER);
}

double fatigue_years(double cycles, double a_day)
{
    return cycles / (CYCLES_AN_EVENT * a_day * DAYS_A_YEAR);
}

bool fatigue_swings_too_far(double swing, double a_day)
{
    return swing > fatigue_swing_share && !(a_day > 0.0 && a_day <= fatigue_few_a_day);
}

bool fatigue_is_short(double cycles, double a_day)
{
    return a_day > 0.0 && fatigue_years(cycles, a_day) < fatigue_years_asked;
}
