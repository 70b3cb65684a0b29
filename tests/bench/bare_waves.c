#include "tests/bench/bare_waves.h"

#include "models/arena.h"
#include "models/each_width.h"

#include <math.h>
#include <stdbool.h>
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

/* From an arena, as the kernel's memory is. */
static double *take(int count, struct arena *arena)
{
    double *made = arena_take(arena, (size_t)count, sizeof *made);
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
    struct arena *arena = arena_new();
    double *head[2] = {take(nodes, arena), take(nodes, arena)};
    double *flow[2] = {take(nodes, arena), take(nodes, arena)};
    double best = 0.0;
    if (head[0] == NULL || head[1] == NULL || flow[0] == NULL || flow[1] == NULL) {
        arena_free(arena);
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
    arena_free(arena);
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

/* The same, and the highest and lowest head of each node, doubled: halving can wait to the end. */
EACH_WIDTH
static void keeping_step(int count, double *restrict right, double *restrict left,
                         double *restrict highest, double *restrict lowest)
{
    for (int i = 0; i < count; i++) {
        double there = right[i];
        double back = left[i];
        double head = there + back;
        double difference = there - back;
        double loss = resistance * difference * fabs(difference);
        highest[i] = head > highest[i] ? head : highest[i];
        lowest[i] = head < lowest[i] ? head : lowest[i];
        right[i] = there - loss;
        left[i] = back + loss;
    }
}

static void step_plain(const struct bare_nodes *nodes)
{
    characteristic_step(nodes->count, nodes->right, nodes->left);
}

static void step_portable(const struct bare_nodes *nodes)
{
    portable_step(nodes->count, nodes->right, nodes->left);
}

static void step_keeping(const struct bare_nodes *nodes)
{
    keeping_step(nodes->count, nodes->right, nodes->left, nodes->highest, nodes->lowest);
}

/* Waves in one pipe; extremes where they are kept. */
struct waves {
    struct arena *arena;
    int nodes;
    int room; /* steps until they have to be moved back */
    double *right;
    double *left;
    double *highest;
    double *lowest;
};

/* `count` nodes from `first` on after `shift` steps. */
static struct bare_nodes part(const struct waves *waves, const void *law, int first, int count,
                              int shift)
{
    return (struct bare_nodes){.count = count,
                               .right = waves->right + waves->room - shift + first,
                               .left = waves->left + shift + first,
                               .highest = waves->highest + first,
                               .lowest = waves->lowest + first,
                               .law = law};
}

/* Puts all values where they are before the first step, as the kernel does when its room is used
 * up; what enters later is like what is at the ends. */
static void begin(const struct waves *waves, const struct bare_start *start)
{
    for (int i = 0; start != NULL && i < waves->nodes + waves->room; i++) {
        int at = i - waves->room;
        waves->right[i] = start->right[at > 0 ? at : 0];
        waves->left[i] = start->left[i < waves->nodes ? i : waves->nodes - 1];
    }
}

static bool take_waves(struct waves *waves, int nodes, int room, const struct bare_start *start)
{
    struct arena *arena = arena_new();
    *waves = (struct waves){arena,
                            nodes,
                            room,
                            take(nodes + room, arena),
                            take(nodes + room, arena),
                            take(nodes, arena),
                            take(nodes, arena)};
    bool is_taken = waves->right != NULL && waves->left != NULL && waves->highest != NULL &&
                    waves->lowest != NULL;
    if (is_taken) {
        begin(waves, start);
    }
    return is_taken;
}

static void free_waves(const struct waves *waves)
{
    arena_free(waves->arena);
}

/* Values leave at one end and enter at the other through the room kept free before and behind. */
double bare_in_place(int nodes, int rounds, bare_step *step, const struct bare_start *start)
{
    enum { ROOM = 1024 };
    struct waves waves;
    double best = 0.0;
    const void *law = start != NULL ? start->law : NULL;
    bool is_taken = take_waves(&waves, nodes, ROOM, start);
    for (int trial = 0; is_taken && trial < TRIALS; trial++) {
        double from = bare_now();
        for (int round = 0; round < rounds; round++) {
            if (round % ROOM == 0) {
                begin(&waves, start);
            }
            struct bare_nodes all = part(&waves, law, 0, nodes, round % ROOM);
            step(&all);
        }
        best = fmax(best, (double)nodes * rounds / (bare_now() - from));
    }
    free_waves(&waves);
    return best;
}

double bare_characteristic(int nodes, int rounds)
{
    return bare_in_place(nodes, rounds, step_plain, NULL);
}

double bare_portable(int nodes, int rounds)
{
    return bare_in_place(nodes, rounds, step_portable, NULL);
}

double bare_keeping(int nodes, int rounds)
{
    return bare_in_place(nodes, rounds, step_keeping, NULL);
}

/* `depth` steps on stretches that lean left by one node a step, so that a stretch needs nothing of
 * the next one. */
static void tile(const struct waves *waves, const void *law, int depth, int width, bare_step *step)
{
    for (int at = 0; at < waves->nodes + depth; at += width) {
        for (int k = 0; k < depth; k++) {
            int first = at - k > 0 ? at - k : 0;
            int last = at - k + width < waves->nodes ? at - k + width : waves->nodes;
            if (last > first) {
                struct bare_nodes here = part(waves, law, first, last - first, k);
                step(&here);
            }
        }
    }
}

double bare_in_tiles(int nodes, int rounds, int depth, int width, bare_step *step,
                     const struct bare_start *start)
{
    struct waves waves;
    double best = 0.0;
    const void *law = start != NULL ? start->law : NULL;
    bool is_taken = take_waves(&waves, nodes, depth, start);
    for (int trial = 0; is_taken && trial < TRIALS; trial++) {
        double from = bare_now();
        for (int round = 0; round < rounds; round += depth) {
            tile(&waves, law, depth, width, step);
        }
        int made = (rounds + depth - 1) / depth * depth;
        best = fmax(best, (double)nodes * made / (bare_now() - from));
    }
    free_waves(&waves);
    return best;
}

double bare_tiled(int nodes, int rounds, int depth, int width)
{
    return bare_in_tiles(nodes, rounds, depth, width, step_plain, NULL);
}

double bare_keeping_tiled(int nodes, int rounds, int depth, int width)
{
    return bare_in_tiles(nodes, rounds, depth, width, step_keeping, NULL);
}

double bare_triad(int nodes, int rounds)
{
    struct arena *arena = arena_new();
    double *restrict a = take(nodes, arena);
    double *restrict b = take(nodes, arena);
    double *restrict c = take(nodes, arena);
    double best = 0.0;
    if (a == NULL || b == NULL || c == NULL) {
        arena_free(arena);
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
    arena_free(arena);
    return best;
}
