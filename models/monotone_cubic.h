/* Monotone cubic: a smooth curve through points that never overshoots between them.
 * Cubic Hermite pieces with slopes limited as in Fritsch & Carlson, SIAM J. Numer. Anal. 17 (1980)
 * 238-246: where the points rise (fall), so does the curve; at a turning point it is level. */
#ifndef MODELS_MONOTONE_CUBIC_H
#define MODELS_MONOTONE_CUBIC_H

/* Fills `slope` for `count` >= 2 points with rising `x`. */
void monotone_cubic_slopes(int count, const double x[], const double y[], double slope[]);

/* Value at `at`; clamped pieces: outside the points the nearest end chord goes on. `derivative`, if
 * not NULL, gets dy/dx. */
double monotone_cubic_value(int count, const double x[], const double y[], const double slope[],
                            double at, double *derivative);

#endif
