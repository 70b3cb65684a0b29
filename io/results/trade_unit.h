/* Trade unit: in which unit people read a value that results hold in SI. */
#ifndef IO_RESULTS_TRADE_UNIT_H
#define IO_RESULTS_TRADE_UNIT_H

#include <stddef.h>

struct trade_unit {
    const char *si;   /* UDUNITS spelling, as in results */
    const char *unit; /* "L/s" */
    double factor;    /* the value shown is factor x SI value */
    int decimals;
};

/* The unit that goes with an SI unit; one that is not known stays as it is. */
struct trade_unit trade_unit_of(const char *si);

/* The unit that goes with these values [count]: of a day's volumes and times cubic metres and
 * hours, and no decimals for whole numbers. */
struct trade_unit trade_unit_for(const char *si, size_t count, const double values[]);

#endif
