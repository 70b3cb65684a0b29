#include "models/tee.h"

#include "models/fitting.h"
#include "models/velocity_head.h"

#include <math.h>
#include <stddef.h>

/* a Q1^2 + b Q2^2 + c Q3^2 + d Q1 Q2 + e Q1 Q3 + f Q2 Q3 */
struct form {
    double a;
    double b;
    double c;
    double d;
    double e;
    double f;
};

/* H1 - H2 and H1 - H3 in velocity heads of the run, at the flows' velocities. */
struct pair {
    struct form to_run;
    struct form to_branch;
};

static struct form less(struct form x, struct form y)
{
    return (struct form){.a = x.a - y.a,
                         .b = x.b - y.b,
                         .c = x.c - y.c,
                         .d = x.d - y.d,
                         .e = x.e - y.e,
                         .f = x.f - y.f};
}

static double form_at(struct form x, const double q[TEE_LEGS])
{
    return x.a * q[0] * q[0] + x.b * q[1] * q[1] + x.c * q[2] * q[2] + x.d * q[0] * q[1] +
           x.e * q[0] * q[2] + x.f * q[1] * q[2];
}

static void form_slope(struct form x, const double q[TEE_LEGS], double slope[TEE_LEGS])
{
    slope[0] = 2.0 * x.a * q[0] + x.d * q[1] + x.e * q[2];
    slope[1] = 2.0 * x.b * q[1] + x.d * q[0] + x.f * q[2];
    slope[2] = 2.0 * x.c * q[2] + x.e * q[0] + x.f * q[1];
}

/* Out of the run into the branch. `turn` is cos(3/4 of the angle the stream turns by). */
static double turning_loss(double ratio, double turn)
{
    return 1.0 + ratio * ratio - 2.0 * ratio * turn;
}

/* Branch takes water out: from leg 1, from leg 2 or from both. */
static struct pair branch_out(double ratio, double angle, const double q[TEE_LEGS])
{
    static const double straight = 0.5; /* the dividing law of the run when all goes sideways */
    const double turn_1 = cos(0.75 * angle);
    const double turn_2 = cos(0.75 * (circle_pi - angle));
    struct pair pair;
    if (q[TEE_RUN_1] > 0.0 && q[TEE_RUN_2] > 0.0) {
        pair.to_run = (struct form){.e = -straight, .f = straight};
        pair.to_branch = (struct form){.e = -turning_loss(ratio, turn_1),
                                       .f = straight - turning_loss(ratio, turn_2)};
        return pair;
    }
    if (q[TEE_RUN_1] > 0.0) {
        pair.to_run = (struct form){.a = straight, .b = 1.0, .d = 1.5};
        pair.to_branch = (struct form){.a = 1.0, .c = ratio * ratio, .e = 2.0 * ratio * turn_1};
        return pair;
    }
    const struct form back = {.a = -1.0, .b = -straight, .d = -1.5};
    const struct form from_2 = {.b = -1.0, .c = -ratio * ratio, .f = -2.0 * ratio * turn_2};
    pair.to_run = back;
    pair.to_branch = less(back, from_2);
    return pair;
}

/* Branch brings water: joining one end of the run, or dividing into both. */
static struct pair branch_in(double ratio, double angle, const double q[TEE_LEGS])
{
    const double push = 2.0 * ratio * cos(angle); /* against the direction 1 to 2 */
    const double square = ratio * ratio;
    struct pair pair = {.to_run = {.a = -1.0, .b = 1.0, .c = push}};
    if (q[TEE_RUN_1] > 0.0) {
        pair.to_branch = (struct form){.a = 1.0, .c = -square};
    } else if (q[TEE_RUN_2] > 0.0) {
        const struct form from_2 = {.b = -1.0, .c = square};
        pair.to_branch = less(pair.to_run, from_2);
    } else {
        const struct form into_2 = {.b = 1.0, .c = square, .d = -2.0, .f = -push};
        pair.to_branch = less(pair.to_run, into_2);
    }
    return pair;
}

void tee_heads(const struct tee *tee, const struct water *water, const double flow[TEE_LEGS],
               double head[TEE_LEGS], double by_flow[TEE_LEGS][TEE_LEGS])
{
    const double scale = 1.0 / (2.0 * water->gravity * tee->run_area * tee->run_area);
    const double ratio = tee->run_area / tee->branch_area;
    const double excess = (flow[0] + flow[1] + flow[2]) / TEE_LEGS;
    const double q[TEE_LEGS] = {flow[0] - excess, flow[1] - excess, flow[2] - excess};
    const struct pair pair =
        q[TEE_BRANCH] > 0.0 ? branch_in(ratio, tee->angle, q) : branch_out(ratio, tee->angle, q);
    const double run = scale * form_at(pair.to_run, q);
    head[TEE_RUN_1] = 0.5 * run;
    head[TEE_RUN_2] = -0.5 * run;
    head[TEE_BRANCH] = 0.5 * run - scale * form_at(pair.to_branch, q);
    double run_slope[TEE_LEGS];
    double branch_slope[TEE_LEGS];
    form_slope(pair.to_run, q, run_slope);
    form_slope(pair.to_branch, q, branch_slope);
    const double run_mean = (run_slope[0] + run_slope[1] + run_slope[2]) / TEE_LEGS;
    const double branch_mean = (branch_slope[0] + branch_slope[1] + branch_slope[2]) / TEE_LEGS;
    for (int i = 0; i < TEE_LEGS; i++) {
        const double half = 0.5 * scale * (run_slope[i] - run_mean);
        by_flow[TEE_RUN_1][i] = half;
        by_flow[TEE_RUN_2][i] = -half;
        by_flow[TEE_BRANCH][i] = half - scale * (branch_slope[i] - branch_mean);
    }
}

/* --- as links --- */

static double leg_area(const struct tee_leg *leg)
{
    return leg->leg == TEE_BRANCH ? leg->tee->branch_area : leg->tee->run_area;
}

static struct drop drop(const void *data, const struct water *water, double flow)
{
    const struct tee_leg *leg = data;
    return velocity_head_drop(leg->tee->fixed_loss[leg->leg], 0.0, leg_area(leg), water, flow);
}

static struct span span(const void *data, const struct water *water)
{
    (void)data;
    (void)water;
    return (struct span){.lower = -HUGE_VAL, .upper = HUGE_VAL};
}

static int partner_leg(const struct tee_leg *leg, int partner)
{
    return (leg->leg + 1 + partner) % TEE_LEGS;
}

static void partners(const void *data, int links[])
{
    const struct tee_leg *leg = data;
    for (int i = 0; i < TEE_LEGS - 1; i++) {
        links[i] = leg->tee->link[partner_leg(leg, i)];
    }
}

static double inward(const struct tee *tee, int leg)
{
    return tee->is_outward[leg] ? -1.0 : 1.0;
}

static struct coupled_law law(const void *data, const struct water *water,
                              const struct coupled_at *at)
{
    const struct tee_leg *leg = data;
    const struct tee *tee = leg->tee;
    const double sign = inward(tee, leg->leg);
    double flow[TEE_LEGS];
    double head[TEE_LEGS];
    double by_flow[TEE_LEGS][TEE_LEGS];
    flow[leg->leg] = sign * at->flow;
    for (int i = 0; i < TEE_LEGS - 1; i++) {
        const int other = partner_leg(leg, i);
        flow[other] = inward(tee, other) * at->partner_flow[i];
    }
    tee_heads(tee, water, flow, head, by_flow);
    struct coupled_law law = {.value = at->head_from - at->head_to - sign * head[leg->leg],
                              .by_flow = -by_flow[leg->leg][leg->leg],
                              .by_head_from = 1.0,
                              .by_head_to = -1.0};
    for (int i = 0; i < TEE_LEGS - 1; i++) {
        const int other = partner_leg(leg, i);
        law.by_partner[i] = -sign * inward(tee, other) * by_flow[leg->leg][other];
    }
    return law;
}

static const struct coupling coupling = {
    .partner_count = TEE_LEGS - 1, .partners = partners, .law = law};

const struct element tee_element = {.kind = "tee",
                                    .drop = drop,
                                    .span = span,
                                    .opening = NULL,
                                    .pipe = NULL,
                                    .motion = NULL,
                                    .coupling = &coupling};

bool tee_init(struct tee *tee, struct place place, struct failure *failure)
{
    const double degree = circle_pi / 180.0;
    const double run = tee->run_area;
    const double branch = tee->branch_area;
    if (!(run > 0.0 && isfinite(run) && branch > 0.0 && branch <= run * (1.0 + 1e-9))) {
        return fail(failure, FAILURE_INPUT, place,
                    "tee: its branch must not be wider than its run; areas %g m2 and %g m2", branch,
                    run);
    }
    if (!(tee->angle >= 29.99 * degree && tee->angle <= 150.01 * degree)) {
        return fail(failure, FAILURE_INPUT, place,
                    "tee: the angle of its branch must be 30 to 150 deg; it is %g deg",
                    tee->angle / degree);
    }
    const double bore = sqrt(4.0 * run / circle_pi);
    const double narrow = sqrt(4.0 * branch / circle_pi);
    const struct fitting_kind *through = fitting_catalogue_find("tee through", NULL);
    const struct fitting_kind *sideways = fitting_catalogue_find("tee branch", NULL);
    const double half_run = 0.5 * fitting_kind_loss(through, bore);
    tee->fixed_loss[TEE_RUN_1] = half_run;
    tee->fixed_loss[TEE_RUN_2] = half_run;
    tee->fixed_loss[TEE_BRANCH] =
        fitting_kind_loss(sideways, narrow) - 0.5 * fitting_kind_loss(through, narrow);
    return true;
}
