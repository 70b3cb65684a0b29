/* One pass over a pipe that remembers beside the equations of memory.h and fading.h, node by node:
 * every law, every number of terms, gas and cavities, any stretch. */
#include "models/pipe.h"
#include "solver/surge/fading.h"
#include "solver/surge/kernel.h"
#include "solver/surge/memory.h"
#include "tests/solver/random_numbers.h"

#include <criterion/criterion.h>
#include <math.h>
#include <string.h>

enum { REACHES = 300, NODES = REACHES + 1, TERMS = 6 };

static const struct water water = {
    .gravity = 9.81, .viscosity = 1e-6, .density = 1000.0, .bulk_modulus = 2.19e9};

/* What a pipe has. */
struct kind {
    double flow;   /* m3/s, steady; how many terms friction has hangs on it; 0: none */
    int parts;     /* of the wall */
    double factor; /* of friction; 0: by table; below: none */
    double gas;    /* m4 */
    double depth;  /* m under its first head, at which water boils */
};

static const struct kind kinds[] = {
    {0.2, 0, 0.03, 0.0, 1e6},  {4e-3, 0, 0.0, 0.0, 1e6},  {1.2e-3, 0, 0.03, 0.0, 1e6},
    {1e-5, 0, 0.0, 0.0, 1e6},  {0.0, 1, 0.03, 0.0, 1e6},  {0.0, 2, 0.0, 0.0, 1e6},
    {0.0, 3, -1.0, 0.0, 1e6},  {0.0, 4, 30.0, 0.0, 1e6},  {0.0, 5, 0.0, 0.0, 1e6},
    {0.0, 6, 0.03, 0.0, 1e6},  {4e-3, 5, 0.0, 0.0, 1e6},  {4e-3, 3, -1.0, 0.0, 1e6},
    {4e-3, 0, -1.0, 0.0, 1e6}, {4e-3, 0, 30.0, 0.0, 1e6}, {4e-3, 0, 0.03, 1e-5, 20},
    {4e-3, 4, 0.03, 1e-5, 20}, {0.0, 4, 0.03, 1e-5, 20},  {4e-3, 0, 0.0, 0.0, 8},
    {4e-3, 5, 0.0, 0.0, 8},    {0.0, 5, 0.03, 0.0, 8}};
enum { KINDS = sizeof kinds / sizeof kinds[0] };

struct rig {
    struct arena *arena;
    struct kernel kernel;
    struct pipe pipe;
    struct wall wall;
};

/* The second of two pipes is looked at. */
static void rig_open(struct rig *rig, const struct kind *kind)
{
    struct failure failure;
    double vapour[NODES];
    const double flow = kind->flow > 0.0 ? kind->flow : 2e-3;
    *rig = (struct rig){.arena = arena_new(), .wall = *wall_find("pe100")};
    rig->wall.creep_count = kind->parts;
    rig->wall.creep_time[5] = 0.2;
    rig->wall.creep_compliance[5] = 0.5e-10;
    rig->pipe =
        (struct pipe){.friction = {.length = 300.0, .bore = 0.1, .roughness = 1e-5}, .wall = 0.006};
    rig->pipe.friction.factor = fmax(kind->factor, 0.0);
    rig->pipe.material = &rig->wall;
    cr_assert(kernel_init(&rig->kernel, 2, (int[]){7, REACHES}, rig->arena, &failure));
    rig->kernel.step = 0.0025;
    for (int i = 0; i < 2; i++) {
        struct kernel_pipe *here = &rig->kernel.pipes[i];
        here->impedance = 5e3;
        const struct memory_wishes wishes = {
            kind->flow > 0.0, kind->parts > 0, &rig->pipe, &water,
            REACHES,          400.0,           flow,       rig->kernel.step};
        cr_assert(memory_new(&here->memory, &wishes, rig->arena, &failure));
        const struct loss_law law = {&pipe_element,          &rig->pipe, &water, REACHES,
                                     memory_impedance(here), 0.008,      flow};
        cr_assert(kind->factor < 0.0 || loss_init(&here->loss, &law, rig->arena, &failure));
        kernel_start(&rig->kernel, i, 60.0, fmin(flow, 4e-3));
    }
    for (int j = 0; j < NODES; j++) {
        vapour[j] = 60.0 - kind->depth;
    }
    kernel_set_vapour(&rig->kernel, 1, vapour);
    if (kind->gas > 0.0) {
        kernel_set_gas(&rig->kernel, 1, kind->gas);
    }
}

/* Slow waves and steep ones, both ways. */
static void rig_step(struct rig *rig, int step)
{
    kernel_step(&rig->kernel);
    for (int i = 0; i < 2; i++) {
        kernel_enter(&rig->kernel, i, KERNEL_START,
                     60.0 + 25.0 * sin(0.031 * step) - (step / 40 % 2 == 1 ? 15.0 : 0.0));
        kernel_enter(&rig->kernel, i, KERNEL_END, 55.0 - 20.0 * sin(0.043 * step));
    }
}

/* All that a node has. */
struct node {
    double right, left, highest, lowest, lagging, strain;
    double flows[FADING_TERMS];
    double heads[TERMS];
};

/* Takes it from the kernel, or puts it back. */
static void copy_nodes(const struct rig *rig, struct node node[NODES], bool is_back)
{
    const struct kernel *kernel = &rig->kernel;
    const struct kernel_pipe *pipe = &kernel->pipes[1];
    struct memory *memory = pipe->memory;
    for (int i = 0; i < NODES; i++) {
        double *of_kernel[] = {&row_right(kernel)[pipe->first + i],
                               &row_left(kernel)[pipe->first + i],
                               &kernel->highest[pipe->first + i], &kernel->lowest[pipe->first + i]};
        double *here[] = {&node[i].right, &node[i].left, &node[i].highest, &node[i].lowest};
        for (int k = 0; k < 4; k++) {
            *(is_back ? of_kernel[k] : here[k]) = *(is_back ? here[k] : of_kernel[k]);
        }
        for (int k = 0; k < memory->friction.count; k++) {
            double *term = &memory->flows[k * memory->stride + i];
            *(is_back ? term : &node[i].flows[k]) = *(is_back ? &node[i].flows[k] : term);
        }
        for (int k = 0; k < memory->wall.count; k++) {
            double *term = &memory->heads[k * memory->stride + i];
            *(is_back ? term : &node[i].heads[k]) = *(is_back ? &node[i].heads[k] : term);
        }
        if (memory->friction.count > 0) {
            double *lagging = &memory->lagging[i];
            *(is_back ? lagging : &node[i].lagging) = *(is_back ? &node[i].lagging : lagging);
        }
        if (memory->wall.count > 0) {
            double *strain = &memory->strain[i];
            *(is_back ? strain : &node[i].strain) = *(is_back ? &node[i].strain : strain);
        }
    }
}

/* Q and H as the views tell them: p and m both lose 2 (M - H), p loses p - m - 2 B Q and m gains
 * it; the terms take H and Q. */
static struct node plain_node(const struct rig *rig, struct node node, int i)
{
    const struct kernel_pipe *pipe = &rig->kernel.pipes[1];
    const struct memory *memory = pipe->memory;
    const double flow = kernel_flow(&rig->kernel, 1, i);
    const double head = kernel_head(&rig->kernel, 1, i);
    const double lost = node.right - node.left - 2.0 * pipe->impedance * flow;
    double given = 2.0 * memory->wall.total * head;
    node.strain = 0.0;
    for (int k = 0; k < memory->wall.count; k++) {
        given -= 2.0 * node.heads[k];
        node.heads[k] = memory->wall.fade[k] * node.heads[k] + memory->wall.push[k] * head;
        node.strain += node.heads[k];
    }
    node.lagging = 0.0;
    for (int k = 0; k < memory->friction.count; k++) {
        node.flows[k] = memory->friction.fade[k] * node.flows[k] + memory->friction.push[k] * flow;
        node.lagging += node.flows[k];
    }
    node.right -= lost + given;
    node.left += lost - given;
    node.highest = fmax(node.highest, head);
    node.lowest = fmin(node.lowest, head);
    return node;
}

static bool has_cavity(const struct kernel *kernel, int i)
{
    for (int64_t j = 0; j < kernel->cavity_count; j++) {
        if (kernel->cavities[j].node == kernel->pipes[1].first + i) {
            return true;
        }
    }
    return false;
}

/* To round-off; what is noted at a cavity the kernel mends. */
static void check_node(const struct rig *rig, const struct node *here, const struct node *wanted,
                       int i, int kind)
{
    const struct memory *memory = rig->kernel.pipes[1].memory;
    cr_assert_float_eq(here->right, wanted->right, 1e-10, "%d %d: %g", kind, i,
                       here->right - wanted->right);
    cr_assert_float_eq(here->left, wanted->left, 1e-10, "%d %d", kind, i);
    if (!has_cavity(&rig->kernel, i)) {
        cr_assert_float_eq(here->highest, wanted->highest, 1e-10, "%d %d", kind, i);
        cr_assert_float_eq(here->lowest, wanted->lowest, 1e-10, "%d %d", kind, i);
    }
    for (int k = 0; k < memory->friction.count; k++) {
        cr_assert_float_eq(here->flows[k], wanted->flows[k], 1e-13, "%d %d", kind, i);
    }
    for (int k = 0; k < memory->wall.count; k++) {
        cr_assert_float_eq(here->heads[k], wanted->heads[k], 1e-12, "%d %d", kind, i);
    }
    if (memory->friction.count > 0) {
        cr_assert_float_eq(here->lagging, wanted->lagging, 1e-12, "%d %d", kind, i);
    }
    if (memory->wall.count > 0) {
        cr_assert_float_eq(here->strain, wanted->strain, 1e-12, "%d %d", kind, i);
    }
}

/* One pass over some of its nodes; the others stay; then all is as before. */
static void check_pass(struct rig *rig, int from, int count, struct random *random, int kind)
{
    static struct node before[NODES];
    static struct node wanted[NODES];
    static struct node here[NODES];
    struct kernel *kernel = &rig->kernel;
    const struct kernel_pipe *pipe = &kernel->pipes[1];
    copy_nodes(rig, before, false);
    for (int i = 0; i < NODES; i++) {
        wanted[i] = before[i];
        wanted[i].highest = kernel->highest[pipe->first + i] = random_even(random, 40.0, 70.0);
        wanted[i].lowest = kernel->lowest[pipe->first + i] = random_even(random, 30.0, 60.0);
    }
    kernel->head[pipe->first] = kernel_head(kernel, 1, 0);
    kernel->head[pipe->first + REACHES] = kernel_head(kernel, 1, REACHES);
    for (int i = from; i < from + count; i++) {
        wanted[i] = plain_node(rig, wanted[i], i);
    }
    memory_step(kernel, pipe, from, count);
    copy_nodes(rig, here, false);
    for (int i = 0; i < NODES; i++) {
        check_node(rig, &here[i], &wanted[i], i, kind);
    }
    copy_nodes(rig, before, true);
}

Test(surge_memory_step, pass_is_that_of_the_equations)
{
    for (int k = 0; k < (int)KINDS; k++) {
        struct rig rig;
        struct random random;
        bool boiled = false;
        random_seed(&random, 31);
        rig_open(&rig, &kinds[k]);
        for (int step = 1; step <= 400; step++) {
            rig_step(&rig, step);
            boiled = boiled || rig.kernel.pipes[1].cavity_count > 3;
            if (step % 16 == 0) {
                const int from = step % 32 == 0 ? 0 : random_pick(&random, NODES);
                const int count = step % 32 == 0 ? NODES : 1 + random_pick(&random, NODES - from);
                check_pass(&rig, from, count, &random, k);
            }
        }
        cr_assert(boiled || kinds[k].depth > 10.0, "%d", k);
        arena_free(rig.arena);
    }
}

/* Friction of five to eight terms, walls of one to six, as the kinds are meant. */
Test(surge_memory_step, kinds_have_all_numbers_of_terms)
{
    int friction[FADING_TERMS + 1] = {0};
    int wall[TERMS + 1] = {0};
    for (int k = 0; k < (int)KINDS; k++) {
        struct rig rig;
        rig_open(&rig, &kinds[k]);
        friction[rig.kernel.pipes[1].memory->friction.count]++;
        wall[rig.kernel.pipes[1].memory->wall.count]++;
        arena_free(rig.arena);
    }
    cr_expect(friction[5] > 0 && friction[6] > 0 && friction[7] > 0 && friction[8] > 0);
    for (int i = 0; i <= TERMS; i++) {
        cr_expect(wall[i] > 0, "%d", i);
    }
}

/* A value that always was so stands at total times it; afterwards what is told is the sum of terms.
 */
Test(surge_memory_step, sums_are_those_of_the_terms)
{
    struct fading fading = {.count = 0};
    double term[FADING_TERMS];
    for (int k = 0; k < FADING_TERMS; k++) {
        fading_add(&fading, 0.3 + 0.1 * k, 0.05 * (1 + k));
    }
    cr_expect_float_eq(fading.total, 5.2, 1e-14);
    cr_expect_float_eq(fading_start(&fading, 7.0, term), 7.0 * 5.2, 1e-13);
    cr_expect_float_eq(fading_step(&fading, 7.0, term), 7.0 * 5.2, 1e-13);
    const double told = fading_step(&fading, -2.0, term);
    double sum = 0.0;
    for (int k = 0; k < FADING_TERMS; k++) {
        const double left = exp(-0.05 * (1 + k));
        cr_expect_float_eq(term[k], (0.3 + 0.1 * k) * (-2.0 + 9.0 * left), 1e-14);
        sum += term[k];
    }
    cr_expect_float_eq(told, sum, 1e-14);
}
