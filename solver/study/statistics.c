#include "solver/study/statistics.h"

#include <math.h>
#include <stddef.h>
#include <stdlib.h>

static int compare(const void *left, const void *right)
{
    const double a = *(const double *)left;
    const double b = *(const double *)right;
    return (a > b) - (a < b);
}

static double quantile(int count, const double sorted[], double share)
{
    const double at = share * (double)(count - 1);
    const int below = (int)floor(at);
    const int above = below + 1 < count ? below + 1 : below;
    return sorted[below] + (at - below) * (sorted[above] - sorted[below]);
}

bool summary_make(int count, const double values[], struct summary *summary,
                  struct failure *failure)
{
    const double none = (double)NAN;
    double *sorted = malloc((size_t)(count > 0 ? count : 1) * sizeof *sorted);
    if (!sorted) {
        return fail_memory(failure, "the summary of a study");
    }
    *summary = (struct summary){0, none, none, none, none, none, none, none};
    int known = 0;
    double sum = 0.0;
    for (int i = 0; i < count; i++) {
        if (isfinite(values[i])) {
            sorted[known++] = values[i];
            sum += values[i];
        }
    }
    summary->count = known;
    if (known > 0) {
        qsort(sorted, (size_t)known, sizeof *sorted, compare);
        double squares = 0.0;
        summary->mean = sum / known;
        for (int i = 0; i < known; i++) {
            squares += (sorted[i] - summary->mean) * (sorted[i] - summary->mean);
        }
        summary->deviation = known > 1 ? sqrt(squares / (known - 1)) : none;
        summary->least = sorted[0];
        summary->low = quantile(known, sorted, 0.05);
        summary->median = quantile(known, sorted, 0.5);
        summary->high = quantile(known, sorted, 0.95);
        summary->greatest = sorted[known - 1];
    }
    free(sorted);
    return true;
}

struct probability probability_of(int hits, int count)
{
    const double z = 1.9599639845400545; /* 0.975 quantile of the standard normal distribution */
    if (count <= 0) {
        return (struct probability){(double)NAN, 0.0, 1.0};
    }
    const double n = count;
    const double p = hits / n;
    const double middle = (p + z * z / (2.0 * n)) / (1.0 + z * z / n);
    const double half = z / (1.0 + z * z / n) * sqrt(p * (1.0 - p) / n + z * z / (4.0 * n * n));
    return (struct probability){.estimate = p,
                                .low = hits == 0 ? 0.0 : fmax(middle - half, 0.0),
                                .high = hits == count ? 1.0 : fmin(middle + half, 1.0)};
}

static bool is_whole(int rows, const double values[])
{
    for (int i = 0; i < rows; i++) {
        if (!isfinite(values[i])) {
            return false;
        }
    }
    return true;
}

/* Mean and variance of the rows A and B of the usable base samples. */
static int find_variance(int rows, int samples, const double values[], double *mean,
                         double *variance)
{
    int used = 0;
    double sum = 0.0;
    double squares = 0.0;
    for (int k = 0; k < samples; k++) {
        const double *f = values + (ptrdiff_t)k * rows;
        if (is_whole(rows, f)) {
            sum += f[0] + f[1];
            used++;
        }
    }
    *mean = used > 0 ? sum / (2.0 * used) : 0.0;
    for (int k = 0; k < samples; k++) {
        const double *f = values + (ptrdiff_t)k * rows;
        if (is_whole(rows, f)) {
            squares += (f[0] - *mean) * (f[0] - *mean) + (f[1] - *mean) * (f[1] - *mean);
        }
    }
    *variance = used > 0 ? squares / (2.0 * used) : 0.0;
    return used;
}

void indices_find(int input_count, int samples, const double values[], struct indices indices[],
                  int *used)
{
    const int rows = input_count + 2;
    double mean = 0.0;
    double variance = 0.0;
    const int count = find_variance(rows, samples, values, &mean, &variance);
    /* Round-off of a result that does not vary must not pass for a share of its variance. */
    const bool varies = variance > 1e-24 * mean * mean;
    for (int i = 0; i < input_count; i++) {
        double first = 0.0;
        double total = 0.0;
        for (int k = 0; k < samples; k++) {
            const double *f = values + (ptrdiff_t)k * rows;
            if (!is_whole(rows, f)) {
                continue;
            }
            const double moved = f[2 + i] - f[0];
            /* f_B about the mean: the estimate is the same, its scatter less. */
            first += (f[1] - mean) * moved;
            total += 0.5 * moved * moved;
        }
        indices[i].first = varies ? first / (count * variance) : (double)NAN;
        indices[i].total = varies ? total / (count * variance) : (double)NAN;
    }
    if (used) {
        *used = count;
    }
}
