#include "models/wall.h"

double wall_derating(const struct wall *wall, double temperature_c)
{
    const int count = wall->derating_count;
    const double *at = wall->derating_temperature;
    const double *share = wall->derating_share;
    if (temperature_c <= at[0]) {
        return 1.0;
    }
    for (int i = 1; i < count; i++) {
        if (temperature_c <= at[i]) {
            const double x = (temperature_c - at[i - 1]) / (at[i] - at[i - 1]);
            return share[i - 1] + x * (share[i] - share[i - 1]);
        }
    }
    return 0.0;
}
