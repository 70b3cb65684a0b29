/* Four-quadrant pump data: head and torque in every combination of flow and rotation.
 * h/(a^2+v^2) and b/(a^2+v^2) at x = pi + atan2(v, a), 89 points dx = pi/44 (Marchal, Flesch &
 * Suter 1965; Wylie & Streeter 1993, ch. 7), linear between points; tables for three specific
 * speeds (see models/catalogue/four_quadrant_tables.c for their mark). Between two of them each
 * entry is taken linear in the logarithm of the specific speed: the usual guess, for nobody
 * measured there; beyond the outermost they hold as they are. */
#ifndef MODELS_FOUR_QUADRANT_H
#define MODELS_FOUR_QUADRANT_H

enum { FOUR_QUADRANT_POINTS = 89 };

struct four_quadrant {
    const char *name;
    double specific_speed; /* rev/min, m3/s, m */
    double head[FOUR_QUADRANT_POINTS];
    double torque[FOUR_QUADRANT_POINTS];
};

/* Something that depends on speed and flow, with both derivatives. */
struct quadrant_value {
    double value;
    double by_speed;
    double by_flow;
};

/* (a^2+v^2) W(x) of one row of entries; all 0 at a = v = 0. */
struct quadrant_value four_quadrant_value(const double entries[FOUR_QUADRANT_POINTS], double a,
                                          double v);

/* Head ratio h and torque ratio b at speed ratio a and flow ratio v; 0 at a = v = 0. `slope` (if
 * not NULL) gets the derivative by v. */
double four_quadrant_head(const struct four_quadrant *table, double a, double v, double *slope);
double four_quadrant_torque(const struct four_quadrant *table, double a, double v, double *slope);

int four_quadrant_count(void);
const struct four_quadrant *four_quadrant_at(int index);

/* Entries for a specific speed (> 0) between the tables. */
struct four_quadrant four_quadrant_between(double specific_speed);

#endif
