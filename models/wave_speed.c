#include "models/wave_speed.h"

#include <math.h>

double wave_speed_thin_factor(double poisson, enum restraint restraint)
{
    switch (restraint) {
    case RESTRAINT_UPSTREAM:
        return 1.0 - 0.5 * poisson;
    case RESTRAINT_THROUGHOUT:
        return 1.0 - poisson * poisson;
    case RESTRAINT_JOINTED:
        break;
    }
    return 1.0;
}

double wave_speed_thick_factor(double ratio, double poisson, enum restraint restraint)
{
    return 2.0 / ratio * (1.0 + poisson) +
           ratio / (ratio + 1.0) * wave_speed_thin_factor(poisson, restraint);
}

double wave_speed(double bulk_modulus, double density, double modulus, double ratio, double factor)
{
    return sqrt(bulk_modulus / density / (1.0 + bulk_modulus / modulus * ratio * factor));
}
