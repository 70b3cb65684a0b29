/* The ends of pipes and short pipes at each point, beside sums over all links. */
#include "solver/surge/ends.h"
#include "tests/solver/random_numbers.h"
#include "tests/solver/surge_rig_parts.h"

#include <criterion/criterion.h>

enum { POINTS = 7, PIPES = 6, STUBS = 4, LINKS = PIPES + STUBS };

/* Links at random among the points but the last, every third a short pipe. */
struct bundle {
    struct arena *arena;
    struct water water;
    struct pipe pipes[LINKS];
    struct point points[POINTS];
    struct link links[LINKS];
    struct network network;
    int pipe_link[PIPES];
    int stub_link[STUBS];
    struct grid grid;
    struct kernel kernel;
    struct stub stubs[STUBS];
    struct ends ends;
};

static void add_link(struct bundle *bundle, int i, struct random *random)
{
    struct failure failure;
    const bool is_stub = i % 3 == 2 || i == LINKS - 1;
    const double flow = random_even(random, -1e-2, 1e-2);
    struct link *link = &bundle->links[i];
    bundle->pipes[i] =
        (struct pipe){.friction = {.length = 10.0, .bore = 0.1}, .stated_wave_speed = 1000.0};
    *link = (struct link){.from = random_pick(random, POINTS - 1),
                          .area = random_spread(random, 1e-3, 1e-1),
                          .element = &rig_smooth_pipe,
                          .data = &bundle->pipes[i]};
    link->to = (link->from + 1 + random_pick(random, POINTS - 2)) % (POINTS - 1);
    if (is_stub) {
        const int stub = bundle->grid.stub_count++;
        const struct stub_wishes wishes = {.link = link,
                                           .water = &bundle->water,
                                           .step = random_even(random, 3e-3, 2e-2),
                                           .head_start = random_even(random, 0, 50),
                                           .flow = flow};
        bundle->stub_link[stub] = i;
        cr_assert(stub_init(&bundle->stubs[stub], &wishes, bundle->arena, &failure));
        return;
    }
    const int pipe = bundle->grid.pipe_count++;
    bundle->pipe_link[pipe] = i;
    bundle->kernel.pipes[pipe].impedance = random_spread(random, 1e2, 1e5);
    bundle->kernel.pipes[pipe].gas = random_spread(random, 1e-9, 1e-6);
    kernel_start(&bundle->kernel, pipe, random_even(random, 0, 50), flow);
}

static void open_bundle(struct bundle *bundle, uint64_t seed)
{
    static const int reaches[PIPES] = {2, 3, 2, 4, 2, 2};
    struct failure failure;
    struct random random;
    random_seed(&random, seed);
    *bundle = (struct bundle){.arena = arena_new(),
                              .water = {.gravity = 9.81, .density = 1000, .viscosity = 1e-6}};
    cr_assert(kernel_init(&bundle->kernel, PIPES, reaches, bundle->arena, &failure));
    bundle->grid.link = bundle->pipe_link;
    bundle->grid.stub = bundle->stub_link;
    for (int i = 0; i < LINKS; i++) {
        add_link(bundle, i, &random);
    }
    bundle->network = (struct network){.point_count = POINTS,
                                       .points = bundle->points,
                                       .link_count = LINKS,
                                       .links = bundle->links};
    cr_assert(ends_init(&bundle->ends, &bundle->network, &bundle->grid, bundle->stubs,
                        bundle->arena, &failure));
}

/* What a point gets, by asking every link of the network whether it ends there. */
static void check_point(const struct bundle *bundle, int point)
{
    const double head = 7.0 * point;
    struct inflow sum = {0.0, 0.0};
    double impedance = 0.0;
    double gas = 0.0;
    for (int end = 0; end < 2 * PIPES; end++) {
        const int pipe = end / 2;
        const struct link *link = &bundle->links[bundle->pipe_link[pipe]];
        if ((end % 2 == 0 ? link->from : link->to) == point) {
            const struct inflow here = kernel_inflow(
                &bundle->kernel, pipe, end % 2 == 0 ? KERNEL_START : KERNEL_END, head);
            sum = (struct inflow){sum.flow + here.flow, sum.conductance + here.conductance};
            impedance = fmax(impedance, bundle->kernel.pipes[pipe].impedance);
            gas += bundle->kernel.pipes[pipe].gas / 2.0;
        }
    }
    for (int end = 0; end < 2 * STUBS; end++) {
        const struct stub *stub = &bundle->stubs[end / 2];
        const struct link *link = &bundle->links[bundle->stub_link[end / 2]];
        if ((end % 2 == 0 ? link->from : link->to) == point) {
            const struct inflow here =
                stub_inflow(stub, end % 2 == 0 ? KERNEL_START : KERNEL_END, head);
            sum = (struct inflow){sum.flow + here.flow, sum.conductance + here.conductance};
            impedance = fmax(impedance, stub->impedance);
        }
    }
    const struct inflow found = ends_inflow(&bundle->ends, &bundle->kernel, point, head);
    cr_expect_float_eq(found.flow, sum.flow, 1e-12 * (1.0 + fabs(sum.flow)));
    cr_expect_float_eq(found.conductance, sum.conductance, 1e-12 * (1.0 + sum.conductance));
    cr_expect_eq(ends_impedance(&bundle->ends, &bundle->kernel, point), impedance);
    cr_expect_float_eq(ends_gas(&bundle->ends, &bundle->kernel, point), gas, 1e-18);
}

/* After a head went in, each of the pipes at that point has it at its end and no other pipe has. */
static void check_entry(struct bundle *bundle, int point)
{
    const double head = 1000.0 + point;
    ends_enter(&bundle->ends, &bundle->kernel, point, head);
    for (int end = 0; end < 2 * PIPES; end++) {
        const int pipe = end / 2;
        const struct link *link = &bundle->links[bundle->pipe_link[pipe]];
        const int node = end % 2 == 0 ? 0 : bundle->kernel.pipes[pipe].reaches;
        const bool is_here = (end % 2 == 0 ? link->from : link->to) == point;
        const double there = kernel_head(&bundle->kernel, pipe, node);
        cr_expect_eq(fabs(there - head) < 1e-9, is_here, "point %d pipe %d", point, pipe);
    }
}

Test(surge_ends, points_get_what_their_own_pipes_give)
{
    for (uint64_t seed = 1; seed <= 30; seed++) {
        struct bundle bundle;
        open_bundle(&bundle, seed);
        cr_assert_eq(bundle.grid.pipe_count, PIPES);
        for (int i = 0; i < POINTS; i++) {
            check_point(&bundle, i);
        }
        for (int i = 0; i < POINTS; i++) {
            check_entry(&bundle, i);
        }
        arena_free(bundle.arena);
    }
}
