/* How long the surge of the demonstration site takes, and what of it the elements between the pipes
 * need; beside bare waves in as many nodes (bare_waves.h) and the elements alone, in the same
 * process. A measurement, no test:
 *   cmake --build build --target bench_surge && build/bench_surge [CASE.yaml] */
#include "io/door/door.h"
#include "models/pipe.h"
#include "solver/surge/grid.h"
#include "solver/surge/groups.h"
#include "solver/surge/memory.h"
#include "solver/surge/plan.h"
#include "solver/surge/surge.h"
#include "tests/bench/bare_waves.h"
#include "tests/bench/measure.h"

#include <math.h>
#include <stdio.h>

enum { TRIALS = 3 };

struct parts {
    struct grid grid;
    struct kernel kernel;
    struct groups groups;
    struct plan plan;
};

/* As the engine does, but for gas in cavities and heads at which water boils. */
static bool make_pipes(struct parts *parts, const struct site *site, const struct steady *start,
                       struct arena *arena, struct failure *failure)
{
    for (int i = 0; i < parts->grid.pipe_count; i++) {
        const struct link *link = &site->network->links[parts->grid.link[i]];
        struct kernel_pipe *pipe = &parts->kernel.pipes[i];
        const double flow = start->flow[parts->grid.link[i]];
        pipe->impedance = parts->grid.wave_speed[i] / (site->water.gravity * link->area);
        const struct memory_wishes wishes = {
            .friction = site->surge.is_friction_unsteady,
            .wall = site->surge.is_wall_creeping,
            .pipe = link->element->pipe(link->data),
            .water = &site->water,
            .reaches = pipe->reaches,
            .wave_speed = parts->grid.wave_speed[i],
            .steady_flow = flow,
            .step = parts->grid.step,
        };
        if (!memory_new(&pipe->memory, &wishes, arena, failure)) {
            return false;
        }
        const struct loss_law law = {
            link->element,          link->data, &site->water, pipe->reaches,
            memory_impedance(pipe), link->area, flow};
        if (!loss_init(&pipe->loss, &law, arena, failure)) {
            return false;
        }
        kernel_start(&parts->kernel, i, start->head[link->from], flow);
    }
    return true;
}

static bool make(struct parts *parts, const struct site *site, const struct steady *start,
                 struct arena *arena, struct failure *failure)
{
    const struct surge_options *options = &surge_defaults;
    const struct grid_wishes wishes = {
        .duration = site->surge.duration,
        .largest_step = site->surge.largest_step,
        .reaches = site->surge.reaches,
        .wave_speed_change = options->wave_speed_change,
        .stub_crossing = options->stub_crossing,
        .stub_time = options->stub_time,
        .refinement = 1,
    };
    if (!grid_init(&parts->grid, site->network, &site->water, &wishes, arena, failure) ||
        !kernel_init(&parts->kernel, parts->grid.pipe_count, parts->grid.reaches, arena, failure)) {
        return false;
    }
    parts->kernel.step = parts->grid.step;
    return make_pipes(parts, site, start, arena, failure) &&
           groups_init(&parts->groups, site, site->network, &parts->grid, &parts->kernel, start,
                       arena, failure) &&
           plan_init(&parts->plan, &site->surge, site->network, arena, failure);
}

/* Seconds in the kernel and in the groups over a whole run. */
static bool run_parts(struct parts *parts, int steps, double *kernel, double *groups)
{
    *kernel = 0.0;
    *groups = 0.0;
    double before = bare_now();
    const double clock = bare_now() - before; /* what a look at the clock costs */
    for (int i = 1; i <= steps; i++) {
        const double time = i * parts->grid.step;
        before = bare_now();
        kernel_step(&parts->kernel);
        const double between = bare_now();
        plan_set(&parts->plan, time, 1e-9 * parts->grid.step);
        if (groups_step(&parts->groups, time, parts->grid.step, parts->plan.setting) !=
            NETWORK_NONE) {
            return false;
        }
        *kernel += between - before - clock;
        *groups += bare_now() - between - clock;
    }
    return true;
}

static void tell(const struct parts *parts, int steps, double whole, double kernel, double groups)
{
    const double per_step = 1e6 / steps;
    const int nodes = (int)parts->kernel.node_count;
    const int elements = parts->groups.cavity_first;
    const int rounds = 20000000 / nodes + 1;
    const double bare = nodes / bare_characteristic(nodes, rounds) * steps;
    printf("steps %d, nodes %d, elements between pipes %d, groups %d, points %d\n", steps, nodes,
           elements, parts->groups.group_count, parts->groups.network->point_count);
    printf("a step, us: whole %.3f, kernel %.3f, groups %.3f, bare kernel %.3f\n", whole * per_step,
           kernel * per_step, groups * per_step, bare * per_step);
    printf("groups, us an element and step: %.3f (wanted 1)\n", groups * per_step / elements);
    printf("bare kernel + groups as a share of the whole: %.2f (wanted 0.6)\n",
           (bare + groups) / whole);
    measure_row("surge of the demonstration site, a step", whole * per_step, "us",
                "bare kernel + groups, share", (bare + groups) / whole, WISH_AT_LEAST, 0.6);
    const double each = groups * per_step / elements;
    measure_row("  groups, an element and step", each, "us", "(microseconds)", each, WISH_AT_MOST,
                1.0);
}

static bool solve(const struct site *site, struct steady *start, struct arena *arena,
                  struct failure *failure)
{
    struct steady_solver *solver = steady_solver_new(site->network, failure);
    const bool is_done =
        solver != NULL && steady_init(start, site->network, arena, failure) &&
        steady_solve(solver, site->network, &site->water, &steady_defaults, start, failure);
    steady_solver_free(solver);
    return is_done;
}

static int run(const char *path, struct arena *arena)
{
    struct failure failure = {0};
    struct faults faults;
    struct site *site = NULL;
    struct steady start;
    struct surge result;
    faults_init(&faults, arena);
    if (!read_site(path, arena, &site, &faults) || !solve(site, &start, arena, &failure)) {
        return 1;
    }
    double whole = INFINITY;
    double kernel = INFINITY;
    double groups = INFINITY;
    struct parts *parts = arena_take(arena, 1, sizeof *parts);
    for (int trial = 0; trial < TRIALS && parts != NULL; trial++) {
        const double before = bare_now();
        if (!surge_run_plan(site, site->network, &start, &surge_defaults, &result, arena,
                            &failure)) {
            return 1;
        }
        whole = fmin(whole, bare_now() - before);
        double here = 0.0;
        double there = 0.0;
        if (!make(parts, site, &start, arena, &failure) ||
            !run_parts(parts, result.step_count, &here, &there)) {
            return 1;
        }
        kernel = fmin(kernel, here);
        groups = fmin(groups, there);
    }
    if (!parts) {
        return 1;
    }
    tell(parts, result.step_count, whole, kernel, groups);
    return 0;
}

int main(int count, char **words)
{
    struct arena *arena = arena_new();
    const int code =
        arena ? run(count > 1 ? words[1] : SOURCE_DIR "/cases/alder-beck.yaml", arena) : 1;
    arena_free(arena);
    return code;
}
