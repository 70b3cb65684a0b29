/* What a kernel's pipe tells of itself, with and without memories: each view beside the equation
 * that kernel.h and memory.h give for it, and the balance of water. */
#include "solver/surge/ahead.h"
#include "solver/surge/kernel.h"
#include "solver/surge/memory.h"
#include "tests/solver/random_numbers.h"

#include <criterion/criterion.h>
#include <math.h>

/* How many numbers were last asked of an arena. */
static size_t last_asked;

void *__real_arena_take(struct arena *arena, size_t count, size_t size);
void *__wrap_arena_take(struct arena *arena, size_t count, size_t size);
void *__wrap_arena_take(struct arena *arena, size_t count, size_t size)
{
    last_asked = count;
    return __real_arena_take(arena, count, size);
}

static const struct water water = {
    .gravity = 9.81, .viscosity = 1e-6, .density = 1000.0, .bulk_modulus = 2.19e9};

/* What a pipe has. */
struct kind {
    bool is_unsteady;
    bool is_creeping;
    double factor; /* of friction */
    double gas;    /* m4 */
    double depth;  /* m under its first head, at which water boils */
};

static const struct kind kinds[] = {{false, false, 0.03, 0.0, 1e6}, {true, false, 0.03, 0.0, 1e6},
                                    {false, true, 0.03, 0.0, 1e6},  {true, true, 0.03, 0.0, 1e6},
                                    {false, false, 0.03, 0.0, 8},   {false, false, 0.03, 1e-5, 20},
                                    {true, true, 0.03, 0.0, 8},     {true, true, 0.03, 1e-5, 20}};
enum { KINDS = 8, REACHES = 30 };

static const double flow_of_start = 4e-3;

struct rig {
    struct arena *arena;
    struct kernel kernel;
    struct pipe pipe;
};

/* Two pipes, of which the second is looked at, with steady flow. */
static void rig_open(struct rig *rig, struct kind kind, double flow)
{
    struct failure failure;
    double vapour[REACHES + 1];
    *rig = (struct rig){.arena = arena_new(),
                        .pipe = {.friction = {.length = 300.0, .bore = 0.1, .factor = kind.factor},
                                 .wall = 0.006,
                                 .material = wall_find("pe100")}};
    cr_assert(kernel_init(&rig->kernel, 2, (int[]){7, REACHES}, rig->arena, &failure));
    rig->kernel.step = 0.025;
    for (int i = 0; i < 2; i++) {
        struct kernel_pipe *here = &rig->kernel.pipes[i];
        here->impedance = 5e3;
        const struct memory_wishes wishes = {
            kind.is_unsteady, kind.is_creeping, &rig->pipe, &water, REACHES, 400.0, flow,
            rig->kernel.step};
        cr_assert(memory_new(&here->memory, &wishes, rig->arena, &failure));
        const struct loss_law law = {&pipe_element,          &rig->pipe, &water, REACHES,
                                     memory_impedance(here), 0.008,      flow};
        cr_assert(loss_init(&here->loss, &law, rig->arena, &failure));
        kernel_start(&rig->kernel, i, 60.0, flow);
    }
    for (int j = 0; j <= REACHES; j++) {
        vapour[j] = 60.0 - kind.depth;
    }
    kernel_set_vapour(&rig->kernel, 1, vapour);
    if (kind.gas > 0.0) {
        kernel_set_gas(&rig->kernel, 1, kind.gas);
    }
}

static void rig_step(struct rig *rig, struct random *random)
{
    kernel_step(&rig->kernel);
    for (int i = 0; i < 2; i++) {
        kernel_enter(&rig->kernel, i, KERNEL_START, random_even(random, 45.0, 75.0));
        kernel_enter(&rig->kernel, i, KERNEL_END, random_even(random, 40.0, 70.0));
    }
}

/* F of one reach. */
static double law_at(const struct rig *rig, double flow)
{
    return pipe_element.drop(&rig->pipe, &water, flow).head / REACHES;
}

/* --- rest --- */

/* Heads fall by what the law takes, every node has the flow, every term its share of what has
 * always been so; and the second way round too. Nothing moves from there. */
static void check_start(struct kind kind, double flow)
{
    struct rig rig;
    rig_open(&rig, kind, flow);
    const struct kernel_pipe *pipe = &rig.kernel.pipes[1];
    const struct memory *memory = pipe->memory;
    const double lost = law_at(&rig, flow);
    for (int i = 0; i <= REACHES; i++) {
        const double head = 60.0 - lost * i;
        cr_assert_float_eq(kernel_head(&rig.kernel, 1, i), head, 1e-11 * (60.0 + fabs(lost * i)));
        cr_assert_float_eq(kernel_flow(&rig.kernel, 1, i) / flow, 1.0, 1e-10, "%g",
                           kernel_flow(&rig.kernel, 1, i) / flow);
        cr_assert_float_eq(rig.kernel.highest[pipe->first + i], head, 1e-9);
        cr_assert_float_eq(rig.kernel.lowest[pipe->first + i], head, 1e-9);
        for (int k = 0; memory != NULL && k < memory->friction.count; k++) {
            cr_assert_float_eq(memory->flows[k * memory->stride + i],
                               memory->friction.share[k] * flow, 1e-15);
        }
        for (int k = 0; memory != NULL && k < memory->wall.count; k++) {
            cr_assert_float_eq(memory->heads[k * memory->stride + i], memory->wall.share[k] * head,
                               1e-9);
        }
        if (kind.is_unsteady) {
            cr_assert_float_eq(memory->lagging[i], memory->friction.total * flow, 1e-15);
        }
    }
    if (memory != NULL) {
        cr_assert(memory->flow.least == flow && memory->flow.most == flow);
        cr_assert_float_eq(memory->kept.most, fmax(60.0, 60.0 - lost * REACHES), 1e-9);
        cr_assert_float_eq(memory->kept.least, fmin(60.0, 60.0 - lost * REACHES), 1e-9);
    }
    /* g A/a^2 times the integral of H. */
    const double stored = REACHES * (60.0 - 0.5 * lost * REACHES) * 0.025 / 5e3;
    const double gas = kind.gas > 0.0 ? rig.kernel.volume[pipe->first + 9] * REACHES : 0.0;
    cr_assert_float_eq(kernel_stored(&rig.kernel, 1), stored, 1e-12 + gas);
    for (int step = 0; step < 40; step++) {
        kernel_step(&rig.kernel);
        for (int i = 0; i < 2; i++) {
            kernel_enter(&rig.kernel, i, KERNEL_START, 60.0);
            kernel_enter(&rig.kernel, i, KERNEL_END, 60.0 - lost * (i == 0 ? 7 : REACHES));
        }
    }
    for (int i = 0; i <= REACHES; i++) {
        cr_assert_float_eq(kernel_head(&rig.kernel, 1, i), 60.0 - lost * i, 1e-8);
    }
    arena_free(rig.arena);
}

Test(surge_memory, steady_flow_is_told_and_stays)
{
    for (int k = 0; k < KINDS; k++) {
        struct kind calm = kinds[k];
        calm.depth = 1e3;
        check_start(calm, flow_of_start);
        check_start(calm, -flow_of_start);
    }
}

/* Where a reach loses a thousand times what its water needs to be stopped, 2 B Q + F = d still has
 * its flow, since the start is found by Newton's method. */
Test(surge_memory, start_is_found_where_friction_is_nearly_all)
{
    for (int k = 0; k < 4; k++) {
        struct rig rig;
        struct kind rough = kinds[k];
        rough.factor = 4e5;
        rig_open(&rig, rough, flow_of_start);
        cr_assert_gt(law_at(&rig, flow_of_start), 1e2 * 2.0 * 5e3 * flow_of_start);
        for (int i = 0; i <= REACHES; i++) {
            cr_assert_float_eq(kernel_flow(&rig.kernel, 1, i) / flow_of_start, 1.0, 1e-9, "%g",
                               kernel_flow(&rig.kernel, 1, i) / flow_of_start);
        }
        arena_free(rig.arena);
    }
}

/* --- while waves run --- */

/* memory.h: M = (1 + total) H - sum of what is remembered of heads; 2 B Q + F(Q) + total Q = p - m
 * + R; at the nodes that hold no gas and no cavity. */
static void check_views(const struct rig *rig)
{
    const struct kernel *kernel = &rig->kernel;
    const struct kernel_pipe *pipe = &kernel->pipes[1];
    const struct memory *memory = pipe->memory;
    for (int i = 0; i <= REACHES; i++) {
        const double right = row_right(kernel)[pipe->first + i];
        const double left = row_left(kernel)[pipe->first + i];
        double head = 0.5 * (right + left);
        double resisted = 2.0 * pipe->impedance;
        double driven = right - left;
        if (memory != NULL && memory->wall.count > 0) {
            double sum = 0.0;
            for (int k = 0; k < memory->wall.count; k++) {
                sum += memory->heads[k * memory->stride + i];
            }
            head = (head + sum) / (1.0 + memory->wall.total);
        }
        if (memory != NULL && memory->friction.count > 0) {
            for (int k = 0; k < memory->friction.count; k++) {
                driven += memory->flows[k * memory->stride + i];
            }
            resisted += memory->friction.total;
        }
        if (pipe->gas == 0.0 && kernel->cavity_count == 0) {
            cr_assert_float_eq(kernel_head(kernel, 1, i), head, 1e-11);
        }
        const double flow = kernel_flow(kernel, 1, i);
        cr_assert_float_eq(resisted * flow + law_at(rig, flow), driven, 1e-9 * (1.0 + fabs(driven)),
                           "%d", i);
    }
}

/* The head that is set at an end is the head there, what then flows is what was told to flow into
 * the point, and falls with the head as told (difference quotient). */
static void check_ends(struct rig *rig)
{
    for (int side = 0; side < 2; side++) {
        const enum kernel_side end = side == 0 ? KERNEL_START : KERNEL_END;
        const int node = side == 0 ? 0 : REACHES;
        for (double head = 40.0; head < 80.0; head += 7.3) {
            const struct inflow inflow = kernel_inflow(&rig->kernel, 1, end, head);
            const double up = kernel_inflow(&rig->kernel, 1, end, head + 1e-3).flow;
            const double down = kernel_inflow(&rig->kernel, 1, end, head - 1e-3).flow;
            cr_assert_float_eq((down - up) / 2e-3 / inflow.conductance, 1.0, 1e-6, "%d %g: %g",
                               side, head, (down - up) / 2e-3 / inflow.conductance);
            kernel_enter(&rig->kernel, 1, end, head);
            cr_assert_float_eq(kernel_head(&rig->kernel, 1, node), head, 1e-11);
            cr_assert_float_eq(kernel_flow(&rig->kernel, 1, node),
                               side == 0 ? -inflow.flow : inflow.flow, 1e-13);
        }
    }
}

Test(surge_memory, views_are_what_the_equations_say)
{
    for (int k = 0; k < KINDS; k++) {
        struct rig rig;
        struct random random;
        random_seed(&random, 11);
        rig_open(&rig, kinds[k], flow_of_start);
        for (int step = 0; step < 60; step++) {
            rig_step(&rig, &random);
            check_views(&rig);
            if (step % 7 == 6) {
                check_ends(&rig);
            }
        }
        arena_free(rig.arena);
    }
}

/* What flows in and out by the trapezoidal rule is what is stored, whatever walls, gas and cavities
 * do; while some of them open. */
Test(surge_memory, no_water_is_lost)
{
    for (int k = 0; k < KINDS; k++) {
        struct rig rig;
        struct random random;
        random_seed(&random, 12);
        rig_open(&rig, kinds[k], flow_of_start);
        const double before = kernel_stored(&rig.kernel, 1);
        double gained = 0.0;
        bool boiled = false;
        for (int step = 0; step < 300; step++) {
            const double half = 0.5 * rig.kernel.step;
            gained +=
                half * (kernel_flow(&rig.kernel, 1, 0) - kernel_flow(&rig.kernel, 1, REACHES));
            rig_step(&rig, &random);
            gained +=
                half * (kernel_flow(&rig.kernel, 1, 0) - kernel_flow(&rig.kernel, 1, REACHES));
            boiled = boiled || rig.kernel.pipes[1].cavity_count > 0;
            const double stored = kernel_stored(&rig.kernel, 1) - before;
            cr_assert_float_eq(stored, gained, 1e-13, "%d: step %d: %g, %g", k, step, stored,
                               gained);
        }
        cr_assert(boiled || kinds[k].depth > 10.0);
        arena_free(rig.arena);
    }
}

/* --- room --- */

/* Terms of friction (five of fast water), of the wall (five as well), and one sum for friction:
 * each for all nodes, in whole lines of 64 bytes; of long pipes eight lines more than a multiple of
 * a page. */
Test(surge_memory, room_is_what_its_terms_need)
{
    static const int reaches[] = {1, 7, 8, 300, 511, 512, 600, 5000};
    for (int i = 0; i < 8; i++) {
        for (int k = 0; k < 4; k++) {
            struct arena *arena = arena_new();
            struct failure failure;
            struct memory *memory;
            struct pipe pipe = {.friction = {.length = 300.0, .bore = 0.1, .factor = 0.03},
                                .wall = 0.006,
                                .material = wall_find("pe100")};
            const struct memory_wishes wishes = {kinds[k].is_unsteady,
                                                 kinds[k].is_creeping,
                                                 &pipe,
                                                 &water,
                                                 reaches[i],
                                                 400.0,
                                                 0.5,
                                                 0.01};
            cr_assert(memory_new(&memory, &wishes, arena, &failure));
            cr_assert_eq(memory != NULL, k > 0);
            if (memory != NULL) {
                const int friction = memory->friction.count;
                const int wall = memory->wall.count;
                cr_assert(k < 3 || (friction == 5 && wall == 5));
                cr_assert_eq(friction > 0, kinds[k].is_unsteady);
                cr_assert_eq(wall > 0, kinds[k].is_creeping);
                const int64_t lines = memory->stride / 8;
                cr_assert(memory->stride % 8 == 0 && memory->stride > reaches[i]);
                cr_assert(lines <= 64 ? memory->stride < reaches[i] + 9
                                      : lines % 64 == 8 && memory->stride < reaches[i] + 9 + 512);
                cr_assert_eq(last_asked, (friction + wall + (friction > 0) + (wall > 0)) *
                                             (size_t)memory->stride);
                cr_assert(memory->strain == memory->heads + wall * memory->stride);
                cr_assert(memory->flows == memory->strain + (wall > 0) * memory->stride);
                cr_assert(memory->lagging == memory->flows + friction * memory->stride);
                cr_assert_float_eq(memory->stiffness * (1.0 + memory->wall.total), 1.0, 1e-15);
            }
            pipe.material = NULL;
            cr_assert(memory_new(&memory, &wishes, arena, &failure));
            cr_assert_eq(memory != NULL, kinds[k].is_unsteady);
            arena_free(arena);
        }
    }
}

/* A row moves back after 1024 steps and one for every 16 nodes; small grids have one thread;
 * nothing boils until somebody says where. */
Test(surge_memory, kernel_begins_with_room_and_without_boiling)
{
    struct arena *arena = arena_new();
    struct failure failure;
    struct kernel kernel;
    cr_assert(kernel_init(&kernel, 3, (int[]){3000, 41, 2999}, arena, &failure));
    cr_assert_eq(kernel.node_count, 6043);
    cr_assert_eq(kernel.slack, 1024 + 377);
    cr_assert_eq(kernel.workers, 1);
    for (int i = 0; i < 3; i++) {
        cr_assert(kernel.pipes[i].highest_vapour < -1e300 && kernel.pipes[i].is_unbounded);
    }
    for (int i = 0; i < 6043; i++) {
        cr_assert(kernel.vapour[i] < -1e300);
    }
    arena_free(arena);
}

/* --- promises --- */

enum { LONG = 2600, KEPT = 12, PROMISED = 40 };

static void open_long(struct kernel *kernel, struct arena *arena)
{
    struct failure failure;
    cr_assert(kernel_init(kernel, 2, (int[]){30, LONG}, arena, &failure));
    for (int i = 0; i < 2; i++) {
        kernel->pipes[i].impedance = 5e3;
        kernel_start(kernel, i, 60.0, 1e-3);
    }
    kernel->step = 0.01;
}

/* The same with memories, from rest, with a wave already in it. */
static void open_remembering(struct kernel *kernel, struct kind kind, struct arena *arena)
{
    struct failure failure;
    const struct pipe pipe = {.friction = {.length = 9000.0, .bore = 0.1, .factor = kind.factor},
                              .wall = 0.006,
                              .material = wall_find("pe100")};
    open_long(kernel, arena);
    struct kernel_pipe *here = &kernel->pipes[1];
    const struct memory_wishes wishes = {
        kind.is_unsteady, kind.is_creeping, &pipe, &water, LONG, 400.0, 1e-3, 0.01};
    cr_assert(memory_new(&here->memory, &wishes, arena, &failure));
    const struct loss_law law = {&pipe_element,          &pipe, &water, LONG,
                                 memory_impedance(here), 0.008, 1e-3};
    cr_assert(loss_init(&here->loss, &law, arena, &failure));
    kernel_start(kernel, 1, 60.0, 1e-3);
    for (int i = 0; i <= LONG; i++) {
        row_right(kernel)[here->first + i] += 5.0 * sin(0.01 * i);
        row_left(kernel)[here->first + i] += 3.0 * cos(0.017 * i);
    }
}

/* A promise of 40 steps of which only 12 are made: what has been taken one by one at each end is
 * noted as if nothing had gone ahead, and nothing else has changed. */
Test(surge_memory, extremes_are_noted_beside_a_middle_that_is_ahead)
{
    struct arena *arena = arena_new();
    struct kernel kernels[2];
    for (int k = 0; k < 2; k++) {
        open_long(&kernels[k], arena);
        kernel_promise(&kernels[k], k == 0 ? PROMISED : 0);
        for (int step = 0; step < KEPT; step++) {
            kernel_step(&kernels[k]);
            cr_assert_eq(kernels[k].promised, k == 0 ? PROMISED - 1 - step : 0);
            for (int i = 0; i < 2; i++) {
                kernel_enter(&kernels[k], i, KERNEL_START, 60.0 + 9.0 * step);
                kernel_enter(&kernels[k], i, KERNEL_END, 60.0 - 7.0 * step);
            }
        }
        kernel_note_extremes(&kernels[k]);
    }
    cr_assert(kernels[0].pipes[1].is_ahead && !kernels[0].pipes[0].is_ahead);
    cr_assert_eq(ahead_end(&kernels[0], &kernels[0].pipes[1]), KEPT);
    for (int i = 0; i < 31 + LONG + 1; i++) {
        cr_assert_eq(kernels[0].highest[i], kernels[1].highest[i], "%d", i);
        cr_assert_eq(kernels[0].lowest[i], kernels[1].lowest[i], "%d", i);
    }
    cr_assert_float_eq(kernels[0].highest[31], 60.0 + 9.0 * (KEPT - 1), 1e-9);
    cr_assert_float_eq(kernels[0].lowest[31 + LONG], 60.0 - 7.0 * (KEPT - 1), 1e-9);
    arena_free(arena);
}

/* Of all kinds, with waves that come and go: many steps at once in the middle are those made one by
 * one, to the last digit. */
Test(surge_memory, middles_that_remember_go_ahead_as_they_would_step_by_step)
{
    for (int k = 1; k < 4; k++) {
        struct arena *arena = arena_new();
        struct kernel kernels[2];
        for (int j = 0; j < 2; j++) {
            open_remembering(&kernels[j], kinds[k], arena);
            for (int step = 0; step < 5 + PROMISED; step++) {
                const bool is_free = j == 1 || step < 5;
                kernel_promise(&kernels[j], is_free ? 0 : 5 + PROMISED - step);
                kernel_step(&kernels[j]);
                for (int i = 0; i < 2; i++) {
                    kernel_enter(&kernels[j], i, KERNEL_START, 60.0 + 9.0 * sin(0.7 * step));
                    kernel_enter(&kernels[j], i, KERNEL_END, 60.0 - 7.0 * (step % 11));
                }
                cr_assert_eq(kernels[j].pipes[1].is_ahead && kernels[j].ahead > 0,
                             !is_free && step < 4 + PROMISED);
            }
        }
        for (int i = 0; i < 31 + LONG + 1; i++) {
            cr_assert_eq(row_right(&kernels[0])[i], row_right(&kernels[1])[i], "%d %d", k, i);
            cr_assert_eq(row_left(&kernels[0])[i], row_left(&kernels[1])[i], "%d %d", k, i);
            cr_assert_eq(kernels[0].highest[i], kernels[1].highest[i], "%d %d", k, i);
            cr_assert_eq(kernels[0].lowest[i], kernels[1].lowest[i], "%d %d", k, i);
        }
        for (int i = 0; i <= LONG; i++) {
            cr_assert_eq(kernel_head(&kernels[0], 1, i), kernel_head(&kernels[1], 1, i));
            cr_assert_eq(kernel_flow(&kernels[0], 1, i), kernel_flow(&kernels[1], 1, i));
        }
        arena_free(arena);
    }
}

/* Bounds are looked at anew where they say that water could boil, and only there; where it then
 * does not boil they are kept. */
Test(surge_memory, bounds_are_found_anew_where_they_say_it_boils)
{
    for (int could = 0; could < 3; could++) {
        struct arena *arena = arena_new();
        struct kernel kernel;
        double vapour[31];
        open_long(&kernel, arena);
        struct kernel_pipe *pipe = &kernel.pipes[0];
        for (int i = 0; i < 31; i++) {
            vapour[i] = could == 0 ? -100.0 : 20.0;
        }
        kernel_set_vapour(&kernel, 0, vapour);
        kernel_step(&kernel);
        kernel_enter(&kernel, 0, KERNEL_START, 60.0);
        kernel_enter(&kernel, 0, KERNEL_END, 60.0);
        if (could == 2) {
            row_right(&kernel)[3] = row_left(&kernel)[20] = 10.0;
        }
        pipe->least_right = -30.0; /* loose */
        pipe->bounds_age = 5;
        kernel_step(&kernel);
        cr_assert_eq(pipe->bounds_age, could == 0 ? 6 : 0);
        cr_assert_float_eq(pipe->least_right, ((double[]){-30.0, 60.0, 10.0})[could], 6.0);
        cr_assert_eq(pipe->lowest_next < pipe->highest_vapour, could == 2);
        cr_assert_not(pipe->is_unbounded);
        arena_free(arena);
    }
}
