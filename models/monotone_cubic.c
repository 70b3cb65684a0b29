#include "models/monotone_cubic.h"

#include <math.h>
#include <stddef.h>

static double chord(const double x[], const double y[], int piece)
{
    return (y[piece + 1] - y[piece]) / (x[piece + 1] - x[piece]);
}

/* Slope at an end by the parabola through three points, where it keeps the sign of the chord. */
static double end_slope(double near_width, double far_width, double near_chord, double far_chord)
{
    const double slope =
        near_chord + (near_chord - far_chord) * near_width / (near_width + far_width);
    return slope * near_chord <= 0.0 ? 0.0 : slope;
}

/* Fritsch & Carlson 1980, section 4: both slopes of a piece inside the circle of radius 3. */
static void limit_piece(double secant, double *left, double *right)
{
    if (!(secant < 0.0 || secant > 0.0)) {
        *left = 0.0;
        *right = 0.0;
        return;
    }
    const double a = *left / secant;
    const double b = *right / secant;
    const double radius = sqrt(a * a + b * b);
    if (radius > 3.0) {
        *left = 3.0 * a / radius * secant;
        *right = 3.0 * b / radius * secant;
    }
}

void monotone_cubic_slopes(int count, const double x[], const double y[], double slope[])
{
    if (count == 2) {
        slope[0] = chord(x, y, 0);
        slope[1] = slope[0];
        return;
    }
    for (int i = 1; i < count - 1; i++) {
        const double before = chord(x, y, i - 1);
        const double after = chord(x, y, i);
        const double width_before = x[i] - x[i - 1];
        const double width_after = x[i + 1] - x[i];
        slope[i] = before * after <= 0.0 ? 0.0
                                         : (before * width_after + after * width_before) /
                                               (width_before + width_after);
    }
    const int n = count - 1;
    slope[0] = end_slope(x[1] - x[0], x[2] - x[1], chord(x, y, 0), chord(x, y, 1));
    slope[n] =
        end_slope(x[n] - x[n - 1], x[n - 1] - x[n - 2], chord(x, y, n - 1), chord(x, y, n - 2));
    for (int i = 0; i < n; i++) {
        limit_piece(chord(x, y, i), &slope[i], &slope[i + 1]);
    }
}

double monotone_cubic_value(int count, const double x[], const double y[], const double slope[],
                            double at, double *derivative)
{
    int piece = 0;
    while (piece < count - 2 && at > x[piece + 1]) {
        piece++;
    }
    const double width = x[piece + 1] - x[piece];
    const double secant = chord(x, y, piece);
    if (at < x[0] || at > x[count - 1]) {
        const int end = at < x[0] ? 0 : count - 1;
        if (derivative != NULL) {
            *derivative = secant;
        }
        return y[end] + secant * (at - x[end]);
    }
    const double t = (at - x[piece]) / width;
    const double left = slope[piece];
    const double right = slope[piece + 1];
    /* y = y0 + t w (left + t (2nd + t 3rd)), the Hermite cubic in powers of t. */
    const double second = 3.0 * secant - 2.0 * left - right;
    const double third = left + right - 2.0 * secant;
    if (derivative != NULL) {
        *derivative = left + t * (2.0 * second + 3.0 * t * third);
    }
    return y[piece] + t * width * (left + t * (second + t * third));
}
