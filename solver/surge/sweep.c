#include "solver/surge/sweep.h"

#include <math.h>

/* Nodes taken side by side, each lane with its own least values: so that a vector of any width up
 * to this holds whole lanes and the digits are the same. */
enum { LANES = 8 };

/* Wide vectors where the machine has them, chosen once as the program starts. */
#if defined(__x86_64__) && defined(__GNUC__) && !defined(__clang__) &&                             \
    !defined(__SANITIZE_ADDRESS__)
#define EACH_WIDTH __attribute__((target_clones("avx512f", "avx2", "default")))
#else
#define EACH_WIDTH
#endif

struct least {
    double right[LANES];
    double left[LANES];
};

static inline __attribute__((always_inline)) void take_node(int lane, double loss, double *right,
                                                            double *left, double *highest,
                                                            double *lowest, struct least *least)
{
    double head = 0.5 * (*right + *left);
    double p = *right - loss;
    double m = *left + loss;
    *highest = head > *highest ? head : *highest;
    *lowest = head < *lowest ? head : *lowest;
    *right = p;
    *left = m;
    least->right[lane] = p < least->right[lane] ? p : least->right[lane];
    least->left[lane] = m < least->left[lane] ? m : least->left[lane];
}

static inline __attribute__((always_inline)) double quadratic_loss(double curvature,
                                                                   double difference)
{
    double size = fabs(difference);
    double divisor = 1.0 + sqrt(1.0 + curvature * size);
    return curvature * size * difference / (divisor * divisor);
}

EACH_WIDTH
static void take_nothing(int count, double *restrict right, double *restrict left,
                         double *restrict highest, double *restrict lowest, struct least *least)
{
    struct least here = *least;
    int i = 0;
    for (; i + LANES <= count; i += LANES) {
        for (int j = 0; j < LANES; j++) {
            take_node(j, 0.0, &right[i + j], &left[i + j], &highest[i + j], &lowest[i + j], &here);
        }
    }
    for (; i < count; i++) {
        take_node(0, 0.0, &right[i], &left[i], &highest[i], &lowest[i], &here);
    }
    *least = here;
}

EACH_WIDTH
static void take_quadratic(int count, double curvature, double *restrict right,
                           double *restrict left, double *restrict highest, double *restrict lowest,
                           struct least *least)
{
    struct least here = *least;
    int i = 0;
    for (; i + LANES <= count; i += LANES) {
        for (int j = 0; j < LANES; j++) {
            double loss = quadratic_loss(curvature, right[i + j] - left[i + j]);
            take_node(j, loss, &right[i + j], &left[i + j], &highest[i + j], &lowest[i + j], &here);
        }
    }
    for (; i < count; i++) {
        double loss = quadratic_loss(curvature, right[i] - left[i]);
        take_node(0, loss, &right[i], &left[i], &highest[i], &lowest[i], &here);
    }
    *least = here;
}

static void take_table(int count, const struct loss *table, double *restrict right,
                       double *restrict left, double *restrict highest, double *restrict lowest,
                       struct least *least)
{
    for (int i = 0; i < count; i++) {
        double loss = loss_at(table, right[i] - left[i]).head;
        take_node(0, loss, &right[i], &left[i], &highest[i], &lowest[i], least);
    }
}

double sweep_take(const struct sweep *sweep, const struct loss *loss)
{
    struct least least;
    for (int j = 0; j < LANES; j++) {
        least.right[j] = INFINITY;
        least.left[j] = INFINITY;
    }
    if (loss->kind == LOSS_QUADRATIC) {
        take_quadratic(sweep->count, loss->curvature, sweep->right, sweep->left, sweep->highest,
                       sweep->lowest, &least);
    } else if (loss->kind == LOSS_TABLE) {
        take_table(sweep->count, loss, sweep->right, sweep->left, sweep->highest, sweep->lowest,
                   &least);
    } else {
        take_nothing(sweep->count, sweep->right, sweep->left, sweep->highest, sweep->lowest,
                     &least);
    }
    double right = INFINITY;
    double left = INFINITY;
    for (int j = 0; j < LANES; j++) {
        right = fmin(right, least.right[j]);
        left = fmin(left, least.left[j]);
    }
    return right + left;
}
