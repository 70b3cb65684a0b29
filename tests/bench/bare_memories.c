#include "tests/bench/bare_memories.h"

#include "models/arena.h"
#include "models/each_width.h"
#include "tests/bench/bare_waves.h"

#include <math.h>
#include <stdbool.h>
#include <stddef.h>

/* What all nodes remember, [nodes] each. */
struct remembered {
    double *flow;
    double *lagging;
    double *term[BARE_TERMS];
};

/* Numbers of a copper pipe's order: impedance and friction as in bare_waves.c, exponentials from
 * those that last some steps to those that last thousands. */
static const double per_flow = 1e-4;    /* 1/(2 B') */
static const double resistance = 1e-9;  /* of a reach, by (2 B Q)^2 */
static const double twice_bare = 9.8e3; /* 2 B */
static const double lag = 200.0;        /* sum of the gains */
static const double fade[BARE_TERMS] = {0.6, 0.85, 0.96, 0.99, 0.9995};
static const double trace[BARE_TERMS] = {60.0, 50.0, 40.0, 30.0, 20.0};

EACH_WIDTH
static void remember(int count, double *restrict right, double *restrict left,
                     double *restrict flow, double *restrict lagging, double *restrict first,
                     double *restrict second, double *restrict third, double *restrict fourth,
                     double *restrict fifth)
{
    for (int i = 0; i < count; i++) {
        const double rest = right[i] - left[i] - lagging[i];
        const double now = (rest - resistance * rest * fabs(rest)) * per_flow;
        const double change = now - flow[i];
        const double lost = right[i] - left[i] - twice_bare * now;
        right[i] -= lost;
        left[i] += lost;
        flow[i] = now;
        first[i] = fade[0] * first[i] + trace[0] * change;
        second[i] = fade[1] * second[i] + trace[1] * change;
        third[i] = fade[2] * third[i] + trace[2] * change;
        fourth[i] = fade[3] * fourth[i] + trace[3] * change;
        fifth[i] = fade[4] * fifth[i] + trace[4] * change;
        lagging[i] = first[i] + second[i] + third[i] + fourth[i] + fifth[i] - lag * now;
    }
}

static void step(const struct bare_nodes *nodes)
{
    const struct remembered *here = nodes->law;
    remember(nodes->count, nodes->right, nodes->left, here->flow, here->lagging, here->term[0],
             here->term[1], here->term[2], here->term[3], here->term[4]);
}

double bare_remembering(int nodes, int rounds)
{
    struct arena *arena = arena_new();
    struct remembered here = {0};
    enum { ARRAYS = BARE_TERMS + 4 };
    double *array[ARRAYS] = {NULL};
    double reached = 0.0;
    bool is_taken = arena != NULL;
    for (int i = 0; i < ARRAYS && is_taken; i++) {
        array[i] = arena_take(arena, (size_t)nodes, sizeof(double));
        is_taken = array[i] != NULL;
    }
    if (is_taken) {
        double *right = array[0];
        double *left = array[1];
        here.flow = array[2];
        here.lagging = array[3];
        for (int k = 0; k < BARE_TERMS; k++) {
            here.term[k] = array[4 + k];
        }
        for (int i = 0; i < nodes; i++) {
            right[i] = 100.0 + 1e-3 * (i % 64);
            left[i] = 60.0;
            here.lagging[i] = -lag * here.flow[i];
        }
        const struct bare_start start = {right, left, &here};
        reached = bare_in_place(nodes, rounds, step, &start);
        reached = isfinite(here.flow[nodes / 2]) ? reached : 0.0; /* waves that did not blow up */
    }
    arena_free(arena);
    return reached;
}
