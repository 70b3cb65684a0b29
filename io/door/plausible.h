/* Plausible: what a number of a case can be, and what it usually is.
 * A number outside what can be is an error: a slip of the unit or of a digit. One outside what is
 * usual is a doubt, which `check` tells. The spans are wide on purpose: sites of plastic pipe stand
 * well inside the usual ones, and published cases and nature inside the possible ones. */
#ifndef IO_DOOR_PLAUSIBLE_H
#define IO_DOOR_PLAUSIBLE_H

#include "io/door/faults.h"
#include "io/door/units.h"

/* What a number is, where its quantity alone says too little. */
enum plausible {
    PLAUSIBLE_BY_QUANTITY, /* what plausible_of gives for the quantity */
    PLAUSIBLE_ANY,         /* judged elsewhere, or a bare number */
    PLAUSIBLE_ELEVATION,
    PLAUSIBLE_BORE,
    PLAUSIBLE_SHAFT, /* a wide upright pipe or tank */
    PLAUSIBLE_PIPE_LENGTH,
    PLAUSIBLE_WALL,
    PLAUSIBLE_ROUGHNESS,
    PLAUSIBLE_TRAVEL, /* and other lengths inside a valve */
    PLAUSIBLE_AREA,
    PLAUSIBLE_WATER_AREA, /* of open water */
    PLAUSIBLE_VOLUME,
    PLAUSIBLE_FLOW,
    PLAUSIBLE_VELOCITY,
    PLAUSIBLE_WAVE_SPEED,
    PLAUSIBLE_RAIN,
    PLAUSIBLE_HEAD,
    PLAUSIBLE_PUMP_HEAD,
    PLAUSIBLE_NPSH,
    PLAUSIBLE_VAPOUR_HEAD,
    PLAUSIBLE_PRESSURE,
    PLAUSIBLE_CLASS,
    PLAUSIBLE_MODULUS,
    PLAUSIBLE_BULK_MODULUS,
    PLAUSIBLE_VAPOUR_PRESSURE,
    PLAUSIBLE_AIR_PRESSURE,
    PLAUSIBLE_ANGLE,
    PLAUSIBLE_TIME,
    PLAUSIBLE_SURGE_TIME,
    PLAUSIBLE_STEP,
    PLAUSIBLE_TIMES_A_DAY,
    PLAUSIBLE_TURNS,
    PLAUSIBLE_POWER,
    PLAUSIBLE_MASS,
    PLAUSIBLE_INERTIA,
    PLAUSIBLE_FORCE,
    PLAUSIBLE_MOMENT,
    PLAUSIBLE_DAMPING,
    PLAUSIBLE_SWING_DAMPING,
    PLAUSIBLE_SPRING_RATE,
    PLAUSIBLE_SWING_RATE,
    PLAUSIBLE_DENSITY,
    PLAUSIBLE_VISCOSITY,
    PLAUSIBLE_GRAVITY,
    PLAUSIBLE_DECELERATION,
    PLAUSIBLE_RESISTANCE,
    PLAUSIBLE_PRICE,
    PLAUSIBLE_COMPLIANCE,
    PLAUSIBLE_LOSS, /* K */
    PLAUSIBLE_DISCHARGE,
    PLAUSIBLE_HAZEN_WILLIAMS,
    PLAUSIBLE_FRICTION_FACTOR,
    PLAUSIBLE_POISSON,
    PLAUSIBLE_EFFICIENCY,
    PLAUSIBLE_COUNT
};

struct plausible_row {
    const char *name;     /* "a bore" */
    double least, most;   /* SI; nothing outside can be; zero is left to the key's own rule */
    double low, high;     /* SI; outside is unusual */
    const char *possible; /* the first two as people write them: "0.1 mm to 30 m" */
    const char *usual;    /* the other two */
};

/* The kind itself, or that of the quantity. */
enum plausible plausible_of(enum plausible kind, enum quantity quantity);

/* The row of a kind other than PLAUSIBLE_BY_QUANTITY; NULL for PLAUSIBLE_ANY. */
const struct plausible_row *plausible_row(enum plausible kind);

enum plausibility { PLAUSIBILITY_USUAL, PLAUSIBILITY_STRANGE, PLAUSIBILITY_NONE };

/* How plausible `value` (SI) is. */
enum plausibility plausible_judge(const struct plausible_row *row, double value);

/* Tells a value of the command line that cannot be in `message`, with a remedy; false then. */
MUST_CHECK bool plausible_option(const char *text, enum plausible kind, double value,
                                 size_t message_size, char *message);

/* Tells what is wrong with `value` (SI), written as `text`, or doubtful: "subject: name: ...".
 * False: it cannot be. */
MUST_CHECK bool plausible_check(struct faults *faults, struct place place, const char *subject,
                                const char *name, const char *text, enum plausible kind,
                                double value);

#endif
