#include "io/results/trade_unit.h"

#include <math.h>
#include <stdbool.h>
#include <string.h>

static const struct trade_unit units[] = {
    {"m3 s-1", "L/s", 1e3, 3},    {"m", "m", 1.0, 2},
    {"m s-1", "m/s", 1.0, 3},     {"Pa", "bar", 1e-5, 3},
    {"W", "W", 1.0, 0},           {"s", "s", 1.0, 3},
    {"J", "kWh", 1.0 / 3.6e6, 3}, {"J m-3", "Wh/m3", 1.0 / 3600.0, 1},
    {"m3", "L", 1e3, 2},          {"1", "", 1.0, 3},
};

struct trade_unit trade_unit_of(const char *si)
{
    for (size_t i = 0; i < sizeof units / sizeof *units; i++) {
        if (strcmp(units[i].si, si) == 0) {
            return units[i];
        }
    }
    return (struct trade_unit){si, si, 1.0, 3};
}

struct trade_unit trade_unit_for(const char *si, size_t count, const double values[])
{
    /* From here on the larger unit is the easier to read. */
    static const double an_hour = 3600.0;
    static const double a_cubic_metre = 1.0;
    struct trade_unit unit = trade_unit_of(si);
    double most = 0.0;
    bool is_whole = true;
    for (size_t i = 0; i < count; i++) {
        most = fmax(most, fabs(values[i])); /* fmax passes over NAN */
        is_whole = is_whole && !(fabs(values[i] - round(values[i])) > 0.0);
    }
    if (strcmp(si, "s") == 0 && most >= an_hour) {
        return (struct trade_unit){si, "h", 1.0 / an_hour, 2};
    }
    if (strcmp(si, "m3") == 0 && most >= a_cubic_metre) {
        return (struct trade_unit){si, "m3", 1.0, 2};
    }
    unit.decimals = strcmp(si, "1") == 0 && is_whole ? 0 : unit.decimals;
    return unit;
}
