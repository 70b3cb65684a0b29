#include "models/wall.h"

#include "models/catalogue/walls.h"
#include "models/name.h"

#include <stddef.h>

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

const struct wall *wall_find(const char *name)
{
    for (int i = 0; i < walls_count; i++) {
        if (name_is_same(walls[i].name, name)) {
            return &walls[i];
        }
    }
    return NULL;
}

int wall_count(void)
{
    return walls_count;
}

const struct wall *wall_at(int index)
{
    return &walls[index];
}
