#include "solver/surge/dense.h"

#include <float.h>
#include <math.h>

/* The row at or below `column` with the largest entry in it. */
static int find_pivot(int n, const double matrix[], int column)
{
    int best = column;
    for (int i = column + 1; i < n; i++) {
        if (fabs(matrix[i * n + column]) > fabs(matrix[best * n + column])) {
            best = i;
        }
    }
    return best;
}

static void exchange(int n, double matrix[], double x[], int i, int j)
{
    for (int k = 0; k < n; k++) {
        const double kept = matrix[i * n + k];
        matrix[i * n + k] = matrix[j * n + k];
        matrix[j * n + k] = kept;
    }
    const double kept = x[i];
    x[i] = x[j];
    x[j] = kept;
}

static double largest_entry(int n, const double matrix[])
{
    double largest = 0.0;
    for (int i = 0; i < n * n; i++) {
        largest = fmax(largest, fabs(matrix[i]));
    }
    return largest;
}

bool dense_solve(int n, double matrix[], double x[])
{
    const double least = DBL_EPSILON * largest_entry(n, matrix);
    for (int j = 0; j < n; j++) {
        const int pivot = find_pivot(n, matrix, j);
        if (!(fabs(matrix[pivot * n + j]) > least)) {
            return false;
        }
        if (pivot != j) {
            exchange(n, matrix, x, pivot, j);
        }
        for (int i = j + 1; i < n; i++) {
            const double share = matrix[i * n + j] / matrix[j * n + j];
            if (!(fabs(share) > 0.0)) {
                continue;
            }
            for (int k = j + 1; k < n; k++) {
                matrix[i * n + k] -= share * matrix[j * n + k];
            }
            x[i] -= share * x[j];
        }
    }
    for (int i = n - 1; i >= 0; i--) {
        for (int k = i + 1; k < n; k++) {
            x[i] -= matrix[i * n + k] * x[k];
        }
        x[i] /= matrix[i * n + i];
    }
    return true;
}
