/* Each law as a straight line, beside the same written plainly from what linearise.h states. An
 * answer stands by its residuals alone and does not know of these lines: a wrong one only makes it
 * come late, or not at all. */
#include "solver/steady/linearise.h"
#include "tests/solver/kit_law.h"
#include "tests/solver/random_numbers.h"

#include <criterion/criterion.h>
#include <math.h>
#include <string.h>

enum { LINKS = 400 };

static const struct water water = {.gravity = 9.81, .viscosity = 1e-6, .density = 1000.0};

struct bench {
    struct state state;
    struct friction pipe[LINKS];
    struct kit_law kit[LINKS];
    struct friction_digest digest[LINKS];
    struct law law[LINKS];
    struct span span[LINKS];
    struct span limits[LINKS]; /* by limited index */
    int other[LINKS], limited[LINKS];
    double usual_flow[LINKS], flow[LINKS], last_flow[LINKS], drop[LINKS], slope[LINKS];
    double conductance[LINKS], trial[LINKS], target[LINKS];
};

static bool is_pipe(int e)
{
    return e % 4 == 0;
}

static struct drop law_at(const struct bench *bench, int e, double flow)
{
    return is_pipe(e) ? friction_drop(&bench->pipe[e], 1e-6, 9.81, flow)
                      : kit_drop(&bench->kit[e], &water, flow);
}

static double within(struct span span, double flow)
{
    return fmin(fmax(flow, span.lower), span.upper);
}

/* A flow beside the last one: as it was, turned, at rest; halving as a law of the powers 2 and
 * 1.852 makes it, or nearly so. */
static double next_flow(struct random *random, double rest, double last)
{
    static const double share[] = {0.0,  1.0,  -0.5, 1.5,  0.29, 0.61, 2.0,
                                   0.31, 0.46, 0.5,  0.59, 0.46, 0.5};
    return rest + share[random_pick(random, sizeof share / sizeof *share)] * (last - rest);
}

static void add_law(struct bench *bench, struct random *random, int e)
{
    static const struct friction fixed = {.length = 1.0, .bore = 0.1, .factor = 0.02};
    const double usual = bench->usual_flow[e];
    struct kit_law *kit = &bench->kit[e];
    *kit = (struct kit_law){
        .start = random_even(random, -3, 3), .lower = -(double)INFINITY, .upper = (double)INFINITY};
    if (random_pick(random, 3) > 0) { /* the others lose the same at any flow */
        kit->linear = random_spread(random, 1e-9, 10);
        kit->quadratic = random_pick(random, 2) * random_spread(random, 1, 1e6);
    }
    if (random_pick(random, 2)) {
        kit->lower = usual * (double[]){0.0, -0.5, 0.3, -4.0}[random_pick(random, 4)];
        kit->upper =
            kit->lower + usual * (double[]){0.0, 0.4, 2.0, INFINITY}[random_pick(random, 4)];
    }
    (void)friction_digest_make(&fixed, 1e-6, 9.81, &bench->digest[e]);
    bench->span[e] = (struct span){kit->lower, kit->upper};
    if (isfinite(kit->lower) || isfinite(kit->upper)) {
        bench->limits[bench->state.limited_count] = bench->span[e];
        bench->limited[bench->state.limited_count++] = e;
    }
    bench->law[bench->state.other_count] = (struct law){&kit_element, kit};
    bench->other[bench->state.other_count++] = e;
}

static void open_bench(struct bench *bench, struct random *random)
{
    memset(bench, 0, sizeof *bench);
    bench->state = (struct state){.link_count = LINKS,
                                  .digest = bench->digest,
                                  .other = bench->other,
                                  .law = bench->law,
                                  .limited = bench->limited,
                                  .span = bench->limits,
                                  .usual_flow = bench->usual_flow,
                                  .flow = bench->flow,
                                  .last_flow = bench->last_flow,
                                  .drop = bench->drop,
                                  .slope = bench->slope,
                                  .conductance = bench->conductance,
                                  .trial = bench->trial,
                                  .target = bench->target};
    bench->state.gap_head = (double[]){INFINITY, 1e-3, 1e-7, 1e-10}[random_pick(random, 4)];
    bench->state.floor_raise = (double[]){1.0, 10.0, 1e3}[random_pick(random, 3)];
    for (int e = 0; e < LINKS; e++) {
        bench->usual_flow[e] = random_spread(random, 1e-7, 1e-2);
        bench->span[e] = (struct span){-(double)INFINITY, (double)INFINITY};
        if (is_pipe(e)) { /* some without any loss */
            const int length = random_pick(random, 3) * 20;
            bench->pipe[e] = (struct friction){
                .length = length, .bore = random_spread(random, 0.02, 0.5), .roughness = 1e-4};
            cr_assert(friction_digest_make(&bench->pipe[e], 1e-6, 9.81, &bench->digest[e]));
        } else {
            add_law(bench, random, e);
        }
        const double rest = within(bench->span[e], 0.0);
        const double last =
            bench->usual_flow[e] * random_even(random, -3, 3) * random_spread(random, 1e-3, 1);
        bench->last_flow[e] = within(bench->span[e], last);
        bench->flow[e] = within(bench->span[e], next_flow(random, rest, bench->last_flow[e]));
        if (random_pick(random, 4) == 0 && isfinite(bench->span[e].upper)) {
            bench->flow[e] = random_pick(random, 2) ? bench->span[e].upper : bench->span[e].lower;
        }
        const struct drop drop = law_at(bench, e, bench->flow[e]);
        bench->drop[e] = drop.head;
        bench->slope[e] = drop.slope;
    }
}

/* From the flow to the usual one beyond it, or to where the span ends before; back from its upper
 * end. A fixed flow has none. */
static double chord(const struct bench *bench, int e)
{
    const double flow = bench->flow[e];
    const double way = flow >= bench->span[e].upper ? -1.0 : 1.0;
    const double beyond = within(bench->span[e], flow + way * bench->usual_flow[e]);
    return (law_at(bench, e, beyond).head - bench->drop[e]) / (beyond - flow);
}

static void check(const struct bench *bench, int e, double wanted)
{
    const double slope = 1.0 / bench->conductance[e];
    if (bench->span[e].lower >= bench->span[e].upper) {
        cr_assert(slope > 0.1 && isfinite(slope), "of a fixed flow: %g", slope);
    } else {
        cr_assert_float_eq(slope / wanted, 1.0, 2e-9, "link %d: %.12g, not %.12g", e, slope,
                           wanted);
    }
}

Test(steady_linearise, chords_go_to_the_usual_flow_beyond)
{
    static struct bench bench;
    struct random random;
    random_seed(&random, 1);
    for (int i = 0; i < 20; i++) {
        open_bench(&bench, &random);
        linearise_chords(&bench.state, &water);
        for (int e = 0; e < LINKS; e++) {
            check(&bench, e, fmax(chord(&bench, e), 1e-6 / bench.usual_flow[e]));
        }
    }
}

/* The tangent; at an end of the span the chord, if steeper; and the chord to rest of a flow that
 * was last 1/0.6 to 1/0.3 times as far from it. Floors by linearise.h. */
static double tangent(const struct bench *bench, int e)
{
    const struct state *state = &bench->state;
    const double rest = within(bench->span[e], 0.0);
    const double flow = bench->flow[e];
    const double share = (flow - rest) / (bench->last_flow[e] - rest);
    double slope = bench->slope[e];
    if (flow <= bench->span[e].lower || flow >= bench->span[e].upper) {
        slope = fmax(slope, chord(bench, e));
    } else if (share > 0.3 && share < 0.6) {
        slope = (bench->drop[e] - law_at(bench, e, rest).head) / (flow - rest);
    }
    const double least = 1e-8 * state->floor_raise;
    const double floor = slope > 0.0 ? least : fmax(least, state->gap_head);
    return fmax(slope, fmin(floor, 1e-6) / bench->usual_flow[e]);
}

Test(steady_linearise, tangents_have_floors_and_halving_flows_chords_to_rest)
{
    static struct bench bench;
    struct random random;
    random_seed(&random, 2);
    for (int i = 0; i < 60; i++) {
        open_bench(&bench, &random);
        linearise(&bench.state, &water);
        for (int e = 0; e < LINKS; e++) {
            check(&bench, e, tangent(&bench, e));
        }
    }
}

/* Newton's step along such a chord, where the head is that of rest, ends beyond rest by a hair, so
 * that a valve at its very opening head ends shut; by less than what counts as balanced flow. */
Test(steady_linearise, chord_to_rest_goes_past_it_by_a_hair)
{
    static struct bench bench;
    struct random random;
    random_seed(&random, 3);
    open_bench(&bench, &random);
    bench.state.floor_raise = 1.0;
    bench.state.limited_count = 0;
    for (int e = 0; e < LINKS; e++) {
        bench.usual_flow[e] = 1e-3;
        bench.span[e] = (struct span){-(double)INFINITY, (double)INFINITY};
        bench.last_flow[e] = random_even(&random, -1e-3, 1e-3);
        bench.flow[e] = 0.5 * bench.last_flow[e];
        bench.kit[e].quadratic = 1e6;
        bench.pipe[e].length = 100.0;
        (void)(is_pipe(e) && friction_digest_make(&bench.pipe[e], 1e-6, 9.81, &bench.digest[e]));
        bench.drop[e] = law_at(&bench, e, bench.flow[e]).head;
    }
    linearise(&bench.state, &water);
    for (int e = 0; e < LINKS; e++) {
        const double lost = bench.drop[e] - law_at(&bench, e, 0.0).head;
        const double end = 1.0 - bench.conductance[e] * lost / bench.flow[e];
        cr_assert(end < 0.0 && end > -2e-9, "%g", end);
    }
}
