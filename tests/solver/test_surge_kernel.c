/* The kernel alone. */
#include "models/pipe.h"
#include "solver/surge/kernel.h"

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
