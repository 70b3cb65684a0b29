#include "solver/surge/grid.h"

#include "models/pipe.h"

#include <math.h>
#include <stddef.h>

enum {
    DEFAULT_REACHES = 4,   /* in the shortest true pipe */
    LONGEST_REACHES = 64,  /* at least, in the longest, if nothing was said */
    LUMPED_STEPS = 2000,   /* over the duration, where no pipe sets a step */
    STEP_CANDIDATES = 200, /* tried within an octave below the wanted step */
    MOST_OCTAVES = 3       /* the step may be shortened by, to keep wave speeds in bounds */
};

/* A pipe is a stub only if crossed in less than this share of the longest crossing. */
static const double stub_share = 1.0 / 64.0;

/* Largest step, s, if nothing was said: valves shut in 0.05 s to 0.2 s. */
static const double plain_step = 0.005;

/* Change of wave speed below which a step is taken without looking for a better one. */
static const double good_change = 0.02;

/* Share by which the step of a refined grid may be shorter than asked for, to fit wave speeds. */
static const double refined_most = 0.25;

/* Most steps, which are counted in an int; most nodes, some 2 GB of them; and most node-steps of a
 * run, hours of a core, for which a link counts as so many nodes. */
static const double most_steps = 1 << 30;
static const double most_nodes = 2e7;
static const double most_node_steps = 1e13;
static const double nodes_a_link = 100.0;

static const struct pipe *pipe_of(const struct link *link)
{
    return link->element->pipe == NULL ? NULL : link->element->pipe(link->data);
}

/* Travel times, s, of all pipes; 0 for what is not a pipe. */
static bool find_travel(const struct network *network, const struct water *water, double travel[],
                        struct failure *failure)
{
    for (int i = 0; i < network->link_count; i++) {
        const struct link *link = &network->links[i];
        const struct pipe *pipe = pipe_of(link);
        travel[i] = 0.0;
        if (pipe == NULL) {
            continue;
        }
        travel[i] = pipe->friction.length / pipe_wave_speed(pipe, water);
        if (!(travel[i] > 0.0) || !isfinite(travel[i])) {
            return fail(failure, FAILURE_INPUT, link->place,
                        "pipe '%s': needs a length and a wave speed for surge; a wave crosses it "
                        "in %.4g s",
                        link->name == NULL ? "" : link->name, travel[i]);
        }
    }
    return true;
}

static double longest_travel(int count, const double travel[])
{
    double longest = 0.0;
    for (int i = 0; i < count; i++) {
        longest = fmax(longest, travel[i]);
    }
    return longest;
}

/* Stubs whatever the step get a negative travel time. */
static void mark_stubs(int count, double travel[], double stub_crossing)
{
    double least = fmin(stub_crossing, stub_share * longest_travel(count, travel));
    for (int i = 0; i < count; i++) {
        if (travel[i] < least) {
            travel[i] = -travel[i];
        }
    }
}

/* The step before any fitting, s. */
static double wanted_step(int count, const double travel[], const struct grid_wishes *wishes)
{
    double longest = longest_travel(count, travel);
    double shortest = longest;
    for (int i = 0; i < count; i++) {
        if (travel[i] > 0.0) {
            shortest = fmin(shortest, travel[i]);
        }
    }
    double step = wishes->duration / LUMPED_STEPS;
    if (longest > 0.0 && wishes->reaches > 0) {
        step = shortest / wishes->reaches;
    } else if (longest > 0.0) {
        step = fmin(shortest / DEFAULT_REACHES, longest / LONGEST_REACHES);
    }
    if (wishes->largest_step > 0.0) {
        return fmin(step, wishes->largest_step);
    }
    return wishes->reaches > 0 ? step : fmin(step, plain_step);
}

/* Reaches of a pipe at this step; 0: a stub. */
static int reaches_at(double travel, double step, double stub_time)
{
    double steps = travel / step;
    if (steps < stub_time * (1.0 - 1e-9)) {
        return 0;
    }
    return steps < 1.0 ? 1 : (int)lround(steps);
}

static double change_at(double travel, double step, int reaches)
{
    return fabs(travel / (reaches * step) - 1.0);
}

/* Largest change of a wave speed at this step. */
static double largest_change(int count, const double travel[], double step, double stub_time)
{
    double largest = 0.0;
    for (int i = 0; i < count; i++) {
        int reaches = travel[i] > 0.0 ? reaches_at(travel[i], step, stub_time) : 0;
        if (reaches > 0) {
            largest = fmax(largest, change_at(travel[i], step, reaches));
        }
    }
    return largest;
}

/* The first good step at or below the wanted one; else the best of the first octave that has one
 * in bounds; else the best of all. */
static double fit_step(int count, const double travel[], const struct grid_wishes *wishes)
{
    double wanted = wanted_step(count, travel, wishes);
    double best = wanted;
    double best_change = INFINITY;
    for (int octave = 0; octave < MOST_OCTAVES; octave++) {
        for (int i = 0; i < STEP_CANDIDATES; i++) {
            double step = ldexp(wanted, -octave) / (1.0 + (double)i / STEP_CANDIDATES);
            double change = largest_change(count, travel, step, wishes->stub_time);
            if (change < best_change) {
                best_change = change;
                best = step;
            }
            if (change <= good_change) {
                return step;
            }
        }
        if (best_change <= wishes->wave_speed_change) {
            break;
        }
    }
    return best;
}

/* The step a little below the wanted one at which the wave speeds change least. A plain share of
 * the coarse step would often keep its wave speeds, and then comparing the two grids would not show
 * what their change does. */
static double refine_step(int count, const double travel[], double wanted, double stub_time)
{
    double best = wanted;
    double best_change = INFINITY;
    for (int i = 0; i <= STEP_CANDIDATES; i++) {
        double step = wanted / (1.0 + refined_most * i / STEP_CANDIDATES);
        double change = largest_change(count, travel, step, stub_time);
        if (change < best_change) {
            best_change = change;
            best = step;
        }
    }
    return best;
}

/* Whether the run ends within memory and a working day. */
static bool check_size(const struct grid *grid, const struct network *network,
                       const double travel[], const struct grid_wishes *wishes,
                       struct failure *failure)
{
    /* A run that went shall not be lost by its finer grid. */
    const double finer = wishes->refinement > 1 ? (1.0 + refined_most) * wishes->refinement : 1.0;
    double nodes = 0.0;
    for (int i = 0; i < network->link_count; i++) {
        nodes += fmax(travel[i], 0.0) / grid->step;
    }
    const double steps = wishes->duration / grid->step;
    const double work = steps * (nodes + nodes_a_link * network->link_count);
    if (steps > most_steps || nodes > finer * most_nodes ||
        work > finer * finer * most_node_steps) {
        return fail(failure, FAILURE_INPUT, wishes->place,
                    "surge: steps of %.3g s would be %.3g, with %.3g nodes and %.3g node-steps; at "
                    "most %.3g, %g and %g are taken; ask for a longer step, fewer reaches or a "
                    "shorter duration",
                    grid->step, steps, nodes, work, most_steps, finer * most_nodes,
                    finer * finer * most_node_steps);
    }
    return true;
}

static void fill_pipes(struct grid *grid, const struct network *network, const double travel[],
                       double stub_time)
{
    grid->changed_link = NETWORK_NONE;
    for (int i = 0; i < network->link_count; i++) {
        grid->pipe_of_link[i] = NETWORK_NONE;
        grid->stub_of_link[i] = NETWORK_NONE;
        if (travel[i] == 0.0) {
            continue;
        }
        int reaches = travel[i] > 0.0 ? reaches_at(travel[i], grid->step, stub_time) : 0;
        if (reaches == 0) {
            grid->stub_of_link[i] = grid->stub_count;
            grid->stub[grid->stub_count++] = i;
            continue;
        }
        int pipe = grid->pipe_count++;
        grid->pipe_of_link[i] = pipe;
        grid->link[pipe] = i;
        grid->reaches[pipe] = reaches;
        double length = pipe_of(&network->links[i])->friction.length;
        grid->wave_speed[pipe] = length / (reaches * grid->step);
        double change = change_at(travel[i], grid->step, reaches);
        if (grid->changed_link == NETWORK_NONE || change > grid->largest_change) {
            grid->largest_change = change;
            grid->changed_link = i;
        }
    }
}

bool grid_init(struct grid *grid, const struct network *network, const struct water *water,
               const struct grid_wishes *wishes, struct arena *arena, struct failure *failure)
{
    size_t count = (size_t)network->link_count;
    *grid = (struct grid){.changed_link = NETWORK_NONE};
    double *travel = arena_take(arena, count, sizeof *travel);
    grid->link = arena_take(arena, count, sizeof *grid->link);
    grid->reaches = arena_take(arena, count, sizeof *grid->reaches);
    grid->wave_speed = arena_take(arena, count, sizeof *grid->wave_speed);
    grid->pipe_of_link = arena_take(arena, count, sizeof *grid->pipe_of_link);
    grid->stub = arena_take(arena, count, sizeof *grid->stub);
    grid->stub_of_link = arena_take(arena, count, sizeof *grid->stub_of_link);
    if (travel == NULL || grid->link == NULL || grid->reaches == NULL || grid->wave_speed == NULL ||
        grid->pipe_of_link == NULL || grid->stub == NULL || grid->stub_of_link == NULL) {
        return fail_memory(failure, "surge grid");
    }
    if (!find_travel(network, water, travel, failure)) {
        return false;
    }
    mark_stubs(network->link_count, travel, wishes->stub_crossing);
    grid->step = fit_step(network->link_count, travel, wishes);
    if (wishes->refinement > 1) {
        double wanted = grid->step / wishes->refinement;
        grid->step = refine_step(network->link_count, travel, wanted, wishes->stub_time);
    }
    if (!check_size(grid, network, travel, wishes, failure)) {
        return false;
    }
    fill_pipes(grid, network, travel, wishes->stub_time);
    return true;
}
