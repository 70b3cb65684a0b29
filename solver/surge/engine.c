#include "models/pipe.h"
#include "solver/surge/profile.h"
#include "solver/surge/record.h"
#include "solver/surge/surge.h"

#include <math.h>
#include <stddef.h>

const struct surge_options surge_defaults = {
    .wave_speed_change = 0.15,
    .stub_crossing = 0.02,
    .stub_time = 1.0,
    .series_limit = 4000,
};

/* Shares of the run told to the progress callback. */
enum { PROGRESS_PARTS = 200, STEPS_MOST = 1 << 30 };

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
    struct place nowhere = {0};
    if (!(site->surge.duration > 0.0) || !isfinite(site->surge.duration)) {
        return fail(failure, FAILURE_INPUT, nowhere,
                    "surge: needs a duration above 0 s; it is %.4g s", site->surge.duration);
    }
    struct grid_wishes wishes = {
        .duration = site->surge.duration,
        .largest_step = site->surge.largest_step,
        .reaches = site->surge.reaches,
        .wave_speed_change = options->wave_speed_change,
        .stub_crossing = options->stub_crossing,
        .stub_time = options->stub_time,
    };
    if (!grid_init(&engine->grid, network, &site->water, &wishes, arena, failure)) {
        return false;
    }
    if (site->surge.duration / engine->grid.step > STEPS_MOST) {
        return fail(failure, FAILURE_INPUT, nowhere,
                    "surge: %.3g steps of %.3g s are too many; ask for a shorter duration or fewer "
                    "reaches",
                    site->surge.duration / engine->grid.step, engine->grid.step);
    }
    return true;
}

/* The heads at which water boils along a pipe. */
static void set_vapour(struct kernel *kernel, int number, const struct link *link, double vapour)
{
    const struct kernel_pipe *here = &kernel->pipes[number];
    const struct pipe *pipe = link->element->pipe(link->data);
    for (int i = 0; i <= here->reaches; i++) {
        double distance = pipe->friction.length * i / here->reaches;
        kernel->vapour[here->first + i] = pipe_elevation(pipe, distance) + vapour;
    }
}

static bool make_kernel(struct engine *engine, const struct site *site,
                        const struct network *network, const struct steady *start,
                        struct arena *arena, struct failure *failure)
{
    const struct grid *grid = &engine->grid;
    struct kernel *kernel = &engine->kernel;
    if (!kernel_init(kernel, grid->pipe_count, grid->reaches, arena, failure)) {
        return false;
    }
    kernel->step = grid->step;
    for (int i = 0; i < grid->pipe_count; i++) {
        int number = grid->link[i];
        const struct link *link = &network->links[number];
        kernel->pipes[i].impedance = grid->wave_speed[i] / (site->water.gravity * link->area);
        struct loss_law law = {
            .element = link->element,
            .data = link->data,
            .water = &site->water,
            .reaches = grid->reaches[i],
            .impedance = kernel->pipes[i].impedance,
            .area = link->area,
            .steady_flow = start->flow[number],
        };
        if (!loss_init(&kernel->pipes[i].loss, &law, arena, failure)) {
            return false;
        }
        kernel_start(kernel, i, start->head[link->from], start->flow[number]);
        set_vapour(kernel, i, link, water_vapour_head(&site->water));
    }
    return true;
}

/* The steps. False: stopped or no answer; result->ending tells. */
static bool make_steps(struct engine *engine, const struct surge_options *options,
                       struct surge *result)
{
    double step = engine->grid.step;
    int part = result->step_count / PROGRESS_PARTS + 1;
    for (int i = 1; i <= result->step_count; i++) {
        double time = i * step;
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
    *result = (struct surge){.ending = SURGE_DONE, .group_failed_point = NETWORK_NONE};
    struct engine *engine = arena_take(arena, 1, sizeof *engine);
    if (engine == NULL) {
        return fail_memory(failure, "surge");
    }
    if (!make_grid(engine, site, network, options, arena, failure) ||
        !make_kernel(engine, site, network, start, arena, failure) ||
        !groups_init(&engine->groups, network, &site->water, &engine->grid, &engine->kernel, start,
                     arena, failure) ||
        !plan_init(&engine->plan, &site->surge, network, arena, failure)) {
        return false;
    }
    result->step = engine->grid.step;
    result->step_count = (int)ceil(site->surge.duration / result->step - 1e-6);
    result->largest_wave_speed_change = engine->grid.largest_change;
    result->changed_link = engine->grid.changed_link;
    result->stub_count = engine->grid.stub_count;
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
