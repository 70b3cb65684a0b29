/* Fatigue: how often the wall of a pipe bears a pressure that comes and goes.
 * Hoop stress of a thin ring about its middle (ISO 161-1). Of PVC cycles until it breaks, Vinson,
 * Response of PVC pipe to large, repetitive pressure surges, ASCE 1981, N = 5.05e21 S^-4.906 with
 * the highest hoop stress S of a cycle in psi (from memory; later methods, of Moser and of Folkman,
 * reckon with mean and swing apart and find longer lives where the swing is small). It is of pipe
 * at room temperature; what warmth takes off is not known here. Tough polyethylene needs no
 * reduction for repeated pressures within its class: UK water industry note IGN 4-37-02, 1999
 * (read). */
#ifndef MODELS_FATIGUE_H
#define MODELS_FATIGUE_H

#include "models/pipe.h"

/* The largest swing of pressure that PVC bears often, share of what its class allows: CP 312, 1977,
 * as quoted in a paper on surge and fatigue in the UK water industry (read); its successors find it
 * over-cautious. */
extern const double fatigue_swing_share;

/* Events a day beyond which that counts: constructed for this program; fewer are some 70,000 in 50
 * years. */
extern const double fatigue_few_a_day;

/* Years that a wall is asked to bear its cycles: twice the 50 that pipes are usually made for, as
 * the reckoned ones scatter (common practice). */
extern const double fatigue_years_asked;

/* Pa in the wall under `pressure`, Pa; 0 for a rigid one. */
double fatigue_hoop_stress(const struct pipe *pipe, double pressure);

/* Whether figures are known by which the material tires. */
bool fatigue_is_known(const struct pipe *pipe);

/* Cycles up to `pressure`, Pa, until the wall breaks; infinite for none above 0; NAN where no
 * figures are known. */
double fatigue_cycles(const struct pipe *pipe, double pressure);

/* Years of a wall that bears so many cycles, at `a_day` events a day, > 0. Each counts twice: what
 * swings to and fro with a fifth less each time does as much harm as two full cycles, for harm goes
 * with the third power of the swing or a higher one (reckoned). */
double fatigue_years(double cycles, double a_day);

/* Whether a swing, share of what the class allows, is too large for how often it comes: `a_day`
 * events, 0 or NAN where that is not known, which counts as often. False for a swing of NAN. */
bool fatigue_swings_too_far(double swing, double a_day);

/* Whether so many cycles last for fewer years than are asked, at `a_day` events a day; false where
 * either is not known. */
bool fatigue_is_short(double cycles, double a_day);

#endif
