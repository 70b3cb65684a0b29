/* Energy: where the energy of a surge run came from and went.
 *
 * Power between points and links is density g head flow, by the trapezoidal rule in time. The water
 * in a pipe holds, over head 0,
 *     sum of density g step/(2 B) (H^2 + B^2 Q^2)  over its nodes, half at its ends
 * by its elasticity and its motion (Wylie & Streeter 1993; B = a/(gA)): without friction a pipe on
 * the grid keeps it to round-off against that power at its ends. What a pipe takes in and does not
 * hold is lost in it: to friction, in cavities, in a yielding wall. That may not be below zero. */
#ifndef SOLVER_SURGE_ENERGY_H
#define SOLVER_SURGE_ENERGY_H

struct groups;

/* J over the run. */
struct surge_energy {
    double from_ends;     /* in from tanks and outlets, less what went out there and in draws */
    double from_pumps;    /* by pumps to the water */
    double to_vessels;    /* into air vessels, standpipes, air valves and cavities at points */
    double lost_in_parts; /* in all other parts */
    double stored;        /* held more than at the start by water in pipes */
    double lost_in_pipes;
    double residual; /* of in - out over all points: flows that do not balance there */
};

/* What is summed up while the run goes on: watts at the instant before, joules so far. */
struct energy_power {
    double ends;
    double pumps;
    double vessels;
    double parts;
    double pipes;
};

struct energy {
    struct energy_power now;
    struct energy_power sum;
    double stored_start;
};

void energy_start(struct energy *energy, const struct groups *groups);

/* The end of a step of `step` s. */
void energy_step(struct energy *energy, const struct groups *groups, double step);

struct surge_energy energy_end(const struct energy *energy, const struct groups *groups);

#endif
