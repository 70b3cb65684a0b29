#include "tests/bench/bare_losses.h"

#include "models/each_width.h"
#include "tests/bench/bare_waves.h"

#include <math.h>
#include <stddef.h>
#include <string.h>

/* Nodes that are worked on side by side, and those for which one interval of a table is hoped for.
 */
enum { CHUNK = 32 };

static EACH_BODY void note(double right, double left, double *highest, double *lowest)
{
    double head = 0.5 * (right + left);
    *highest = head > *highest ? head : *highest;
    *lowest = head < *lowest ? head : *lowest;
}

/* --- quadratic: closed form, series --- */

static EACH_BODY void closed_loop(bool keeps, const struct loss *loss, int count,
                                  double *restrict right, double *restrict left,
                                  double *restrict highest, double *restrict lowest)
{
    const double curvature = loss->curvature;
    for (int i = 0; i < count; i++) {
        double there = right[i];
        double back = left[i];
        double difference = there - back;
        double x = curvature * fabs(difference);
        double divisor = 1.0 + sqrt(1.0 + x);
        double lost = x * difference / (divisor * divisor);
        if (keeps) {
            note(there, back, &highest[i], &lowest[i]);
        }
        right[i] = there - lost;
        left[i] = back + lost;
    }
}

static EACH_BODY void series_loop(int terms, bool keeps, const double series[LOSS_TERMS], int count,
                                  double *restrict right, double *restrict left,
                                  double *restrict highest, double *restrict lowest)
{
    for (int i = 0; i < count; i++) {
        double there = right[i];
        double back = left[i];
        double lost = loss_sum(series, terms, there - back);
        if (keeps) {
            note(there, back, &highest[i], &lowest[i]);
        }
        right[i] = there - lost;
        left[i] = back + lost;
    }
}

/* Several vectors side by side, each operation for all of them before the next one. */
static EACH_BODY void series_side(int terms, const double series[LOSS_TERMS], int count,
                                  double *restrict right, double *restrict left,
                                  double *restrict highest, double *restrict lowest)
{
    typedef double four __attribute__((vector_size(4 * sizeof(double))));
    typedef double anywhere __attribute__((vector_size(4 * sizeof(double)), aligned(8)));
    typedef uint64_t bits __attribute__((vector_size(4 * sizeof(uint64_t))));
    enum { FOUR = 4, SIDE = 4 };
    const uint64_t sign = UINT64_C(1) << 63;
    const four last = series[terms - 1] + (four){0.0};
    int i = 0;
    for (; i + SIDE * FOUR <= count; i += SIDE * FOUR) {
        anywhere *restrict right_at = (anywhere *)(right + i);
        anywhere *restrict left_at = (anywhere *)(left + i);
        four size[SIDE];
        four sum[SIDE];
        for (int j = 0; j < SIDE; j++) {
            size[j] = (four)((bits)(right_at[j] - left_at[j]) & ~sign);
            sum[j] = last;
        }
        for (int term = terms - 2; term >= 0; term--) {
            for (int j = 0; j < SIDE; j++) {
                sum[j] = series[term] + size[j] * sum[j];
            }
        }
        for (int j = 0; j < SIDE; j++) {
            sum[j] = (right_at[j] - left_at[j]) * size[j] * sum[j];
            right_at[j] -= sum[j];
            left_at[j] += sum[j];
        }
    }
    series_loop(terms, false, series, count - i, right + i, left + i, highest + i, lowest + i);
}

#define FORM(name, body, ...)                                                                      \
    EACH_WIDTH                                                                                     \
    static void name##_go(const struct loss *loss, int count, double *restrict right,              \
                          double *restrict left, double *restrict highest,                         \
                          double *restrict lowest)                                                 \
    {                                                                                              \
        body(__VA_ARGS__, count, right, left, highest, lowest);                                    \
    }                                                                                              \
    static void name(const struct bare_nodes *nodes)                                               \
    {                                                                                              \
        name##_go(nodes->law, nodes->count, nodes->right, nodes->left, nodes->highest,             \
                  nodes->lowest);                                                                  \
    }

FORM(closed, closed_loop, false, loss)
FORM(closed_keeping, closed_loop, true, loss)
FORM(plain_two, series_loop, 2, false, loss->series)
FORM(plain_three, series_loop, 3, false, loss->series)
FORM(plain_four, series_loop, 4, false, loss->series)
FORM(keeping_two, series_loop, 2, true, loss->series)
FORM(keeping_three, series_loop, 3, true, loss->series)
FORM(keeping_four, series_loop, 4, true, loss->series)
FORM(side_two, series_side, 2, loss->series)
FORM(side_three, series_side, 3, loss->series)
FORM(side_four, series_side, 4, loss->series)

/* --- by table: looked up node by node, or for many nodes at once where they share an interval ---
 */

static EACH_BODY double look_up(const double *restrict cubics, int64_t first, int64_t last,
                                double difference)
{
    double size = fabs(difference);
    int64_t place = (int64_t)loss_key(difference) - first;
    place = place < -1 ? -1 : place > last ? last : place;
    uint64_t start_bits = (uint64_t)(place + first) << 49;
    double start;
    memcpy(&start, &start_bits, sizeof start);
    const double *cubic = cubics + 4 * (place + 1);
    double x = size - (place < 0 ? 0.0 : start);
    return copysign(cubic[0] + x * (cubic[1] + x * (cubic[2] + x * cubic[3])), difference);
}

static EACH_BODY void table_loop(bool keeps, const struct loss *loss, int count,
                                 double *restrict right, double *restrict left,
                                 double *restrict highest, double *restrict lowest)
{
    const double *restrict cubics = loss->cubics;
    const int64_t first = loss->first_key;
    const int64_t last = loss->count - 1;
    for (int i = 0; i < count; i++) {
        double there = right[i];
        double back = left[i];
        double lost = look_up(cubics, first, last, there - back);
        if (keeps) {
            note(there, back, &highest[i], &lowest[i]);
        }
        right[i] = there - lost;
        left[i] = back + lost;
    }
}

/* Losses as if all nodes lay in the interval of `key`; the bits in which any does not. */
static EACH_BODY uint64_t hope(const struct loss_interval *interval, uint64_t key,
                               const double *restrict right, const double *restrict left,
                               double *restrict lost)
{
    const struct loss_interval here = *interval;
    uint64_t spread = 0;
    for (int j = 0; j < CHUNK; j++) {
        double difference = right[j] - left[j];
        double x = fabs(difference) - here.start;
        double size = here.cubic[0] + x * (here.cubic[1] + x * (here.cubic[2] + x * here.cubic[3]));
        lost[j] = copysign(size, difference);
        spread |= loss_key(difference) ^ key;
    }
    return spread;
}

static EACH_BODY void shared_loop(bool keeps, const struct loss *loss, int count,
                                  double *restrict right, double *restrict left,
                                  double *restrict highest, double *restrict lowest)
{
    struct loss_interval interval = {0.0, {0.0, 0.0, 0.0, 0.0}, 0.0};
    uint64_t key = 0;
    int i = 0;
    for (; i + CHUNK <= count; i += CHUNK) {
        double lost[CHUNK];
        double first = right[i] - left[i];
        if (loss_key(first) != key && loss_interval_at(loss, fabs(first), &interval)) {
            key = loss_key(first);
        }
        if (hope(&interval, key, right + i, left + i, lost) != 0) {
            table_loop(keeps, loss, CHUNK, right + i, left + i, highest + i, lowest + i);
            continue;
        }
        for (int j = 0; j < CHUNK; j++) {
            if (keeps) {
                note(right[i + j], left[i + j], &highest[i + j], &lowest[i + j]);
            }
            right[i + j] -= lost[j];
            left[i + j] += lost[j];
        }
    }
    table_loop(keeps, loss, count - i, right + i, left + i, highest + i, lowest + i);
}

FORM(table, table_loop, false, loss)
FORM(table_keeping, table_loop, true, loss)
FORM(shared, shared_loop, false, loss)
FORM(shared_keeping, shared_loop, true, loss)

/* The same without wide vectors, which some machines gather slowly. */
static void narrow(const struct bare_nodes *nodes)
{
    table_loop(false, nodes->law, nodes->count, nodes->right, nodes->left, NULL, NULL);
}

static void narrow_keeping(const struct bare_nodes *nodes)
{
    table_loop(true, nodes->law, nodes->count, nodes->right, nodes->left, nodes->highest,
               nodes->lowest);
}

/* --- all of them --- */

struct way {
    const char *name;
    bool is_slow;       /* by far: one size of tiles is enough to show it */
    bare_step *step[2]; /* without extremes, with; NULL: there is none */
};

static void try_way(struct bare_losses *found, const struct way *way, int nodes, int rounds,
                    const struct bare_start *start, bool is_long, bool keeps)
{
    static const int depths[] = {32, 32, 16, 16};
    static const int widths[] = {1024, 512, 1024, 2048};
    bare_step *step = way->step[keeps];
    double rate = 0.0;
    if (step == NULL) {
        return;
    }
    for (int i = 0; is_long && i < (way->is_slow ? 1 : 4); i++) {
        rate = fmax(rate, bare_in_tiles(nodes, rounds, depths[i], widths[i], step, start));
    }
    if (!is_long) {
        rate = bare_in_place(nodes, rounds, step, start);
    }
    found->name[found->count] = way->name;
    found->rate[found->count] = rate;
    found->best = fmax(found->best, rate);
    found->count++;
}

struct bare_losses bare_losses(const struct loss *loss, int nodes, int rounds, const double *right,
                               const double *left, bool is_long, bool keeps)
{
    static const struct way series[3][2] = {
        {{"series", false, {plain_two, keeping_two}}, {"side by side", false, {side_two, NULL}}},
        {{"series", false, {plain_three, keeping_three}},
         {"side by side", false, {side_three, NULL}}},
        {{"series", false, {plain_four, keeping_four}}, {"side by side", false, {side_four, NULL}}},
    };
    static const struct way root = {"closed form", true, {closed, closed_keeping}};
    static const struct way tables[] = {{"node by node", true, {narrow, narrow_keeping}},
                                        {"gathered", true, {table, table_keeping}},
                                        {"many at once", false, {shared, shared_keeping}}};
    struct bare_losses found = {.count = 0};
    const struct bare_start start = {right, left, loss};
    if (loss->kind == LOSS_TABLE) {
        for (int i = 0; i < 3; i++) {
            try_way(&found, &tables[i], nodes, rounds, &start, is_long, keeps);
        }
        return found;
    }
    try_way(&found, &root, nodes, rounds, &start, is_long, keeps);
    for (int i = 0; i < 2; i++) {
        try_way(&found, &series[loss->terms - 2][i], nodes, rounds, &start, is_long, keeps);
    }
    return found;
}
