#include "io/door/measured_loss.h"

#include "models/circle.h"

#include <math.h>

/* h = head + rise Q^2. */
struct fit {
    double head;
    double rise;
};

/* Least squares of (head + rise Q^2)/h - 1 over the rows. */
static struct fit fit_rows(int count, const double flow[], const double loss[])
{
    double a = 0.0; /* sums of the normal equations */
    double b = 0.0;
    double c = 0.0;
    double u = 0.0;
    double v = 0.0;
    for (int i = 0; i < count; i++) {
        const double first = 1.0 / loss[i];
        const double second = flow[i] * flow[i] / loss[i];
        a += first * first;
        b += first * second;
        c += second * second;
        u += first;
        v += second;
    }
    const double determinant = a * c - b * b;
    struct fit fit = {(u * c - v * b) / determinant, (a * v - b * u) / determinant};
    if (!(fit.head >= 0.0)) { /* nothing is paid to open: one number alone */
        fit = (struct fit){0.0, v / c};
    }
    return fit;
}

static double worst_row(int count, const double flow[], const double loss[], struct fit fit)
{
    double worst = 0.0;
    for (int i = 0; i < count; i++) {
        const double found = fit.head + fit.rise * flow[i] * flow[i];
        worst = fmax(worst, fabs(found / loss[i] - 1.0));
    }
    return worst;
}

static bool check_rows(struct draft *draft, const struct measured_loss *rows,
                       const struct non_return *valve, struct place place)
{
    const int count = rows->flow.count;
    if (count != rows->loss.count || count < 2) {
        return draft_error(draft, place,
                           "'%s': 'measured flow' has %d numbers and 'measured loss' has %d; they "
                           "go in pairs, at least two",
                           valve->type, count, rows->loss.count);
    }
    for (int i = 1; i < count; i++) {
        if (!(rows->flow.value[i] > rows->flow.value[i - 1])) {
            return draft_error(draft, place, "'%s': the numbers of 'measured flow' must rise",
                               valve->type);
        }
    }
    return true;
}

bool fit_measured_loss(struct draft *draft, const struct non_return *valve, struct place place,
                       const struct measured_loss *rows, struct fitted_loss *fitted)
{
    if (!check_rows(draft, rows, valve, place)) {
        return false;
    }
    const int count = rows->flow.count;
    const struct fit fit = fit_rows(count, rows->flow.value, rows->loss.value);
    const double area = circle_area(valve->bore);
    if (!(fit.rise > 0.0)) {
        return draft_error(draft, place,
                           "'%s': 'measured loss' must rise with the flow; state flows further "
                           "apart",
                           valve->type);
    }
    fitted->opening_head = fit.head;
    fitted->full_open_loss = 2.0 * draft->site->water.gravity * area * area * fit.rise;
    draft_assume(draft, place,
                 "'%s': its %d measured losses are taken as %.3g m + %.3g v2/2g; the worst of them "
                 "is %.1f %% off",
                 valve->type, count, fitted->opening_head, fitted->full_open_loss,
                 100.0 * worst_row(count, rows->flow.value, rows->loss.value, fit));
    return true;
}
