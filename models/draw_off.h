/* Draw-off: water that leaves by its own pressure: a tap, a nozzle, a sprinkler, a leak.
 *     q = q_r (p/h_r)^x   with p the gauge head there, x = 0.5 for every orifice,
 * from one pair of flow and head; at most `most`. It runs to a held point whose head is the
 * elevation of its mouth, and lets nothing back. A draw that asks for its flow and no more has most
 * = q_r: it is met as long as the head wanted is there and falls with it below.
 *
 * While things move, air follows the water back through a nozzle, which stands open in it, as
 * through any mouth (models/mouth.h). What a nozzle keeps of the air is neglected: at the same
 * pressure 28 times more air than water goes through (by the root of their densities). */
#ifndef MODELS_DRAW_OFF_H
#define MODELS_DRAW_OFF_H

#include "models/element.h"

struct draw_off {
    double flow;     /* q_r, m3/s, > 0 */
    double head;     /* h_r, m of gauge head at which it gives that flow, > 0 */
    double exponent; /* x, 0.1 to 1 */
    double most;     /* m3/s it ever takes; infinite: no limit */
};

extern const struct element draw_off_element; /* kind "draw-off" */
extern const struct element nozzle_element;   /* kind "nozzle": the same law */

/* A mouth of `bore` m: q = Cd A sqrt(2 g p), Torricelli 1643 with a discharge coefficient. */
struct draw_off draw_off_orifice(double bore, double coefficient, const struct water *water);

/* A sprinkler of factor k: litres a minute = k sqrt(p in bar), as in EN 12845 and NFPA 13. */
struct draw_off draw_off_sprinkler(double factor, const struct water *water);

/* Every number finite and in its range; the first fault is told. */
MUST_CHECK bool draw_off_check(const struct draw_off *draw, struct place place,
                               struct failure *failure);

#endif
