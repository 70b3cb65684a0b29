#include "models/circle.h"
#include "models/tee.h"
#include "tests/models/law_kit.h"

static struct tee make(double degrees, double ratio)
{
    struct tee tee = {.run_area = 1e-3,
                      .branch_area = 1e-3 / ratio,
                      .angle = degrees * circle_pi / 180,
                      .link = {7, 8, 9},
                      .is_outward = {false, true, true}};
    struct failure failure;
    cr_assert(tee_init(&tee, law_nowhere, &failure), "%s", failure.message);
    return tee;
}

/* Heads of legs 2 and 3 below leg 1, in velocity heads of 1 m/s in the run; flows as shares. */
static void losses(const struct tee *tee, double one, double two, double loss[2])
{
    const double flow[TEE_LEGS] = {one * 1e-3, two * 1e-3, -(one + two) * 1e-3};
    double head[TEE_LEGS];
    double by_flow[TEE_LEGS][TEE_LEGS];
    tee_heads(tee, &law_water, flow, head, by_flow);
    loss[0] = (head[TEE_RUN_1] - head[TEE_RUN_2]) * 19.62;
    loss[1] = (head[TEE_RUN_1] - head[TEE_BRANCH]) * 19.62;
}

/* Straight on with a still branch nothing is lost, and the branch has the run's pressure, one
 * velocity head under its total head (exact). */
Test(tee, still_branch_costs_nothing)
{
    const struct tee tee = make(90, 1);
    double loss[2];
    losses(&tee, 1, -1, loss);
    cr_assert_float_eq(loss[0], 0, 1e-12);
    cr_assert_float_eq(loss[1], 1, 1e-12);
}

/* All of it round the corner. Handbooks for a square tee, branch flow: Munson, Young & Okiishi,
 * Table 8.2 (from memory) 1.0 flanged to 2.0 threaded; Crane TP-410 60 f_T about 1.2 (from
 * memory). Formulas here (from memory): out 2 - 2 cos 67.5 deg, in 2. */
Test(tee, square_turn_is_within_the_handbooks)
{
    const struct tee tee = make(90, 1);
    double loss[2];
    losses(&tee, 1, 0, loss);
    cr_assert_float_eq(loss[1], 2 - 2 * cos(67.5 * circle_pi / 180), 1e-12);
    losses(&tee, 0, -1, loss);
    cr_assert_float_eq(loss[0] - loss[1], 2, 1e-12);
}

/* Joining, momentum along the run by hand: v1 = 0.6, v3 = 0.4 into v2 = 1, square, equal areas:
 * H1 - H2 = 1 - 0.36, H3 - H2 = 1 + 0.16 - 2 x 0.36. Gardel 1957 gives 0.61 to 0.35 (from memory).
 */
Test(tee, joining_streams_keep_momentum)
{
    const struct tee tee = make(90, 1);
    double loss[2];
    losses(&tee, 0.6, -1, loss);
    cr_assert_float_eq(loss[0], 0.64, 1e-12);
    cr_assert_float_eq(loss[0] - loss[1], 0.44, 1e-12);
}

/* A branch of the run's bore that turns by nothing is a sudden enlargement of the stream
 * (Borda-Carnot): (1 - q)^2. 30 deg is the least angle; it lies above that. */
Test(tee, slanting_branch_loses_less_than_a_square_one)
{
    const struct tee slanting = make(30, 1);
    const struct tee square = make(90, 1);
    double least[2];
    double most[2];
    for (double q = 0.1; q <= 1; q += 0.1) {
        losses(&slanting, 1, q - 1, least);
        losses(&square, 1, q - 1, most);
        cr_assert(least[1] < most[1] && least[1] > (1 - q) * (1 - q));
    }
}

Test(tee, turned_round_it_is_the_same_tee)
{
    const struct tee one = make(60, 2);
    const struct tee other = make(120, 2);
    for (int i = 0; i < 360; i++) {
        const double a = cos(i * circle_pi / 180);
        const double b = sin(i * circle_pi / 180);
        double x[2];
        double y[2];
        losses(&one, a, b, x);
        losses(&other, b, a, y);
        cr_assert_float_eq(x[0], -y[0], 1e-12);
        cr_assert_float_eq(x[1] - x[0], y[1], 1e-12);
    }
}

/* No jump where a leg's flow changes its sign, and no energy comes from nowhere. */
Test(tee, law_has_no_jump_and_gives_no_energy)
{
    static const double ratios[] = {1, 2, 4};
    for (int k = 0; k < 9; k++) {
        const double ratio = ratios[k % 3];
        const struct tee tee = make(45 * (1 + k / 3), ratio);
        double before[2];
        losses(&tee, 1, 0, before);
        for (int i = 1; i <= 7200; i++) {
            const double one = cos(i * circle_pi / 3600);
            const double two = sin(i * circle_pi / 3600);
            double loss[2];
            losses(&tee, one, two, loss);
            cr_assert(fabs(loss[0] - before[0]) < 0.02 * ratio * ratio);
            cr_assert(fabs(loss[1] - before[1]) < 0.02 * ratio * ratio);
            cr_assert(-two * loss[0] + (one + two) * loss[1] > -1e-12, "%g %g", one, two);
            before[0] = loss[0];
            before[1] = loss[1];
        }
    }
}

/* Joining at 30 deg: 1 - q1^2 + 2 r q3^2 cos t; turned the other way it pushes back (by hand). */
Test(tee, slanting_branch_pushes_along_the_run)
{
    const struct tee along = make(30, 2);
    const struct tee against = make(150, 2);
    const double push = 2 * 2 * 0.16 * sqrt(0.75);
    double loss[2];
    losses(&along, 0.6, -1, loss);
    cr_assert_float_eq(loss[0], 1 - 0.36 + push, 1e-12);
    cr_assert_float_eq(loss[1], 0.36 - 4 * 0.16, 1e-12);
    losses(&against, 0.6, -1, loss);
    cr_assert_float_eq(loss[0], 1 - 0.36 - push, 1e-12);
}

/* Branch into both ends, pressure head p = H - v^2 in velocity heads: along the run the momentum
 * law p1 - p2 = 2 q2^2 - 2 q1^2 + 2 r q3^2 cos t; p3 lies between, p1 weighed with the share that
 * goes to 2 (where all goes there the streams meet at p1: models/tee.h). */
Test(tee, branch_that_feeds_both_ends_keeps_momentum)
{
    const struct tee tee = make(60, 2);
    for (double to_1 = 0.1; to_1 < 1; to_1 += 0.2) {
        const double to_2 = 1 - to_1;
        double loss[2];
        losses(&tee, -to_1, -to_2, loss);
        const double p12 = loss[0] - to_1 * to_1 + to_2 * to_2;
        const double p13 = loss[1] - to_1 * to_1 + 4;
        cr_assert_float_eq(p12, 2 * to_2 * to_2 - 2 * to_1 * to_1 + 2 * 2 * 0.5, 1e-12);
        cr_assert_float_eq(p13, (1 - to_2) * p12, 1e-12);
    }
}

/* A link's law holds where its ends differ by what the tee tells of its leg, whichever way the link
 * runs. */
Test(tee, link_may_run_in_or_out)
{
    static const double flow[] = {1e-3, -0.7e-3, -0.3e-3};
    for (int bits = 0; bits < 8; bits++) {
        struct tee tee = make(60, 1.5);
        double head[TEE_LEGS];
        double by_flow[TEE_LEGS][TEE_LEGS];
        double along[TEE_LEGS];
        tee_heads(&tee, &law_water, flow, head, by_flow);
        for (int leg = 0; leg < TEE_LEGS; leg++) {
            tee.is_outward[leg] = (bits >> leg) % 2 == 1;
            along[leg] = tee.is_outward[leg] ? -flow[leg] : flow[leg];
        }
        for (int leg = 0; leg < TEE_LEGS; leg++) {
            const struct tee_leg data = {.tee = &tee, .leg = leg};
            struct coupled_at at = {.flow = along[leg],
                                    .head_from = 10 + (tee.is_outward[leg] ? 0 : head[leg]),
                                    .head_to = 10 + (tee.is_outward[leg] ? head[leg] : 0),
                                    .partner_flow = {along[(leg + 1) % 3], along[(leg + 2) % 3]}};
            cr_assert_float_eq(tee_element.coupling->law(&data, &law_water, &at).value, 0, 1e-14);
        }
    }
}

Test(tee, derivatives_are_those_of_its_law)
{
    const struct tee tee = make(60, 1.5);
    for (int leg = 0; leg < TEE_LEGS; leg++) {
        const struct tee_leg data = {.tee = &tee, .leg = leg};
        int links[COUPLING_PARTNER_MAX];
        tee_element.coupling->partners(&data, links);
        cr_assert_eq(links[0], 7 + (leg + 1) % 3);
        cr_assert_eq(links[1], 7 + (leg + 2) % 3);
        for (int i = 0; i < 2000; i++) {
            const struct coupled_at at = {
                .flow = 1e-3 * (i % 23 - 11.3),
                .head_from = 1,
                .partner_flow = {1e-3 * (i % 19 - 9.1), 1e-3 * (i % 31 - 15.7)}};
            law_coupled_fits(&tee_element, &data, at, 1e-9, 1e-4);
        }
    }
}

Test(tee, nearest_law_is_cranes_and_monotone)
{
    const struct tee tee = make(90, 1);
    const struct tee_leg branch = {.tee = &tee, .leg = TEE_BRANCH};
    cr_assert_float_eq(tee.fixed_loss[TEE_BRANCH] / tee.fixed_loss[TEE_RUN_1], 5, 1e-12);
    for (double v = 0.01; v < 2; v *= 3) { /* K v|v|/2g at any velocity (definition) */
        const double head = tee_element.drop(&branch, &law_water, -v * tee.branch_area).head;
        cr_assert_float_eq(head / (tee.fixed_loss[TEE_BRANCH] * v * v / 19.62), -1, 1e-12);
    }
    const struct span span = tee_element.span(&branch, &law_water);
    cr_assert(span.lower == -HUGE_VAL && span.upper == HUGE_VAL);
    law_is_monotone(&tee_element, &branch, -0.01, 0.01);
    law_slope_fits(&tee_element, &branch, -0.01, 0.01);
    law_is_total(&tee_element, &branch);
}

static bool accepts(const void *data)
{
    struct failure failure;
    struct tee tee = *(const struct tee *)data;
    return tee_init(&tee, law_nowhere, &failure);
}

/* As models/tee.h says, to a billionth of the area and a hundredth of a degree. */
Test(tee, bad_numbers_are_refused)
{
    const double degree = circle_pi / 180;
    static const double good[] = {30, 150};
    static const double bad[] = {29.9, 150.1, NAN};
    struct tee tee = make(90, 1);
    for (int i = 0; i < 3; i++) {
        tee.angle = good[i % 2] * degree;
        cr_expect(accepts(&tee));
        tee.angle = bad[i] * degree;
        cr_expect_not(accepts(&tee));
    }
    static const struct {
        double run;
        double branch;
        bool is_good;
    } rows[] = {{1e-3, 1e-3, true},
                {1e-3, 1e-3 * (1 + 5e-10), true},
                {1e-3, 1e-3 * (1 + 1e-8), false},
                {0, 0, false},
                {-1e-3, -1e-3, false},
                {1e-3, 0, false},
                {HUGE_VAL, 1e-3, false},
                {NAN, 1e-3, false},
                {1e-3, NAN, false},
                {1e-3, -1e-3, false}};
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        tee = make(90, 1);
        tee.run_area = rows[i].run;
        tee.branch_area = rows[i].branch;
        cr_expect_eq(accepts(&tee), rows[i].is_good, "%zu", i);
    }
}
