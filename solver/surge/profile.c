#include "solver/surge/profile.h"

#include "models/fatigue.h"

#include <math.h>
#include <stddef.h>

static const struct pipe *pipe_of(const struct link *link)
{
    return link->element->pipe == NULL ? NULL : link->element->pipe(link->data);
}

/* m of gauge pressure a pipe's class allows; NAN: not known. */
static double allowed_head(const struct pipe *pipe, const struct water *water)
{
    double allowed = pipe == NULL ? 0.0 : pipe_allowed_pressure(pipe, water);
    return allowed > 0.0 ? water_head(water, allowed) : (double)NAN;
}

/* m of vacuum at which the wall alone buckles, not held by soil; NAN: no thin wall. */
static double buckling_head(const struct pipe *pipe, const struct water *water)
{
    double pressure = pipe == NULL ? HUGE_VAL : pipe_collapse_pressure(pipe);
    return isfinite(pressure) ? water_head(water, pressure) : (double)NAN;
}

/* Where the run passes a point: a tank's point lies at the level of its water, its mouth where the
 * pipe's end or the next part is. `link` is the part of the run beside it. */
static double station_elevation(const struct network *network, int point, int number)
{
    const struct link *link = &network->links[number];
    const struct pipe *pipe = pipe_of(link);
    if (!network->points[point].is_held) {
        return network->points[point].elevation;
    }
    if (pipe != NULL) {
        return pipe_elevation(pipe, link->from == point ? 0.0 : pipe->friction.length);
    }
    int other = link->from == point ? link->to : link->from;
    return network->points[other].elevation;
}

/* What a pipe's wall bears. */
struct strength {
    const struct pipe *pipe; /* NULL: none is known */
    double allowed;
    double buckling;
};

static struct strength strength_of(const struct pipe *pipe, const struct water *water)
{
    return (struct strength){pipe, allowed_head(pipe, water), buckling_head(pipe, water)};
}

/* What the wall at station `i` bears, and how its pressure comes and goes. */
static void note_strength(const struct water *water, struct surge_run *run, int i,
                          const struct strength *strength)
{
    const bool tires = strength->pipe && fatigue_is_known(strength->pipe);
    const double highest = water_pressure(water, run->head_max[i] - run->elevation[i]);
    run->allowed[i] = strength->allowed;
    run->buckling[i] = strength->buckling;
    run->swing_share[i] =
        tires ? (run->head_max[i] - run->head_min[i]) / strength->allowed : (double)NAN;
    run->cycles[i] = tires ? fatigue_cycles(strength->pipe, highest) : (double)NAN;
}

static void add_point(const struct record *record, struct surge_run *run, int point, int link,
                      double distance, double ground, const struct strength *strength)
{
    int i = run->count++;
    run->distance[i] = distance;
    run->elevation[i] = station_elevation(record->groups->network, point, link);
    run->ground[i] = ground;
    run->head_start[i] = record->point_start[point];
    run->head_max[i] = record->result->head_max[point];
    run->head_min[i] = record->result->head_min[point];
    note_strength(&record->site->water, run, i, strength);
}

/* The nodes inside a pipe. */
static void add_nodes(const struct record *record, struct surge_run *run, int link, double distance)
{
    const struct grid *grid = record->groups->grid;
    const struct kernel *kernel = record->groups->kernel;
    const struct pipe *pipe = pipe_of(&record->groups->network->links[link]);
    int number = grid->pipe_of_link[link];
    int reaches = grid->reaches[number];
    struct strength strength = strength_of(pipe, &record->site->water);
    for (int j = 1; j < reaches; j++) {
        int64_t node = kernel->pipes[number].first + j;
        double along = pipe->friction.length * j / reaches;
        int i = run->count++;
        run->distance[i] = distance + along;
        run->elevation[i] = pipe_elevation(pipe, along);
        run->ground[i] = pipe_ground(pipe, along);
        run->head_start[i] = record->node_start[node];
        run->head_max[i] = kernel->highest[node];
        run->head_min[i] = kernel->lowest[node];
        note_strength(&record->site->water, run, i, &strength);
    }
}

static int count_stations(const struct record *record, const struct run *run)
{
    const struct grid *grid = record->groups->grid;
    int count = 1;
    for (int i = 0; i < run->link_count; i++) {
        int pipe = grid->pipe_of_link[run->first_link + i];
        count += pipe == NETWORK_NONE ? 1 : grid->reaches[pipe];
    }
    return count;
}

static bool take_run(struct surge_run *run, int count, struct arena *arena, struct failure *failure)
{
    size_t size = (size_t)count;
    double *rows = arena_take(arena, 10 * size, sizeof *rows);
    if (rows == NULL) {
        return fail_memory(failure, "surge profiles");
    }
    run->distance = rows;
    run->elevation = rows + size;
    run->head_start = rows + 2 * size;
    run->head_max = rows + 3 * size;
    run->head_min = rows + 4 * size;
    run->allowed = rows + 5 * size;
    run->ground = rows + 6 * size;
    run->buckling = rows + 7 * size;
    run->swing_share = rows + 8 * size;
    run->cycles = rows + 9 * size;
    return true;
}

/* Of the ground where the run begins: known only when it begins with a surveyed pipe. */
static double first_ground(const struct network *network, const struct run *parts)
{
    const struct pipe *pipe =
        parts->link_count > 0 ? pipe_of(&network->links[parts->first_link]) : NULL;
    return pipe == NULL ? (double)NAN : pipe_ground(pipe, 0.0);
}

static void fill_run(const struct record *record, struct surge_run *run, const struct run *parts)
{
    const struct network *network = record->groups->network;
    const struct water *water = &record->site->water;
    double distance = 0.0;
    /* Of the pipe passed last; before the first, of that one. */
    struct strength strength = {NULL, NAN, NAN};
    for (int i = parts->link_count - 1; i >= 0; i--) {
        const struct pipe *pipe = pipe_of(&network->links[parts->first_link + i]);
        strength = pipe == NULL ? strength : strength_of(pipe, water);
    }
    int before = parts->from;
    double ground = NAN; /* at the end of the pipe passed last */
    add_point(record, run, before, parts->first_link, distance, first_ground(network, parts),
              &strength);
    for (int i = 0; i < parts->link_count; i++) {
        int number = parts->first_link + i;
        const struct link *link = &network->links[number];
        const struct pipe *pipe = pipe_of(link);
        if (record->groups->grid->pipe_of_link[number] != NETWORK_NONE) {
            add_nodes(record, run, number, distance);
        }
        if (pipe != NULL) {
            distance += pipe->friction.length;
            strength = strength_of(pipe, water);
            ground = pipe_ground(pipe, pipe->friction.length);
        }
        before = link->from == before ? link->to : link->from;
        add_point(record, run, before, number, distance, ground, &strength);
    }
}

bool profile_make(const struct record *record, struct arena *arena, struct failure *failure)
{
    const struct network *network = record->groups->network;
    struct surge *result = record->result;
    result->runs = arena_take(arena, (size_t)network->run_count, sizeof *result->runs);
    if (result->runs == NULL) {
        return fail_memory(failure, "surge profiles");
    }
    result->run_count = network->run_count;
    for (int i = 0; i < network->run_count; i++) {
        struct surge_run *run = &result->runs[i];
        run->run = i;
        if (!take_run(run, count_stations(record, &network->runs[i]), arena, failure)) {
            return false;
        }
        fill_run(record, run, &network->runs[i]);
    }
    return true;
}

bool profile_is_worse(double value, double band, double worst, double worst_band)
{
    const double blur = 1e-6; /* m: far below what any of them is worth */
    return isnan(worst) || value > worst + blur || (value > worst - blur && band < worst_band);
}
