/* Units: quantities as people write them ("2.1 m", "0 1 2 3 L/s", "11 degC") turned to SI.
 * The unit grammar is UDUNITS-2's; the trade's own names that it misreads or does not know (gal,
 * gpm, deg, kWh, m of head ...) are aliases here, and the dimension of every quantity is checked.
 * UDUNITS-2 is not thread-safe: one reader, one thread. */
#ifndef IO_DOOR_UNITS_H
#define IO_DOOR_UNITS_H

#include "models/failure.h"

#include <stddef.h>

enum quantity {
    QUANTITY_NUMBER,        /* no unit, or % */
    QUANTITY_LENGTH,        /* m */
    QUANTITY_AREA,          /* m2 */
    QUANTITY_VOLUME,        /* m3 */
    QUANTITY_FLOW,          /* m3/s */
    QUANTITY_VELOCITY,      /* m/s */
    QUANTITY_HEAD,          /* m; also a pressure, see struct amount */
    QUANTITY_PRESSURE,      /* Pa */
    QUANTITY_ANGLE,         /* rad */
    QUANTITY_TEMPERATURE,   /* degC */
    QUANTITY_TIME,          /* s */
    QUANTITY_TURNS,         /* rev/s, speed of rotation */
    QUANTITY_POWER,         /* W */
    QUANTITY_ENERGY,        /* J */
    QUANTITY_MASS,          /* kg */
    QUANTITY_INERTIA,       /* kg m2 */
    QUANTITY_FORCE,         /* N */
    QUANTITY_MOMENT,        /* N m */
    QUANTITY_DAMPING,       /* N s/m */
    QUANTITY_SWING_DAMPING, /* N m s */
    QUANTITY_SPRING_RATE,   /* N/m */
    QUANTITY_SWING_RATE,    /* N m/rad */
    QUANTITY_DENSITY,       /* kg/m3 */
    QUANTITY_VISCOSITY,     /* m2/s */
    QUANTITY_GRAVITY,       /* m/s2 */
    QUANTITY_RESISTANCE,    /* s2/m5 */
    QUANTITY_ENERGY_PRICE,  /* 1/J */
    QUANTITY_COMPLIANCE,    /* 1/Pa */
    QUANTITY_COUNT
};

/* Values read from one text. */
struct amount {
    int count;
    double *value;    /* [count] SI; the caller's room */
    bool is_pressure; /* a head was written as a pressure: the values are Pa */
};

struct units;

/* A reader; NULL when the unit tables cannot be read or memory ended: `failure` tells. */
struct units *units_new(struct failure *failure);
void units_free(struct units *units);

/* Reads one or more numbers and then one unit: at most `room` values into amount->value. False:
 * `message` tells what is wrong and what was expected, without a place. */
MUST_CHECK bool units_read(struct units *units, enum quantity quantity, const char *text, int room,
                           struct amount *amount, size_t message_size, char *message);

/* "length", "flow" ...; the SI unit in which values are kept; how a person may write one. */
const char *quantity_name(enum quantity quantity);
const char *quantity_unit(enum quantity quantity);
const char *quantity_example(enum quantity quantity);

#endif
