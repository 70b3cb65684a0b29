/* Many pipes at once against the equations themselves, and against the law of one pipe, which
 * test_friction.c holds against a table. */
#include "models/circle.h"
#include "models/friction_many.h"

#include <criterion/criterion.h>
#include <math.h>

enum { COUNT = 1000 };

static const double viscosity = 1.3e-6;
static const double gravity = 9.80665;

static struct friction pipe_at(int i)
{
    static const double roughness[] = {0, 1e-8, 1e-6, 1e-5, 1e-4, 1e-3, 2e-2};
    return (struct friction){
        .length = 1.0 + i, .bore = 0.01 + 0.001 * (i % 400), .roughness = roughness[i % 7]};
}

/* Flows that give Reynolds numbers from 1e-3 to 1e11, both signs. */
static double flow_at(int i, const struct friction *pipe)
{
    const double reynolds = pow(10.0, -3.0 + 14.0 * i / COUNT);
    const double flow = reynolds * viscosity / pipe->bore * circle_area(pipe->bore);
    return i % 2 ? -flow : flow;
}

static void find_all(double flow[], double head[], double slope[])
{
    static struct friction_digest digest[COUNT];
    for (int i = 0; i < COUNT; i++) {
        const struct friction pipe = pipe_at(i);
        cr_assert(friction_digest_make(&pipe, viscosity, gravity, &digest[i]));
        flow[i] = flow_at(i, &pipe);
    }
    friction_many_drops(COUNT, digest, flow, head, slope);
}

/* What Colebrook & White 1939 leave in long double, relative, at the factor that the head stands
 * for by Darcy-Weisbach. */
static long double residual_of(const struct friction *pipe, long double reynolds, double flow,
                               double head)
{
    const long double speed = (long double)flow / (long double)circle_area(pipe->bore);
    const long double factor = 2.0L * (long double)gravity * (long double)pipe->bore *
                               (long double)head /
                               ((long double)pipe->length * speed * fabsl(speed));
    const long double x = 1.0L / sqrtl(factor);
    const double relative = fmin(pipe->roughness / pipe->bore, 0.1);
    const long double u = (long double)relative / 3.7L + 2.51L * x / reynolds;
    return fabsl((x + 2.0L * log10l(u)) / x);
}

Test(friction_many, turbulent_heads_solve_colebrook_white_to_round_off)
{
    static double flow[COUNT];
    static double head[COUNT];
    static double slope[COUNT];
    find_all(flow, head, slope);
    int checked = 0;
    long double worst = 0.0L;
    for (int i = 0; i < COUNT; i++) {
        const struct friction pipe = pipe_at(i);
        const long double reynolds = fabsl((long double)flow[i]) * (long double)pipe.bore /
                                     (long double)(viscosity * circle_area(pipe.bore));
        if (reynolds > 4000.5L) {
            worst = fmaxl(worst, residual_of(&pipe, reynolds, flow[i], head[i]));
            checked++;
        }
    }
    cr_assert_gt(checked, COUNT / 3);
    cr_assert_lt((double)worst, 3e-15, "%Lg", worst);
}

Test(friction_many, agrees_with_the_law_of_one_pipe)
{
    static double flow[COUNT];
    static double head[COUNT];
    static double slope[COUNT];
    find_all(flow, head, slope);
    for (int i = 0; i < COUNT; i++) {
        const struct friction pipe = pipe_at(i);
        const struct drop one = friction_drop(&pipe, viscosity, gravity, flow[i]);
        cr_assert_float_eq(head[i] / one.head, 1.0, 4e-15, "pipe %d", i);
        cr_assert_float_eq(slope[i] / one.slope, 1.0, 2e-14, "pipe %d", i);
    }
}

/* Smooth pipes just above the turbulent start are where the search has furthest to go: each
 * Reynolds number up to twice that. */
Test(friction_many, agrees_with_the_law_of_one_pipe_where_the_search_is_longest)
{
    static struct friction_digest digest[COUNT];
    static double flow[COUNT];
    static double head[COUNT];
    static double slope[COUNT];
    const struct friction pipe = {.length = 100.0, .bore = 0.1};
    const double per_reynolds = viscosity / pipe.bore * circle_area(pipe.bore);
    for (int i = 0; i < COUNT; i++) {
        cr_assert(friction_digest_make(&pipe, viscosity, gravity, &digest[i]));
        flow[i] = (4001.0 + 4.0 * i) * per_reynolds;
    }
    friction_many_drops(COUNT, digest, flow, head, slope);
    for (int i = 0; i < COUNT; i++) {
        const struct drop one = friction_drop(&pipe, viscosity, gravity, flow[i]);
        cr_assert_float_eq(head[i] / one.head, 1.0, 4e-15, "%d: %g", i, head[i] / one.head - 1.0);
    }
}

Test(friction_many, no_flow_loses_nothing_but_has_a_slope)
{
    const struct friction pipe = pipe_at(5);
    struct friction_digest digest;
    const double flow = 0.0;
    double head = 1.0;
    double slope = 0.0;
    cr_assert(friction_digest_make(&pipe, viscosity, gravity, &digest));
    friction_many_drops(1, &digest, &flow, &head, &slope);
    cr_assert_float_eq(head, 0.0, 0.0);
    cr_assert_float_eq(slope / friction_drop(&pipe, viscosity, gravity, 0.0).slope, 1.0, 4e-15);
}

/* The greatest flow for which friction.h promises a number. */
Test(friction_many, stays_finite_far_outside)
{
    const struct friction pipe = pipe_at(0);
    struct friction_digest digest;
    const double flow = -1e100;
    double head = 0.0;
    double slope = 0.0;
    cr_assert(friction_digest_make(&pipe, viscosity, gravity, &digest));
    friction_many_drops(1, &digest, &flow, &head, &slope);
    cr_assert(isfinite(head) && head < 0.0);
    cr_assert(isfinite(slope) && slope > 0.0);
}

/* Pipes of another law, however small its number, stand for none: no head, no slope. */
Test(friction_many, other_laws_are_refused)
{
    const struct friction fixed = {.length = 1, .bore = 0.1, .factor = 1e-3};
    const struct friction power = {.length = 1, .bore = 0.1, .hazen_williams = 1e-3};
    struct friction_digest digest[2];
    cr_assert_not(friction_digest_make(&fixed, viscosity, gravity, &digest[0]));
    cr_assert_not(friction_digest_make(&power, viscosity, gravity, &digest[1]));
    for (double flow = -1.0; flow < 1.1; flow += 0.25) {
        const double flows[] = {flow, flow * 1e-6};
        double head[] = {1.0, 1.0};
        double slope[] = {1.0, 1.0};
        friction_many_drops(2, digest, flows, head, slope);
        cr_assert(head[0] == 0.0 && head[1] == 0.0 && slope[0] == 0.0 && slope[1] == 0.0);
    }
}

/* Roughness below 0 or above a tenth of the bore counts as that (friction.h). */
Test(friction_many, roughness_beyond_its_range_counts_as_its_end)
{
    static const double roughness[] = {-0.02, 0.0, 0.01, 0.02};
    static const double flow[] = {0.01, 0.01, 0.01, 0.01};
    struct friction_digest digest[4];
    double head[4];
    double slope[4];
    for (int i = 0; i < 4; i++) {
        const struct friction pipe = {.length = 1, .bore = 0.1, .roughness = roughness[i]};
        cr_assert(friction_digest_make(&pipe, viscosity, gravity, &digest[i]));
    }
    friction_many_drops(4, digest, flow, head, slope);
    cr_assert(head[0] == head[1] && head[1] < head[2]);
    cr_assert_float_eq(head[2] / head[3], 1.0, 4e-15);
}
