#include "io/results/trade_unit.h"

#include <string.h>

static const struct trade_unit units[] = {
    {"m3 s-1", "L/s", 1e3, 3},
    {"m", "m", 1.0, 2},
    {"m s-1", "m/s", 1.0, 3},
    {"Pa", "bar", 1e-5, 3},
    {"W", "W", 1.0, 0},
    {"s", "s", 1.0, 3},
    {"J m-3", "Wh/m3", 1.0 / 3600.0, 1},
    {"m3", "L", 1e3, 2},
    {"1", "", 1.0, 3},
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
