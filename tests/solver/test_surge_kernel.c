/* The kernel alone. */
#include "models/pipe.h"
#include "solver/surge/kernel.h"
#include "solver/surge/loss_row.h"

#include <criterion/criterion.h>
#include <math.h>

/* A pipe between a tank at head 0 and a shut end, with a wave in it. */
static void make_wave(struct kernel *kernel, int reaches, struct arena *arena)
{
    struct failure failure;
    cr_assert(kernel_init(kernel, 2, (int[]){reaches, reaches}, arena, &failure));
    for (int i = 0; i < 2; i++) {
        kernel->pipes[i].impedance = 1000.0 * (i + 1);
        kernel_start(kernel, i, 0.0, 1e-3);
    }
    kernel->step = 0.01;
}

static void step_wave(struct kernel *kernel)
{
    kernel_step(kernel);
    for (int i = 0; i < 2; i++) {
        kernel_enter(kernel, i, KERNEL_START, 0.0);
        kernel_enter(kernel, i, KERNEL_END, kernel_arrived(kernel, i, KERNEL_END));
    }
}

/* Integral of Q^2 + (H/B)^2 over the reaches: rho A dx/2 times it, over A^2, is the energy (Karney
 * 1990). In the values that travel: p^2 and m^2 of every reach. */
static double energy(const struct kernel *kernel, int pipe)
{
    double impedance = kernel->pipes[pipe].impedance;
    double sum = 0.0;
    for (int i = 0; i < kernel->pipes[pipe].reaches; i++) {
        double p = kernel_head(kernel, pipe, i) + impedance * kernel_flow(kernel, pipe, i);
        double m = kernel_head(kernel, pipe, i + 1) - impedance * kernel_flow(kernel, pipe, i + 1);
        sum += 0.5 * (p * p + m * m) / (impedance * impedance);
    }
    return sum;
}

Test(surge_kernel, energy_stays_without_friction)
{
    struct arena *arena = arena_new();
    struct kernel kernel;
    make_wave(&kernel, 37, arena);
    for (int i = 0; i < 5000; i++) { /* also over several moves of the row */
        step_wave(&kernel);
        cr_assert_float_eq(energy(&kernel, 0), 37.0 * 1e-6, 1e-17, "step %d: %g", i,
                           energy(&kernel, 0));
        cr_assert_float_eq(energy(&kernel, 1), 37.0 * 1e-6, 1e-17);
    }
    arena_free(arena);
}

Test(surge_kernel, flow_returns_after_two_lengths)
{
    struct arena *arena = arena_new();
    struct kernel kernel;
    make_wave(&kernel, 10, arena);
    for (int i = 0; i < 20; i++) {
        step_wave(&kernel);
    }
    for (int j = 0; j < 10; j++) {
        cr_expect_float_eq(kernel_flow(&kernel, 0, j), -1e-3, 1e-15);
        cr_expect_float_eq(kernel_head(&kernel, 1, j), 0.0, 1e-12);
    }
    arena_free(arena);
}

/* Halving the reach divides the error of a smooth wave by at least two (second order is expected of
 * the trapezoidal rule: by about four). Against a grid 16 times finer. */
static double damped_head(int reaches)
{
    struct arena *arena = arena_new();
    struct failure failure;
    struct kernel kernel;
    struct water water = {.gravity = 9.81, .viscosity = 1e-6};
    struct pipe pipe = {.friction = {.length = 1000.0, .bore = 0.1, .factor = 0.05}};
    double area = pipe_area(&pipe);
    double impedance = 1000.0 / (9.81 * area);
    cr_assert(kernel_init(&kernel, 1, &reaches, arena, &failure));
    kernel.pipes[0].impedance = impedance;
    struct loss_law law = {&pipe_element, &pipe, &water, reaches, impedance, area, area};
    cr_assert(loss_init(&kernel.pipes[0].loss, &law, arena, &failure));
    kernel_start(&kernel, 0, 100.0, area);
    double end = kernel_head(&kernel, 0, reaches);
    for (int i = 1; i <= 8 * reaches; i++) {
        kernel_step(&kernel);
        kernel_enter(&kernel, 0, KERNEL_START, 100.0);
        double rise = 25.0 * (1.0 - cos(3.14159265358979323846 * i / (4.0 * reaches)));
        kernel_enter(&kernel, 0, KERNEL_END, end + rise);
    }
    double flow = kernel_flow(&kernel, 0, reaches / 2);
    arena_free(arena);
    return flow / area;
}

Test(surge_kernel, error_of_a_smooth_wave_falls_with_the_square_of_the_reach)
{
    double exact = damped_head(1024);
    double coarse = fabs(damped_head(16) - exact);
    double middle = fabs(damped_head(32) - exact);
    double fine = fabs(damped_head(64) - exact);
    /* The order of the trapezoidal rule, 2, to be met within a tenth. */
    cr_expect_float_eq(log2(coarse / middle), 2.0, 0.2, "%g", log2(coarse / middle));
    cr_expect_float_eq(log2(middle / fine), 2.0, 0.2, "%g", log2(middle / fine));
}

/* Friction is odd in the flow, and its slope the limit of its difference quotients (definitions):
 * so for the table, and for the intervals that the fast pass takes of it. */
Test(surge_kernel, table_of_losses_is_odd_and_has_its_slope)
{
    struct arena *arena = arena_new();
    struct failure failure;
    struct loss loss;
    struct water water = {.gravity = 9.81, .viscosity = 1e-6};
    struct pipe pipe = {.friction = {.length = 1000.0, .bore = 0.1, .roughness = 1e-4}};
    struct loss_law law = {&pipe_element, &pipe, &water, 100.0, 5e3, pipe_area(&pipe), 7e-3};
    cr_assert(loss_init(&loss, &law, arena, &failure));
    for (double size = 1e-3; size < 1e3; size *= 1.37) {
        const struct drop here = loss_at(&loss, size);
        const double step = 1e-5 * size;
        const double rise = loss_at(&loss, size + step).head - loss_at(&loss, size - step).head;
        cr_assert_float_eq(rise / (2.0 * step), here.slope, 1e-4 * here.slope, "%g", size);
        struct loss_interval up[2];
        struct loss_interval down[2];
        const int count = loss_intervals(&loss, size, 1.02 * size, up);
        cr_assert(count >= 1, "%g", size);
        cr_assert_eq(loss_intervals(&loss, -1.02 * size, -size, down), count, "%g", size);
        cr_assert_eq(up[0].start, -down[0].start);
    }
    arena_free(arena);
}

/* The fast pass and the law one by one give the same digits, also around rest and far beyond the
 * table. */
Test(surge_kernel, many_losses_at_once_have_the_digits_of_one)
{
    struct arena *arena = arena_new();
    struct failure failure;
    struct water water = {.gravity = 9.81, .viscosity = 1e-6};
    struct pipe pipe = {.friction = {.length = 1000.0, .bore = 0.1, .roughness = 1e-4}};
    static double difference[1000];
    static double lost[1000];
    for (int i = 0; i < 1000; i++) {
        difference[i] = (i % 2 == 0 ? 1.0 : -1.0) * pow(10.0, -12.0 + i / 50.0);
    }
    for (int kind = 0; kind < 2; kind++) {
        struct loss loss;
        pipe.friction.factor = kind == 0 ? 0.0 : 0.02;
        struct loss_law law = {&pipe_element, &pipe, &water, 100.0, 5e3, pipe_area(&pipe), 7e-3};
        cr_assert(loss_init(&loss, &law, arena, &failure));
        for (int count = 1; count <= 1000; count += 333) {
            loss_row(&loss, count, difference, lost);
            for (int i = 0; i < count; i++) {
                cr_assert_eq(lost[i], loss_at(&loss, difference[i]).head, "%g", difference[i]);
            }
        }
    }
    arena_free(arena);
}

/* Of F = r Q|Q| and 2 B Q + F = d the friction is r d^2/(B + sqrt(B^2 + r d))^2 (exact); by series
 * of as many terms as it needs for water of 20 m/s, by the root beyond, both to 12 digits. */
Test(surge_kernel, quadratic_friction_is_exact_however_long_its_series)
{
    static const struct {
        double most; /* r d/B^2 at 20 m/s */
        int terms;
    } rows[] = {{0.95e-5, 2}, {1.05e-5, 3}, {7.6e-4, 3}, {8.4e-4, 4}, {6e-3, 4}, {0.2, 4}};
    struct arena *arena = arena_new();
    struct water water = {.gravity = 9.81, .viscosity = 1e-6};
    struct pipe pipe = {.friction = {.length = 1000.0, .bore = 0.1, .factor = 0.02}};
    const double area = pipe_area(&pipe);
    const double impedance = 5e3;
    const double whole = 0.02 * 1e4 / (19.62 * area * area);
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct failure failure;
        struct loss loss;
        const double resistance = rows[i].most * impedance / (40.0 * area);
        const struct loss_law law = {&pipe_element, &pipe, &water, whole / resistance,
                                     impedance,     area,  7e-3};
        cr_assert(loss_init(&loss, &law, arena, &failure));
        cr_expect_eq(loss.terms, rows[i].terms, "%g: %d", rows[i].most, loss.terms);
        for (double v = -30.0; v < 30.0; v += 0.37) {
            const double d = 2.0 * impedance * area * v;
            const double root = impedance + sqrt(impedance * impedance + resistance * fabs(d));
            const double exact = resistance * d * fabs(d) / (root * root);
            double lost = 0.0;
            loss_row(&loss, 1, &d, &lost);
            cr_expect_float_eq(lost / exact, 1.0, 1e-11, "%g at %g: %g", rows[i].most, v,
                               lost / exact - 1.0);
        }
    }
    arena_free(arena);
}

/* What friction takes of a difference d is F(Q) at the flow with 2 B Q + F(Q) = d, here found by
 * halving with the pipe's own law, laminar to rough; at the steady flow exactly. */
Test(surge_kernel, table_of_losses_follows_the_pipes_law)
{
    struct arena *arena = arena_new();
    struct failure failure;
    struct loss loss;
    struct water water = {.gravity = 9.81, .viscosity = 1e-6};
    struct pipe pipe = {.friction = {.length = 1000.0, .bore = 0.1, .roughness = 1e-4}};
    const double area = pipe_area(&pipe);
    const double steady = 0.9 * area;
    struct loss_law law = {&pipe_element, &pipe, &water, 100.0, 5e3, area, steady};
    cr_assert(loss_init(&loss, &law, arena, &failure));
    for (double v = 1e-4; v < 90.0; v *= 1.07) {
        const double d = 2.0 * 5e3 * area * v;
        double low = 0.0;
        double high = v * area;
        for (int i = 0; i < 100; i++) {
            const double flow = 0.5 * (low + high);
            const double lost = pipe_element.drop(&pipe, &water, flow).head / 100.0;
            *(2.0 * 5e3 * flow + lost > d ? &high : &low) = flow;
        }
        const double exact = pipe_element.drop(&pipe, &water, low).head / 100.0;
        const double bend = v > 0.018 && v < 0.042 ? 5e-4 : 1e-5; /* laminar to turbulent */
        cr_expect_float_eq(loss_at(&loss, d).head / exact, 1.0, bend, "%g: %g", v,
                           loss_at(&loss, d).head / exact - 1.0);
    }
    const double lost = pipe_element.drop(&pipe, &water, steady).head / 100.0;
    cr_expect_float_eq(loss_at(&loss, 2.0 * 5e3 * steady + lost).head / lost, 1.0, 1e-14);
    arena_free(arena);
}

/* A pipe's law that counts how often it is asked. */
struct counted_pipe {
    struct pipe pipe;
    int *asked;
};

static struct drop counted_drop(const void *data, const struct water *water, double flow)
{
    const struct counted_pipe *counted = data;
    ++*counted->asked;
    return pipe_element.drop(&counted->pipe, water, flow);
}

/* Each joint of a table is where a law and a straight line meet, found by Newton's method from
 * where no friction would be: from elsewhere, or without its slope, it takes many more looks. */
Test(surge_kernel, joints_of_a_table_come_quickly)
{
    static const double lengths[] = {1.0, 1e3, 1e6};
    static const int most[] = {580, 790, 1350}; /* 557, 764, 1309 as measured */
    static const int counts[] = {100, 100, 80}; /* of 160; the others hold laminar flow */
    for (int i = 0; i < 3; i++) {
        int asked = 0;
        struct arena *arena = arena_new();
        struct failure failure;
        struct loss loss;
        struct water water = {.gravity = 9.81, .viscosity = 1e-6};
        const struct element element = {.kind = "counted", .drop = counted_drop};
        struct counted_pipe counted = {
            .pipe = {.friction = {.length = lengths[i], .bore = 0.1, .roughness = 1e-4}},
            .asked = &asked};
        const double area = pipe_area(&counted.pipe);
        struct loss_law law = {&element, &counted, &water, 1.0, 5e3, area, 0.9 * area};
        cr_assert(loss_init(&loss, &law, arena, &failure));
        cr_expect_eq(loss.count, counts[i], "%d", loss.count);
        cr_expect_leq(asked, most[i], "%g m: %d", lengths[i], asked);
        arena_free(arena);
    }
}

/* --- beside the textbook's scheme, node by node --- */

/* Wylie & Streeter 1993, chapters 3 and 8, written plainly: every node by itself, friction G(p - m)
 * at each, cavities of vapour or gas with backward weighting. */
enum { PLAIN_NODES = 160 };

struct plain {
    int reaches;
    double impedance;
    double step;
    double vapour;
    double gas; /* 0: cavities are of vapour */
    const struct loss *loss;
    double right[PLAIN_NODES];
    double left[PLAIN_NODES];
    double head[PLAIN_NODES];
    double volume[PLAIN_NODES];
    double highest[PLAIN_NODES];
    double lowest[PLAIN_NODES];
};

/* Head where what flows apart in the step fills the volume that the gas has there. */
static double plain_gas_head(const struct plain *plain, double sum, double volume)
{
    double low = plain->vapour;
    double high = 1e4;
    for (int i = 0; i < 100; i++) {
        const double head = 0.5 * (low + high);
        const double room = volume + plain->step * (2.0 * head - sum) / plain->impedance;
        *(room * (head - plain->vapour) > plain->gas ? &high : &low) = head;
    }
    return 0.5 * (low + high);
}

static void plain_boil(struct plain *plain, int i)
{
    const double sum = plain->right[i] + plain->left[i];
    const double arrived = plain->right[i];
    double *volume = &plain->volume[i];
    double head = 0.5 * sum;
    if (plain->gas > 0.0) {
        head = plain_gas_head(plain, sum, *volume);
        *volume += plain->step * (2.0 * head - sum) / plain->impedance;
    } else if (*volume > 0.0 || head < plain->vapour) {
        head = fmax(plain->vapour, 0.5 * (sum - plain->impedance * *volume / plain->step));
        *volume = fmax(0.0, *volume + plain->step * (2.0 * head - sum) / plain->impedance);
        *volume = head > plain->vapour ? 0.0 : *volume;
    }
    plain->head[i] = head;
    plain->right[i] = 2.0 * head - plain->left[i];
    plain->left[i] = 2.0 * head - arrived;
}

static void plain_note(struct plain *plain)
{
    for (int i = 0; i <= plain->reaches; i++) {
        plain->highest[i] = fmax(plain->highest[i], plain->head[i]);
        plain->lowest[i] = fmin(plain->lowest[i], plain->head[i]);
    }
}

static void plain_step(struct plain *plain, double start, double end)
{
    const int last = plain->reaches;
    for (int i = 0; i <= last; i++) {
        const double lost = loss_at(plain->loss, plain->right[i] - plain->left[i]).head;
        plain->right[i] -= lost;
        plain->left[i] += lost;
    }
    for (int i = 0; i < last; i++) {
        plain->right[last - i] = plain->right[last - i - 1];
        plain->left[i] = plain->left[i + 1];
    }
    for (int i = 1; i < last; i++) {
        plain_boil(plain, i);
    }
    plain->head[0] = start;
    plain->head[last] = end;
    plain->right[0] = 2.0 * start - plain->left[0];
    plain->left[last] = 2.0 * end - plain->right[last];
    plain_note(plain);
}

/* 1: friction; 2: water boils; 3: gas at every node. Both begin with the same steady flow. */
static void begin_both(struct kernel *kernel, struct plain *plain, int kind, struct arena *arena)
{
    static const struct water water = {.gravity = 9.81, .viscosity = 1e-6};
    static const struct pipe pipe = {.friction = {.length = 1000.0, .bore = 0.1, .factor = 0.03}};
    struct failure failure;
    const double area = pipe_area(&pipe);
    const int reaches = plain->reaches;
    double vapour[PLAIN_NODES];
    plain->impedance = 1000.0 / (9.81 * area);
    plain->step = 1.0 / reaches;
    plain->vapour = kind > 1 ? -9.0 : -1e6;
    plain->gas = kind > 2 ? 1e-5 : 0.0;
    cr_assert(kernel_init(kernel, 2, (int[]){5, reaches}, arena, &failure));
    struct loss_law law = {&pipe_element, &pipe, &water, reaches, plain->impedance, area, area};
    for (int i = 0; i < 2; i++) {
        kernel->pipes[i].impedance = plain->impedance;
        cr_assert(loss_init(&kernel->pipes[i].loss, &law, arena, &failure));
        kernel_start(kernel, i, 20.0, 0.5 * area);
    }
    plain->loss = &kernel->pipes[1].loss;
    kernel->step = plain->step;
    for (int i = 0; i <= reaches; i++) {
        vapour[i] = plain->vapour;
    }
    kernel_set_vapour(kernel, 1, vapour);
    if (plain->gas > 0.0) {
        kernel_set_gas(kernel, 1, plain->gas);
    }
    const double lost = 20.0 - kernel_head(kernel, 1, 1);
    for (int i = 0; i <= reaches; i++) {
        const double head = kernel_head(kernel, 1, i);
        const double half = plain->impedance * 0.5 * area + 0.5 * lost;
        plain->head[i] = plain->highest[i] = plain->lowest[i] = head;
        plain->right[i] = head + half;
        plain->left[i] = head - half;
        plain->volume[i] = plain->gas > 0.0 ? plain->gas / (head - plain->vapour) : 0.0;
    }
}

static void step_both(struct kernel *kernel, struct plain *plain, int step)
{
    const double start = 20.0 + 15.0 * sin(0.13 * step);
    const double blow = step > 50 && step < 60 ? 30.0 : 0.0;
    const double end = 10.0 - 25.0 * sin(0.041 * step) + blow;
    kernel_step(kernel);
    for (int k = 0; k < 2; k++) {
        kernel_enter(kernel, k, KERNEL_START, start);
        kernel_enter(kernel, k, KERNEL_END, end);
    }
    plain_step(plain, start, end);
}

static void beside_plain(int kind, int reaches)
{
    struct arena *arena = arena_new();
    struct kernel kernel;
    struct plain plain = {.reaches = reaches};
    int boiled = 0;
    begin_both(&kernel, &plain, kind, arena);
    const int64_t first = kernel.pipes[1].first;
    for (int i = 1; i <= 250; i++) {
        step_both(&kernel, &plain, i);
        for (int j = 0; j <= reaches; j++) {
            const bool is_inside = j > 0 && j < reaches;
            cr_assert_float_eq(kernel_head(&kernel, 1, j), plain.head[j], 1e-6, "%d: step %d, %d",
                               kind, i, j);
            cr_assert_float_eq(kernel.volume[first + j], plain.volume[j],
                               is_inside ? 1e-9 : HUGE_VAL);
            boiled += kind == 2 && plain.volume[j] > 0.0;
        }
    }
    kernel_note_extremes(&kernel);
    for (int j = 0; j <= reaches; j++) {
        cr_expect_float_eq(kernel.highest[first + j], plain.highest[j], 1e-6);
        cr_expect_float_eq(kernel.lowest[first + j], plain.lowest[j], 1e-6);
    }
    cr_expect(kind != 2 || reaches < 10 || boiled > 50, "%d", boiled);
    arena_free(arena);
}

Test(surge_kernel, every_node_is_that_of_the_textbooks_scheme)
{
    for (int kind = 1; kind <= 3; kind++) {
        beside_plain(kind, 3);
        beside_plain(kind, 22);
        beside_plain(kind, 150);
    }
}

/* The last instant is noted at every node, at the ends too. */
Test(surge_kernel, extremes_of_the_last_instant_are_noted_to_the_ends)
{
    struct arena *arena = arena_new();
    struct failure failure;
    struct kernel kernel;
    cr_assert(kernel_init(&kernel, 1, (int[]){4}, arena, &failure));
    kernel.pipes[0].impedance = 1000.0;
    kernel_start(&kernel, 0, 0.0, 0.0);
    kernel_step(&kernel);
    kernel_enter(&kernel, 0, KERNEL_START, 7.0);
    kernel_enter(&kernel, 0, KERNEL_END, -5.0);
    kernel_note_extremes(&kernel);
    cr_expect_float_eq(kernel.highest[0], 7.0, 1e-12);
    cr_expect_float_eq(kernel.lowest[4], -5.0, 1e-12);
    cr_expect_float_eq(kernel.highest[2], 0.0, 1e-12);
    arena_free(arena);
}
