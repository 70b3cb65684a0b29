/* Pipe: straight pressure pipe of one size between two points.
 * Steady law: models/friction.h. Wave speed: models/wave_speed.h. Collapse: ideal ring (any text on
 * buckling; Moser & Folkman, Buried Pipe Design, eq. 3.13). */
#ifndef MODELS_PIPE_H
#define MODELS_PIPE_H

#include "models/element.h"
#include "models/friction.h"
#include "models/wall.h"
#include "models/wave_speed.h"

struct pipe {
    struct friction friction;    /* length, bore, roughness */
    double wall;                 /* m; 0: rigid wall */
    const struct wall *material; /* static table or the case's; NULL: rigid */
    double pressure_class;       /* Pa at the material's reference temperature; 0: not known */
    double temperature_c;     /* of the warmest water in it, degC, for its class; 0: the site's */
    double stated_wave_speed; /* m/s; 0: computed */
    enum restraint restraint;
    double vertical_from; /* elevation of its two ends, m */
    double vertical_to;
    int profile_count;               /* points of its own profile between its ends; 0: straight */
    const double *profile_distance;  /* [profile_count] m from its start, rising, 0 to length */
    const double *profile_elevation; /* [profile_count] m */
    const double *profile_ground;    /* [profile_count] m, the ground there; NULL: not surveyed */
};

extern const struct element pipe_element;

double pipe_area(const struct pipe *pipe); /* m2 */

/* m/s. `stated_wave_speed` rules when > 0; thick-wall factors always (they tend to the thin ones).
 */
double pipe_wave_speed(const struct pipe *pipe, const struct water *water);

/* Elevation, m, at `distance` m from its start (clamped to the pipe), linear between points. */
double pipe_elevation(const struct pipe *pipe, double distance);

/* m3 in it above `level` m between two distances that no point of its profile lies between. */
double pipe_volume_above(const struct pipe *pipe, double from, double to, double level);

/* Elevation, m, of its highest point. */
double pipe_top(const struct pipe *pipe);

/* Elevation of the ground over (or under) it there, m; NAN: not surveyed. */
double pipe_ground(const struct pipe *pipe, double distance);

/* degC that its class is reckoned with: its own warmest water's or the site's, whichever is warmer.
 */
double pipe_warmth(const struct pipe *pipe, const struct water *water);

/* Pressure it may carry when so warm, Pa: class times the material's derating; 0 when the class is
 * not known. */
double pipe_allowed_pressure(const struct pipe *pipe, const struct water *water);

/* Outside pressure less inside pressure, Pa, at which the wall buckles (ideal ring, short term,
 * p = 2E/(1-nu^2) (e/(D_o-e))^3); infinite for a rigid wall. */
double pipe_collapse_pressure(const struct pipe *pipe);

#endif
