/* What one step of the steady solver is put together from: the laws in the order of its state, and
 * the correction with old factors, beside the same written plainly. */
#include "solver/steady/content.h"
#include "solver/steady/correction.h"
#include "solver/steady/inner.h"
#include "solver/steady/laws.h"
#include "solver/steady/linearise.h"
#include "tests/solver/kit.h"
#include "tests/solver/random_numbers.h"

#include <math.h>

enum { FREE = 9, LINKS = 24 };

static struct kit kit;
static struct random chance;

static struct state *state_of(const struct kit *of)
{
    struct failure failure = {0};
    struct state *state = state_new(&of->network, NULL, NULL, &failure);
    cr_assert(state, "%s", failure.message);
    cr_assert(laws_read(state, &of->network, &of->water));
    return state;
}

/* Friction that lets water through one way only: no law of friction alone. */
static struct span one_way(const void *data, const struct water *water)
{
    (void)data;
    (void)water;
    return (struct span){-1e-3, (double)INFINITY};
}

/* Links with an end to their span are `limited`, those whose law is not friction by a roughness
 * alone are `other`; their digests stand for a pipe that loses nothing (state.h). */
Test(steady_step, laws_are_told_apart)
{
    static struct element limited_pipe;
    enum { COUNT = 6 };
    static const bool is_limited[COUNT] = {false, false, true, true, true, true};
    static const bool is_other[COUNT] = {false, true, true, true, true, true};
    kit_init(&kit);
    const int from = kit_held(&kit, 10.0);
    const int to = kit_free(&kit, 1e-3);
    const struct friction rough = {.length = 50.0, .bore = 0.05, .roughness = 1e-4};
    const struct friction factor = {.length = 50.0, .bore = 0.05, .factor = 0.02};
    kit_pipe(&kit, from, to, rough);
    kit_pipe(&kit, from, to, factor);
    kit_link(&kit, from, to, (struct kit_law){.linear = 1.0, .upper = (double)INFINITY});
    kit_link(&kit, from, to, (struct kit_law){.linear = 1.0, .lower = -(double)INFINITY});
    kit_link(&kit, from, to, (struct kit_law){.linear = 1.0, .lower = -1.0, .upper = 1.0});
    const int last = kit_pipe(&kit, from, to, rough);
    limited_pipe = pipe_element;
    limited_pipe.span = one_way;
    kit.links[last].element = &limited_pipe;
    struct state *state = state_of(&kit);
    int others = 0;
    int limited = 0;
    for (int e = 0; e < COUNT; e++) {
        const int i = state->link[e];
        const struct span span = kit.links[i].element->span(kit.links[i].data, &kit.water);
        cr_expect_eq(is_limited[i], isfinite(span.lower) || isfinite(span.upper));
        cr_expect_eq(state->digest[e].scale > 0.0, !is_other[i], "%d", i);
        if (is_other[i]) {
            cr_expect_eq(state->law[others].data, kit.links[i].data);
            cr_expect_eq(state->other[others++], e);
        }
        if (is_limited[i]) {
            cr_expect_eq(state->span[limited].lower, span.lower);
            cr_expect_eq(state->span[limited].upper, span.upper);
            cr_expect_eq(state->limited[limited++], e);
        }
    }
    cr_expect_eq(state->other_count, others);
    cr_expect_eq(state->limited_count, limited);
    state_free(state);
}

/* A held point and FREE others, joined twice over by laws of all kinds. */
static void make_network(void)
{
    kit_init(&kit);
    (void)kit_held(&kit, 20.0);
    for (int i = 0; i < FREE; i++) {
        (void)kit_free(&kit, random_even(&chance, -1e-3, 3e-3));
    }
    for (int e = 0; e < LINKS; e++) {
        const int to = e < FREE ? e + 1 : 1 + random_pick(&chance, FREE);
        const int from = e < FREE ? random_pick(&chance, to) : (to + 3) % (FREE + 1);
        struct kit_law law = kit_resistance(random_spread(&chance, 1e4, 1e6));
        law.linear = random_spread(&chance, 10.0, 1e3);
        if (e >= FREE && e % 2) {
            law.lower = -random_even(&chance, 0.0, 1e-3);
            law.upper = random_even(&chance, 0.0, 1e-3);
        }
        (void)kit_link(&kit, from, to, law);
    }
}

/* One step of Newton's method, whole: flows meet the draws, and laws and excesses are those of
 * the new flows, the conductances those of the old. */
static void go_one_step(struct state *state)
{
    struct failure failure = {0};
    struct gap gap;
    bool is_balanced;
    for (int i = 0; i < kit.network.point_count; i++) {
        const int row = state->row[i];
        state->head[row] = kit.points[i].is_held ? 20.0 : random_even(&chance, 10.0, 20.0);
        state->draw[row] = kit.points[i].is_held ? 0.0 : kit.points[i].draw;
    }
    int next = 0;
    for (int e = 0; e < state->link_count; e++) {
        const struct span span = state_span(state, e, &next);
        state->flow[e] = fmin(fmax(random_even(&chance, -2e-3, 2e-3), span.lower), span.upper);
        state->last_flow[e] = state->flow[e];
    }
    state->gap_head = 1.0;
    state->floor_raise = 1.0;
    content_evaluate(state, &kit.water);
    linearise(state, &kit.water);
    cr_assert(inner_solve(state, 100, false, &is_balanced, &failure), "%s", failure.message);
    for (int row = 0; row < state->row_count; row++) {
        state->head[row] += state->shift[row];
    }
    content_step(state, &kit.water, false, &gap);
}

/* x of a x = b by elimination with the largest of each column. */
static void eliminate(double a[FREE][FREE], double b[FREE])
{
    for (int k = 0; k < FREE; k++) {
        for (int i = 0; i < FREE; i++) { /* Jordan: above the diagonal too */
            const double share = i == k ? 0.0 : a[i][k] / a[k][k]; /* sums on the diagonal */
            for (int j = k; j < FREE; j++) {
                a[i][j] -= share * a[k][j];
            }
            b[i] -= share * b[k];
        }
    }
    for (int k = 0; k < FREE; k++) {
        b[k] /= a[k][k];
    }
}

static double conductance_of(const struct state *state, int e)
{
    for (int i = 0; i < state->limited_count; i++) {
        if (state->limited[i] == e && !state->is_open[i]) {
            return 0.0;
        }
    }
    return state->conductance[e];
}

/* Changes of head with which flow + conductance (excess + change) meet the draws. */
static void plain_shifts(const struct state *state, double shift[FREE + 1])
{
    static double a[FREE][FREE];
    memset(a, 0, sizeof a);
    for (int row = 0; row < FREE; row++) {
        shift[row] = -state->draw[row];
    }
    shift[FREE] = 0.0;
    for (int e = 0; e < state->link_count; e++) {
        const double g = conductance_of(state, e);
        const double flow = state->flow[e] + g * state->excess[e];
        const int end[2] = {state->from[e], state->to[e]};
        for (int side = 0; side < 2; side++) {
            if (end[side] < FREE) {
                shift[end[side]] -= side == 0 ? flow : -flow;
                a[end[side]][end[side]] += g;
                if (end[1 - side] < FREE) {
                    a[end[side]][end[1 - side]] -= g;
                }
            }
        }
    }
    eliminate(a, shift);
}

/* How far beyond its span the linearised flow of some link would be at most. */
static double farthest_out(const struct state *state, const double shift[], double flow[])
{
    double most = 0.0;
    int next = 0;
    for (int e = 0; e < state->link_count; e++) {
        const struct span span = state_span(state, e, &next);
        const double change = shift[state->from[e]] - shift[state->to[e]];
        flow[e] = state->flow[e] + conductance_of(state, e) * (state->excess[e] + change);
        most = fmax(most, fmax(span.lower - flow[e], flow[e] - span.upper));
    }
    return most;
}

/* The flows that one more solution with the same conductances gives, unless one of them would leave
 * its span by more than what counts as its end. */
Test(steady_step, correction_is_one_more_solution_unless_a_span_is_left)
{
    int moved = 0;
    int stayed = 0;
    random_seed(&chance, 1);
    for (int i = 0; i < 200; i++) {
        double shift[FREE + 1], head[FREE], wanted[LINKS], before[LINKS];
        struct failure failure = {0};
        struct gap gap;
        bool has_moved;
        make_network();
        struct state *state = state_of(&kit);
        go_one_step(state);
        state->tie_flow = random_pick(&chance, 2) ? 5e-5 : 1e-12;
        memcpy(head, state->head, sizeof head);
        memcpy(before, state->flow, sizeof before);
        plain_shifts(state, shift);
        const bool leaves = farthest_out(state, shift, wanted) > state->tie_flow;
        cr_assert(correction_make(state, &kit.water, &has_moved, &gap, &failure));
        cr_assert_eq(has_moved, !leaves);
        for (int row = 0; row < FREE; row++) {
            cr_assert_float_eq(state->head[row], head[row] + (has_moved ? shift[row] : 0.0), 1e-8);
        }
        for (int e = 0; e < LINKS; e++) { /* some share of the way, if the content rises before */
            const double way = state->flow[e] - before[e];
            cr_assert(has_moved ? way * (wanted[e] - before[e]) >= -1e-15 : !(fabs(way) > 0.0));
        }
        moved += has_moved;
        stayed += !has_moved;
        state_free(state);
    }
    cr_expect(moved > 20 && stayed > 20, "%d and %d", moved, stayed);
}
