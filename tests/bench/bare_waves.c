#include "tests/bench/bare_waves.h"

#include "models/each_width.h"

#include <math.h>
#include <stdlib.h>
#include <time.h>

enum { TRIALS = 5 };

static const double impedance = 5000.0;
static const double resistance = 1e-9; /* of a reach, by (2 B Q)^2 */

double bare_now(void)
{
    struct timespec time;
    clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &time);
    return (double)time.tv_sec + 1e-9 * (double)time.tv_nsec;
}

static double *take(int count)
{
    size_t bytes = (sizeof(double) * (size_t)count + 63) / 64 * 64;
    double *made = aligned_alloc(64, bytes);
    for (int i = 0; made != NULL && i < count; i++) {
        made[i] = 100.0 + 1e-3 * (i % 64);
    }
    return made;
}

EACH_WIDTH
static void textbook_step(int count, const double *restrict head, const double *restrict flow,
                          double *restrict next_head, double *restrict next_flow)
{
    for (int i = 1; i < count - 1; i++) {
        double right = head[i - 1] + flow[i - 1] * (impedance - resistance * fabs(flow[i - 1]));
        double left = head[i + 1] - flow[i + 1] * (impedance - resistance * fabs(flow[i + 1]));
        next_head[i] = 0.5 * (right + left);
        next_flow[i] = (right - left) * (0.5 / impedance);
    }
}

double bare_textbook(int nodes, int rounds)
{
    double *head[2] = {take(nodes), take(nodes)};
    double *flow[2] = {take(nodes), take(nodes)};
    double best = 0.0;
    if (head[0] == NULL || head[1] == NULL || flow[0] == NULL || flow[1] == NULL) {
        return 0.0;
    }
    for (int trial = 0; trial < TRIALS; trial++) {
        double start = bare_now();
        for (int round = 0; round < rounds; round++) {
            int from = round & 1;
            textbook_step(nodes, head[from], flow[from], head[1 - from], flow[1 - from]);
        }
        best = fmax(best, (double)nodes * rounds / (bare_now() - start));
    }
    free(head[0]);
    free(head[1]);
    free(flow[0]);
    free(flow[1]);
    return best;
}

static inline void characteristic_loop(int count, double *restrict right, double *restrict left)
{
    for (int i = 0; i < count; i++) {
        double difference = right[i] - left[i];
        double loss = resistance * difference * fabs(difference);
        right[i] -= loss;
        left[i] += loss;
    }
}

EACH_WIDTH
static void characteristic_step(int count, double *restrict right, double *restrict left)
{
    characteristic_loop(count, right, left);
}

static void portable_step(int count, double *restrict right, double *restrict left)
{
    characteristic_loop(count, right, left);
}

typedef void step_form(int count, double *restrict right, double *restrict left);

/* Values leave at one end and enter at the other through the room kept free before and behind. */
static double characteristic(int nodes, int rounds, step_form *step)
{
    enum { ROOM = 1024 };
    double *right = take(nodes + ROOM);
    double *left = take(nodes + ROOM);
    double best = 0.0;
    if (right == NULL || left == NULL) {
        return 0.0;
    }
    for (int trial = 0; trial < TRIALS; trial++) {
        double start = bare_now();
        for (int round = 0; round < rounds; round++) {
            int shift = round % ROOM;
            step(nodes, right + ROOM - shift, left + shift);
        }
        best = fmax(best, (double)nodes * rounds / (bare_now() - start));
    }
    free(right);
    free(left);
    return best;
}

double bare_characteristic(int nodes, int rounds)
{
    return characteristic(nodes, rounds, characteristic_step);
}

double bare_portable(int nodes, int rounds)
{
    return characteristic(nodes, rounds, portable_step);
}

/* `depth` steps on stretches that lean left by one node a step, so that a stretch needs nothing of
 * the next one. */
static void tile(int nodes, int depth, int width, double *right, double *left)
{
    for (int at = 0; at < nodes + depth; at += width) {
        for (int k = 0; k < depth; k++) {
            int first = at - k > 0 ? at - k : 0;
            int last = at - k + width < nodes ? at - k + width : nodes;
            if (last > first) {
                characteristic_step(last - first, right + depth - k + first, left + k + first);
            }
        }
    }
}

double bare_tiled(int nodes, int rounds, int depth, int width)
{
    double *right = take(nodes + depth);
    double *left = take(nodes + depth);
    double best = 0.0;
    if (right == NULL || left == NULL) {
        return 0.0;
    }
    for (int trial = 0; trial < TRIALS; trial++) {
        double start = bare_now();
        for (int round = 0; round < rounds; round += depth) {
            tile(nodes, depth, width, right, left);
        }
        int made = (rounds + depth - 1) / depth * depth;
        best = fmax(best, (double)nodes * made / (bare_now() - start));
    }
    free(right);
    free(left);
    return best;
}

double bare_triad(int nodes, int rounds)
{
    double *restrict a = take(nodes);
    double *restrict b = take(nodes);
    double *restrict c = take(nodes);
    double best = 0.0;
    if (a == NULL || b == NULL || c == NULL) {
        return 0.0;
    }
    for (int trial = 0; trial < TRIALS; trial++) {
        double start = bare_now();
        for (int round = 0; round < rounds; round++) {
            double scale = 1.0 + round;
            for (int i = 0; i < nodes; i++) {
                a[i] = b[i] + scale * c[i];
            }
            __asm__ volatile("" : : "r"(a) : "memory");
        }
        best = fmax(best, (double)nodes * rounds / (bare_now() - start));
    }
    free(a);
    free(b);
    free(c);
    return best;
}
