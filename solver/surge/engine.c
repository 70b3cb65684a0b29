#include "models/pipe.h"
#include "solver/surge/memory.h"
#include "solver/surge/profile.h"
#include "solver/surge/record.h"
#include "solver/surge/surge.h"

#include <math.h>
#include <stddef.h>

const struct surge_options surge_defaults = {
    .wave_speed_change = 0.15,
    .stub_crossing = 0.02,
    .stub_time = 1.0,
    .refinement = 1,
    .series_limit = 4000,
};

/* Shares of the run told to the progress callback. */
enum { PROGRESS_PARTS = 200 };

/* Volume of free gas at air pressure in a volume of water, small enough to leave wave speeds alone
 * (Wylie & Streeter 1993, ch. 8: at most 1e-7 to stand for vapour, from memory). */
static const double gas_share = 1e-7;

/* Times nearer than this share of a step are the same. */
static const double time_blur = 1e-9;

/* Everything one run needs. */
struct engine {
    struct grid grid;
    struct kernel kernel;
    struct groups groups;
    struct plan plan;
    struct record record;
};

static bool make_grid(struct engine *engine, const struct site *site, const struct network *network,
                      const struct surge_options *options, struct arena *arena,
                      struct failure *failure)
{
    if (!(site->surge.duration > 0.0) || !isfinite(site->surge.duration)) {
        return fail(failure, FAILURE_INPUT, site->surge.place,
                    "surge: needs a duration above 0 s; it is %.4g s", site->surge.duration);
    }
    struct grid_wishes wishes = {
        .place = site->surge.place,
        .duration = site->surge.duration,
        .largest_step = site->surge.largest_step,
        .reaches = site->surge.reaches,
        .wave_speed_change = options->wave_speed_change,
        .stub_crossing = options->stub_crossing,
        .stub_time = options->stub_time,
        .refinement = options->refinement > 1 ? options->refinement : 1,
    };
    return grid_init(&engine->grid, network, &site->water, &wishes, arena, failure);
}

/* The heads at which water boils along a pipe. */
static bool set_vapour(struct kernel *kernel, int number, const struct link *link, double vapour,
                       struct arena *arena, struct failure *failure)
{
    int reaches = kernel->pipes[number].reaches;
    const struct pipe *pipe = link->element->pipe(link->data);
    double *heads = arena_take(arena, (size_t)reaches + 1, sizeof *heads);
    if (heads == NULL) {
        return fail_memory(failure, "surge pipes");
    }
    for (int i = 0; i <= reaches; i++) {
        heads[i] = pipe_elevation(pipe, pipe->friction.length * i / reaches) + vapour;
    }
    kernel_set_vapour(kernel, number, heads);
    return true;
}

/* Impedance, memory, friction and start of one pipe. */
static bool make_pipe(struct engine *engine, int number, const struct site *site,
                      const struct link *link, double flow, double head, struct arena *arena,
                      struct failure *failure)
{
    const struct grid *grid = &engine->grid;
    struct kernel *kernel = &engine->kernel;
    struct kernel_pipe *pipe = &kernel->pipes[number];
    pipe->impedance = grid->wave_speed[number] / (site->water.gravity * link->area);
    struct memory_wishes wishes = {
        .friction = site->surge.is_friction_unsteady,
        .wall = site->surge.is_wall_creeping,
        .pipe = link->element->pipe(link->data),
        .water = &site->water,
        .reaches = grid->reaches[number],
        .wave_speed = grid->wave_speed[number],
        .steady_flow = flow,
        .step = grid->step,
    };
    if (!memory_new(&pipe->memory, &wishes, arena, failure)) {
        return false;
    }
    struct loss_law law = {
        .element = link->element,
        .data = link->data,
        .water = &site->water,
        .reaches = grid->reaches[number],
        .impedance = memory_impedance(pipe),
        .area = link->area,
        .steady_flow = flow,
    };
    if (!loss_init(&pipe->loss, &law, arena, failure)) {
        return false;
    }
    kernel_start(kernel, number, head, flow);
    if (!set_vapour(kernel, number, link, water_vapour_head(&site->water), arena, failure)) {
        return false;
    }
    if (site->surge.is_cavity_gas) {
        double reach = link->area * grid->wave_speed[number] * grid->step;
        double pressure = water_head(&site->water, site->water.air_pressure);
        kernel_set_gas(kernel, number, gas_share * pressure * reach);
    }
    return true;
}

static bool make_kernel(struct engine *engine, const struct site *site,
                        const struct network *network, const struct steady *start,
                        struct arena *arena, struct failure *failure)
{
    const struct grid *grid = &engine->grid;
    if (!kernel_init(&engine->kernel, grid->pipe_count, grid->reaches, arena, failure)) {
        return false;
    }
    engine->kernel.step = grid->step;
    for (int i = 0; i < grid->pipe_count; i++) {
        const struct link *link = &network->links[grid->link[i]];
        if (!make_pipe(engine, i, site, link, start->flow[grid->link[i]], start->head[link->from],
                       arena, failure)) {
            return false;
        }
    }
    return true;
}

/* Steps from `number` to `stop` in which the record looks at nothing inside pipes: it does as the
 * events begin, and at each step once water has boiled. */
static int count_blind_steps(const struct engine *engine, int number, int stop)
{
    if (engine->record.has_seen_cavity) {
        return 0;
    }
    int blind = stop - number + 1;
    double to_event = engine->plan.first_time / engine->grid.step - number;
    if (engine->record.is_before_events && to_event < blind) {
        blind = to_event > 1.0 ? (int)to_event : 1;
    }
    return blind;
}

/* The steps. False: stopped or no answer; result->ending tells. */
static bool make_steps(struct engine *engine, const struct surge_options *options,
                       struct surge *result)
{
    double step = engine->grid.step;
    int part = result->step_count / PROGRESS_PARTS + 1;
    for (int i = 1; i <= result->step_count; i++) {
        double time = i * step;
        int stop = options->progress == NULL ? result->step_count : (i + part - 1) / part * part;
        stop = stop < result->step_count ? stop : result->step_count;
        kernel_promise(&engine->kernel, count_blind_steps(engine, i, stop));
        kernel_step(&engine->kernel);
        plan_set(&engine->plan, time, time_blur * step);
        int point = groups_step(&engine->groups, time, step, engine->plan.setting);
        if (point != NETWORK_NONE) {
            result->ending = SURGE_GROUP_FAILED;
            result->group_failed_point = point;
            return false;
        }
        result->time_reached = time;
        record_step(&engine->record, i, time, i == result->step_count);
        if (options->progress != NULL && i % part == 0 &&
            !options->progress(options->user, (double)i / result->step_count)) {
            result->ending = SURGE_STOPPED;
            return false;
        }
    }
    return true;
}

bool surge_run_plan(const struct site *site, const struct network *network,
                    const struct steady *start, const struct surge_options *options,
                    struct surge *result, struct arena *arena, struct failure *failure)
{
    *result = (struct surge){.ending = SURGE_DONE,
                             .group_failed_point = NETWORK_NONE,
                             .enclosed_point = NETWORK_NONE,
                             .grid_count = 1,
                             .order = (double)NAN};
    struct engine *engine = arena_take(arena, 1, sizeof *engine);
    if (engine == NULL) {
        return fail_memory(failure, "surge");
    }
    if (!make_grid(engine, site, network, options, arena, failure) ||
        !make_kernel(engine, site, network, start, arena, failure) ||
        !groups_init(&engine->groups, site, network, &engine->grid, &engine->kernel, start, arena,
                     failure) ||
        !plan_init(&engine->plan, &site->surge, network, arena, failure)) {
        return false;
    }
    result->step = engine->grid.step;
    result->step_count = (int)ceil(site->surge.duration / result->step - 1e-6);
    result->largest_wave_speed_change = engine->grid.largest_change;
    result->changed_link = engine->grid.changed_link;
    result->stub_count = engine->grid.stub_count;
    for (int i = 0; i < result->stub_count; i++) {
        result->blind_count += engine->groups.stubs[i].delay == 0;
    }
    engine->record = (struct record){
        .site = site, .groups = &engine->groups, .plan = &engine->plan, .result = result};
    if (!record_init(&engine->record, result->step_count, options->series_limit, arena, failure)) {
        return false;
    }
    if (!make_steps(engine, options, result)) {
        result->step_count = (int)lround(result->time_reached / result->step);
    }
    kernel_note_extremes(&engine->kernel);
    record_end(&engine->record);
    return profile_make(&engine->record, arena, failure);
}
