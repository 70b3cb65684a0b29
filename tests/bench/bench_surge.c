/* How long the surge of the demonstration site takes, and what of it the elements between the pipes
 * need; beside the elements alone and a bare kernel in as many nodes, in the same process. Where
 * the site's friction is unsteady, so is the bare kernel's (bare_memories.h), as both have to
 * remember; beside waves that remember nothing (bare_waves.h) a second row says what share they
 * would be. A measurement, no test:
 *   cmake --build build --target bench_surge && build/bench_surge [CASE.yaml] */
#include "io/door/door.h"
#include "models/pipe.h"
#include "solver/surge/grid.h"
#include "solver/surge/groups.h"
#include "solver/surge/memory.h"
#include "solver/surge/plan.h"
#include "solver/surge/surge.h"
#include "tests/bench/bare_memories.h"
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

/* What a look at the clock costs, s: the least of many, as other work may come between two. */
static double look_time(void)
{
    enum { LOOKS = 1000 };
    double least = INFINITY;
    for (int i = 0; i < LOOKS; i++) {
        const double before = bare_now();
        least = fmin(least, bare_now() - before);
    }
    return least;
}

/* Seconds in the kernel and in the groups over a whole run. */
static bool run_parts(struct parts *parts, int steps, double *kernel, double *groups)
{
    *kernel = 0.0;
    *groups = 0.0;
    const double clock = look_time();
    for (int i = 1; i <= steps; i++) {
        const double time = i * parts->grid.step;
        const double before = bare_now();
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

/* Microseconds that plain loops take for a step of all nodes: waves that remember nothing, or as
 * the site's do. */
static double bare_step_time(const struct parts *parts, bool remembers)
{
    const int nodes = (int)parts->kernel.node_count;
    const int rounds = 20000000 / nodes + 1;
    return 1e6 * nodes /
           (remembers ? bare_remembering(nodes, rounds) : bare_characteristic(nodes, rounds));
}

static void tell(const struct parts *parts, bool remembers, int steps, double whole, double kernel,
                 double groups)
{
    const double per_step = 1e6 / steps;
    const int elements = parts->groups.cavity_first;
    const double waves = bare_step_time(parts, false);
    const double bare = remembers ? bare_step_time(parts, true) : waves;
    printf("steps %d, nodes %d, elements between pipes %d, groups %d, points %d\n", steps,
           (int)parts->kernel.node_count, elements, parts->groups.group_count,
           parts->groups.network->point_count);
    whole *= per_step;
    kernel *= per_step;
    groups *= per_step;
    printf("a step, us: whole %.3f, kernel %.3f, groups %.3f, neither %.3f; bare kernel %.3f, "
           "without memory %.3f\n",
           whole, kernel, groups, whole - kernel - groups, bare, waves);
    measure_row("surge of the demonstration site, a step", whole, "us",
                "bare kernel with its friction + groups, share", (bare + groups) / whole,
                WISH_AT_LEAST, 0.6);
    measure_row("  the same", whole, "us", "bare waves without memory + groups, share",
                (waves + groups) / whole, WISH_NONE, 0.0);
    measure_row("  groups, an element and step", groups / elements, "us", "(microseconds)",
                groups / elements, WISH_AT_MOST, 1.0);
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
    tell(parts, site->surge.is_friction_unsteady, result.step_count, whole, kernel, groups);
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
