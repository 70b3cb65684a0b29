/* Wall: what a pipe is made of. */
#ifndef MODELS_WALL_H
#define MODELS_WALL_H

#include <stdbool.h>

enum { WALL_DERATING_MAX = 12, WALL_CREEP_MAX = 6 };

struct wall {
    const char *name;   /* "pvc-u", "pe100", "abs", "steel" ... */
    double modulus;     /* Young's modulus, short term, Pa */
    double poisson;     /* Poisson's ratio */
    double roughness;   /* m, default for pipe of this material */
    int derating_count; /* points of the pressure-temperature rule, linear between, at least 1 */
    double derating_temperature[WALL_DERATING_MAX]; /* degC, rising */
    double derating_share[WALL_DERATING_MAX];       /* share of the class allowed */
    const char *derating_source;                    /* rule used, for findings */
    bool tires;      /* PVC: of pressure that comes and goes, by models/fatigue.h */
    int creep_count; /* Kelvin-Voigt elements of its creep, for surge; 0: none known, elastic */
    double creep_compliance[WALL_CREEP_MAX]; /* J, 1/Pa, > 0 */
    double creep_time[WALL_CREEP_MAX];       /* tau, s, > 0 */
    const char *creep_source;                /* with its mark; NULL: none */
    const char *source;                      /* of modulus and Poisson's ratio, with its mark */
};

/* Share of the pressure class allowed at `temperature_c`; 1 below the first point, 0 above the last
 * (the rule gives nothing there: treat as not allowed). */
double wall_derating(const struct wall *wall, double temperature_c);

/* The built-in material of this name, or NULL; and all of them for help and `catalogue`. */
const struct wall *wall_find(const char *name);
int wall_count(void);
const struct wall *wall_at(int index);

#endif
