/* Friction of one reach beside laws whose flow can be told in closed form, and beside the
 * definitions of its series and of its cubics. */
#include "models/pipe.h"
#include "solver/surge/loss_row.h"
#include "tests/solver/mixed_law.h"

#include <criterion/criterion.h>
#include <math.h>

/* Of 2 B Q + F(Q) = d > 0: Q = 2 d/(b + root(b^2 + 4 r d)), b = 2 B + line. */
static struct drop mixed_exact(const struct mixed *mixed, double difference)
{
    const double line = mixed->line / REACHES;
    const double bend = mixed->bend / REACHES;
    const double straight = 2.0 * impedance + line;
    const double root = sqrt(straight * straight + 4.0 * bend * difference);
    const double flow = 2.0 * difference / (straight + root);
    return (struct drop){flow * (line + bend * flow),
                         (line + 2.0 * bend * flow) / (straight + 2.0 * bend * flow)};
}

/* The largest fourth derivative of G beyond a difference: G'''' = -2 B Q'''' = 240 B r^3/root^7. */
static double mixed_fourth(const struct mixed *mixed, double difference)
{
    const double bend = mixed->bend / REACHES;
    const double straight = 2.0 * impedance + mixed->line / REACHES;
    return 240.0 * impedance * pow(bend, 3) *
           pow(straight * straight + 4.0 * bend * difference, -3.5);
}

/* The distance of a cubic with value and slope of both ends from its function is at most h^4/384 of
 * the largest fourth derivative between (Hermite; Davis, Interpolation and Approximation, 1963,
 * theorem 3.5.1), that of its slope at most sqrt(3)/216 h^3 of it (Birkhoff & Priver 1967); and
 * nothing at the ends. Round-off besides. */
Test(surge_loss, table_is_as_near_its_law_as_cubics_can_be)
{
    struct arena *arena = arena_new();
    for (int k = 0; k < MIXES; k++) {
        const struct loss loss = mixed_loss(&mixes[k], 0.0, arena);
        cr_assert_eq(loss.kind, LOSS_TABLE);
        const double end = 2.0 * impedance * area * 99.0;
        struct loss_interval interval;
        for (double size = 2.0 * impedance * area * 1e-4; size < end; size = interval.start) {
            cr_assert(loss_interval_at(&loss, size, &interval));
            const double first = interval.start;
            const double width = ldexp(0.125, ilogb(first));
            const double fourth = mixed_fourth(&mixes[k], first);
            for (int i = 0; i <= 8; i++) {
                const double d = first + 0.125 * i * width * (1.0 - 1e-15);
                const struct drop exact = mixed_exact(&mixes[k], d);
                const struct drop here = loss_at(&loss, d);
                const double off = i % 8 == 0 ? 0.0 : pow(width, 4) / 384.0 * fourth;
                const double turned = i % 8 == 0 ? 0.0 : 0.00802 * pow(width, 3) * fourth;
                cr_assert(fabs(here.head - exact.head) <= 1.0001 * off + 4e-15 * exact.head,
                          "%d %g %d: %g, %g", k, d, i, here.head / exact.head - 1.0, off);
                cr_assert(fabs(here.slope - exact.slope) <= 1.0001 * turned + 1e-12 * exact.slope,
                          "%d %g %d: %g, %g", k, d, i, here.slope / exact.slope - 1.0, turned);
            }
            interval.start = first + 1.5 * width;
        }
    }
    arena_free(arena);
}

/* Below the table, from 1e-4 m/s down, the chord of its first joint; beyond it, from 100 m/s up,
 * the quadratic law that goes through its last: G = r Q^2, Q = (d - G)/2B. */
Test(surge_loss, ends_of_a_table_go_on_straight_and_quadratic)
{
    struct arena *arena = arena_new();
    for (int k = 0; k < MIXES; k++) {
        const struct loss loss = mixed_loss(&mixes[k], 0.0, arena);
        const double unit = 2.0 * impedance * area;
        struct loss_interval interval;
        cr_assert(loss_interval_at(&loss, 1e-4 * unit, &interval));
        const double first = interval.start;
        cr_assert(first > 0.875 * 1e-4 * unit && first <= 1e-4 * unit);
        const struct drop joint = mixed_exact(&mixes[k], first);
        for (double share = 0.999; share > 1e-9; share *= 0.37) {
            const struct drop here = loss_at(&loss, share * first);
            cr_assert_float_eq(here.head / (share * joint.head), 1.0, 4e-15);
            cr_assert_float_eq(here.slope, joint.head / first, 4e-15);
        }
        cr_assert(loss_interval_at(&loss, 100.0 * unit, &interval));
        const double last = interval.start + ldexp(0.125, ilogb(interval.start));
        cr_assert_not(loss_interval_at(&loss, last, &interval));
        cr_assert(loss_interval_at(&loss, last * (1.0 - 1e-15), &interval));
        const struct drop end = mixed_exact(&mixes[k], last);
        const double flow = (last - end.head) / (2.0 * impedance);
        for (double share = 1.0; share < 1e3; share *= 1.7) {
            const struct drop here = loss_at(&loss, share * last);
            const double there = (share * last - here.head) / (2.0 * impedance);
            const double bend = end.head / (flow * flow);
            cr_assert_float_eq(here.head / (bend * there * there), 1.0, 1e-9, "%d %g: %g", k, share,
                               here.head / (bend * there * there) - 1.0);
            cr_assert_float_eq(here.slope, bend * there / (impedance + bend * there), 1e-9);
        }
    }
    arena_free(arena);
}

/* The whole table is scaled by one factor, so that the steady flow loses what its law says. */
Test(surge_loss, table_meets_the_steady_flow)
{
    struct arena *arena = arena_new();
    for (int k = 0; k < MIXES; k++) {
        const struct loss plain = mixed_loss(&mixes[k], 0.0, arena);
        for (double velocity = 1.3e-5; velocity < 200.0; velocity *= 3.1) {
            const double flow = velocity * area;
            const struct loss loss = mixed_loss(&mixes[k], flow, arena);
            const double lost = mixed_drop(&mixes[k], NULL, flow).head / REACHES;
            const double d = 2.0 * impedance * flow + lost;
            const double scale = lost / loss_at(&plain, d).head;
            struct loss_interval interval;
            if (loss_interval_at(&loss, d, &interval)) {
                cr_assert_float_eq(loss_at(&loss, d).head / lost, 1.0, 4e-15);
            }
            const double elsewhere = loss_at(&plain, 0.37 * area * impedance).head;
            cr_assert_float_eq(loss_at(&loss, 0.37 * area * impedance).head / elsewhere, scale,
                               1e-14 * scale);
        }
    }
    arena_free(arena);
}

/* F = Q|Q|^0.8 of all reaches: of a flow of 1e-300 its loss is below all numbers, and its table's
 * is not. */
static struct drop power_drop(const void *data, const struct water *water, double flow)
{
    (void)data;
    (void)water;
    return (struct drop){copysign(pow(fabs(flow), 1.8), flow), 1.8 * pow(fabs(flow), 0.8)};
}

/* Rest, and flows too small for numbers, ask for nothing. */
Test(surge_loss, table_stays_as_it_is_where_nothing_flows)
{
    static const double flows[] = {0.0, 1e-300, -1e-300};
    static const struct element element = {.kind = "power", .drop = power_drop};
    struct arena *arena = arena_new();
    for (int i = 0; i < 3; i++) {
        struct failure failure;
        struct loss loss;
        const struct loss_law law = {&element, NULL, NULL, 1.0, 1.0, area, flows[i]};
        cr_assert(loss_init(&loss, &law, arena, &failure));
        const double flow = 0.3;
        const double lost = pow(flow, 1.8);
        cr_assert_float_eq(loss_at(&loss, 2.0 * flow + lost).head, lost, 1e-6 * lost);
    }
    arena_free(arena);
}

/* --- its series --- */

/* (1 + root(1 + x))^-2 = sum of (-1)^k C(k+1) (x/4)^k/4 with Catalan's numbers C = 1, 2, 5, 14, 42;
 * of which the first n terms and the n-th less the polynomial of Chebyshev T_n that shares its
 * leading term are the best of degree n - 1 (Abramowitz & Stegun 22.3.15, 22.7.4). */
static double shortened(int terms, double end, double x)
{
    static const double catalan[] = {1, 2, 5, 14, 42};
    double sum = 0.0;
    for (int k = terms; k >= 0; k--) {
        sum = catalan[k] - 0.25 * x * sum;
    }
    /* 4 (G/(d x)) is this by Horner; T_n by cos. */
    const double leading = catalan[terms] * pow(-0.25 * end, terms);
    return 0.25 * (sum - leading * ldexp(2.0, -2 * terms) * cos(terms * acos(2.0 * x / end - 1.0)));
}

/* All that is left out is less than 4e-12 of the whole; of the longest, which ends at
 * 1/160, 2.54e-12 (computed). */
Test(surge_loss, series_are_shortened_as_chebyshev_has_it)
{
    static const double sizes[] = {0.9e-5, 7.5e-4, 6e-3};
    static const double near[] = {4e-12, 4e-12, 2.6e-12};
    struct arena *arena = arena_new();
    for (int i = 0; i < 3; i++) {
        /* k d = r d/B^2 of 20 m/s */
        const double bend = sizes[i] * impedance / (40.0 * area);
        const struct mixed mixed = {0.0, REACHES * bend, NULL};
        const struct loss loss = mixed_loss(&mixed, 0.0, arena);
        cr_assert(loss.kind == LOSS_QUADRATIC && loss.terms == i + 2);
        cr_assert_float_eq(loss.curvature, bend / (impedance * impedance), 1e-15 * loss.curvature);
        const double end = loss.series_end * loss.curvature;
        cr_assert(end >= sizes[i]);
        for (int j = 0; j <= 200; j++) {
            const double x = end * (j / 200.0) * (1.0 - 1e-15);
            const double size = x / loss.curvature;
            const double sum = loss_sum(loss.series, LOSS_TERMS, 1.0 * size);
            cr_assert_float_eq(sum, loss_at(&loss, size).head, 1e-300);
            if (j > 0) {
                const double root = 1.0 + sqrt(1.0 + x);
                const double exact = 1.0 / (root * root);
                const double here = sum / (size * x);
                cr_assert_float_eq(here / shortened(loss.terms, end, x), 1.0, 1e-15, "%d: %g", j,
                                   here / shortened(loss.terms, end, x) - 1.0);
                cr_assert_float_eq(here / exact, 1.0, near[i], "%d: %g", j, here / exact - 1.0);
            }
        }
    }
    arena_free(arena);
}

/* G = k d|d|/(1 + root)^2, root = root(1 + k|d|), rises by k|d|/(root (1 + root)) (derivative by
 * hand); by the root beyond the series, one by one and many at once. */
Test(surge_loss, quadratic_friction_beyond_its_series_is_the_closed_form)
{
    struct arena *arena = arena_new();
    const struct mixed mixed = {0.0, REACHES * 1e5, NULL};
    const struct loss loss = mixed_loss(&mixed, 0.0, arena);
    double difference[67];
    double lost[67];
    for (int i = 0; i < 67; i++) {
        difference[i] = (i % 3 == 0 ? -1.0 : 1.0) * 1e-3 * pow(1.6, i);
    }
    loss_row(&loss, 67, difference, lost);
    for (int i = 0; i < 67; i++) {
        const double x = loss.curvature * fabs(difference[i]);
        const double root = sqrt(1.0 + x);
        const double exact = x * difference[i] / ((1.0 + root) * (1.0 + root));
        const struct drop here = loss_at(&loss, difference[i]);
        const double near = x <= 1.0 / 160.0 ? 4e-12 : 1e-15;
        cr_assert_float_eq(here.head / exact, 1.0, near, "%g", here.head / exact - 1.0);
        cr_assert_float_eq(here.slope / (x / (root * (1.0 + root))), 1.0, 1e-15);
        cr_assert_eq(lost[i], here.head);
    }
    arena_free(arena);
}

/* --- which form a law has --- */

Test(surge_loss, form_is_that_of_the_law)
{
    struct arena *arena = arena_new();
    const struct mixed none = {0.0, 0.0, NULL};
    cr_expect_eq(mixed_loss(&none, 0.0, arena).kind, LOSS_NONE);
    const struct mixed faint = {0.0, REACHES * 1e-2, NULL};
    cr_expect_eq(mixed_loss(&faint, 0.0, arena).kind, LOSS_QUADRATIC);
    const struct mixed straight = {REACHES * 1e3, 0.0, NULL};
    cr_expect_eq(mixed_loss(&straight, 0.0, arena).kind, LOSS_TABLE);
    /* Laws whose resistance varies by less than 1e-13 count as quadratic: at 1e-4 m/s the straight
     * part is such a share of the whole, at 100 m/s it is nothing. */
    const struct mixed hardly = {REACHES * 1e6 * 1e-4 * area * 1.05e-13, REACHES * 1e6, NULL};
    cr_expect_eq(mixed_loss(&hardly, 0.0, arena).kind, LOSS_TABLE);
    const struct mixed less = {REACHES * 1e6 * 1e-4 * area * 0.95e-13, REACHES * 1e6, NULL};
    cr_expect_eq(mixed_loss(&less, 0.0, arena).kind, LOSS_QUADRATIC);
    const struct loss nothing = mixed_loss(&none, 0.0, arena);
    const struct drop drop = loss_at(&nothing, 7.0);
    cr_expect(drop.head == 0.0 && drop.slope == 0.0);
    arena_free(arena);
}

/* F = 1e5 Q|Q|, and a tenth more between two flows. */
struct bumpy {
    double from;
    double to;
};

static struct drop bumpy_drop(const void *data, const struct water *water, double flow)
{
    const struct bumpy *bumpy = data;
    (void)water;
    const double bend = fabs(flow) > bumpy->from && fabs(flow) < bumpy->to ? 1.1e5 : 1e5;
    return (struct drop){bend * flow * fabs(flow), 2.0 * bend * fabs(flow)};
}

/* From 1e-4 to 100 m/s; a bump of a decade anywhere in it is seen, and none beyond. */
Test(surge_loss, law_is_looked_at_where_water_flows)
{
    static const struct element element = {.kind = "bumpy", .drop = bumpy_drop};
    static const struct {
        double velocity;
        enum loss_kind kind;
    } rows[] = {{0.99e-5, LOSS_QUADRATIC}, {1.1e-5, LOSS_TABLE}, {1.1e-4, LOSS_TABLE},
                {2e-3, LOSS_TABLE},        {0.05, LOSS_TABLE},   {0.9, LOSS_TABLE},
                {9.0, LOSS_TABLE},         {95.0, LOSS_TABLE},   {101.0, LOSS_QUADRATIC}};
    struct arena *arena = arena_new();
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct failure failure;
        struct loss loss;
        const struct bumpy bumpy = {rows[i].velocity * area, 10.0 * rows[i].velocity * area};
        const struct loss_law law = {&element, &bumpy, NULL, REACHES, impedance, area, 0.0};
        cr_assert(loss_init(&loss, &law, arena, &failure));
        cr_expect_eq(loss.kind, rows[i].kind, "%g m/s", rows[i].velocity);
    }
    arena_free(arena);
}

/* --- finding what a joint loses --- */

/* F = 400 atan(Q/1e-5): steep near rest and flat beyond, as no friction is, so that straight lines
 * from where it is flat lead far beyond rest. */
struct bent {
    int *asked;
};

static struct drop bent_drop(const void *data, const struct water *water, double flow)
{
    const struct bent *bent = data;
    (void)water;
    ++*bent->asked;
    const double x = flow / 1e-5;
    return (struct drop){400.0 * atan(x), 400.0 / 1e-5 / (1.0 + x * x)};
}

/* 2 B Q + F(Q) = d at each joint, whatever the law; straight lines and halves of a bracket take
 * some looks each, halves alone would take 50. */
Test(surge_loss, joints_are_found_where_straight_lines_lead_astray)
{
    static const struct element element = {.kind = "bent", .drop = bent_drop};
    struct arena *arena = arena_new();
    struct failure failure;
    struct loss loss;
    int asked = 0;
    const struct bent bent = {&asked};
    const struct loss_law law = {&element, &bent, NULL, 1.0, impedance, area, 0.0};
    cr_assert(loss_init(&loss, &law, arena, &failure));
    cr_expect_eq(loss.count, 141, "%d", loss.count); /* of 160; nearer to rest it is a line */
    cr_expect_leq(asked, 1790, "%d", asked);         /* 1775 as measured, 9 of them for its form */
    struct loss_interval interval;
    for (double size = 2.0 * impedance * area * 1e-4; loss_interval_at(&loss, size, &interval);
         size *= 1.01) {
        const double flow = (interval.start - interval.cubic[0]) / (2.0 * impedance);
        cr_assert_float_eq(interval.cubic[0], bent_drop(&bent, NULL, flow).head,
                           1e-9 * interval.start, "%g", size);
    }
    arena_free(arena);
}

/* G/(d x) = (1 + sqrt(1 + x))^-2, x = k|d|, from the quadratic equation of loss.h: exact to a few
 * units of the last place. The series, of two to four terms as the pipe is, are 4e-12 of it. */
Test(surge_loss, series_of_quadratic_friction_are_its_closed_form)
{
    static const double lengths[] = {0.0005, 0.05, 5.0};
    for (int i = 0; i < 3; i++) {
        struct arena *arena = arena_new();
        struct failure failure;
        struct loss loss;
        struct water water = {.gravity = 9.81, .viscosity = 1e-6};
        struct pipe pipe = {.friction = {.length = lengths[i], .bore = 0.1, .factor = 0.02}};
        struct loss_law law = {&pipe_element, &pipe, &water, 1.0, 5e3, pipe_area(&pipe), 4e-3};
        cr_assert(loss_init(&loss, &law, arena, &failure));
        cr_assert_eq(loss.terms, i + 2);
        for (double size = 1e-15; size <= 1.1 * loss.series_end; size *= 1.07) {
            double x = loss.curvature * size;
            double divisor = 1.0 + sqrt(1.0 + x);
            double closed = x * size / (divisor * divisor);
            cr_assert_float_eq(loss_at(&loss, size).head / closed, 1.0, 4e-12);
            cr_assert_eq(loss_at(&loss, -size).head, -loss_at(&loss, size).head);
        }
        arena_free(arena);
    }
}
