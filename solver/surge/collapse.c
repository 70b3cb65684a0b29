#include "solver/surge/collapse.h"

#include "models/pipe.h"
#include "solver/surge/cavity.h"
#include "solver/surge/groups.h"

#include <math.h>
#include <stddef.h>

/* m; a later head that is higher by no more than round-off is not a new highest one. */
static const double head_blur = 1e-6;

/* Of the largest volume so far: a smaller cavity does not count. */
static const double least_share = 0.01;

/* Of the same: what is left of cavities, or opens, by round-off alone, is far below this. */
static const double round_off_share = 1e-9;

/* Time a wave needs along the slowest run; a pipe outside all runs counts for itself. */
static double slowest_crossing(const struct groups *groups)
{
    const struct grid *grid = groups->grid;
    const struct network *network = groups->network;
    double slowest = 0.0;
    for (int i = 0; i < grid->pipe_count; i++) {
        slowest = fmax(slowest, grid->reaches[i] * grid->step);
    }
    for (int i = 0; i < network->run_count; i++) {
        const struct run *run = &network->runs[i];
        double crossing = 0.0;
        for (int j = run->first_link; j < run->first_link + run->link_count; j++) {
            int pipe = grid->pipe_of_link[j];
            crossing += pipe == NETWORK_NONE ? 0.0 : grid->reaches[pipe] * grid->step;
        }
        slowest = fmax(slowest, crossing);
    }
    return slowest;
}

bool collapse_start(struct collapse_watch *watch, const struct groups *groups,
                    struct surge_collapse *result, struct arena *arena, struct failure *failure)
{
    size_t points = (size_t)(groups->lumped_count - groups->cavity_first);
    size_t count = (size_t)groups->kernel->node_count + points;
    *watch = (struct collapse_watch){
        .places = arena_take(arena, count, sizeof *watch->places),
        .place_of = arena_take(arena, count, sizeof *watch->place_of),
        .slot_of_point =
            arena_take(arena, (size_t)groups->network->point_count, sizeof *watch->slot_of_point),
        .queue = arena_take(arena, count, sizeof *watch->queue),
    };
    *result = (struct surge_collapse){.window = 2.0 * slowest_crossing(groups),
                                      .shut_time = (double)NAN,
                                      .time = (double)NAN,
                                      .head = (double)NAN,
                                      .pressure = (double)NAN,
                                      .band = (double)NAN,
                                      .link = NETWORK_NONE,
                                      .distance = (double)NAN,
                                      .point = NETWORK_NONE};
    if (watch->places == NULL || watch->place_of == NULL || watch->slot_of_point == NULL ||
        watch->queue == NULL) {
        return fail_memory(failure, "surge cavities");
    }
    for (size_t i = 0; i < count; i++) {
        watch->place_of[i] = NETWORK_NONE;
    }
    for (int i = 0; i < groups->network->point_count; i++) {
        watch->slot_of_point[i] = NETWORK_NONE;
    }
    for (int i = groups->cavity_first; i < groups->lumped_count; i++) {
        const int slot = (int)groups->kernel->node_count + i - groups->cavity_first;
        watch->slot_of_point[groups->lumped[i].point] = slot;
    }
    return true;
}

/* An open cavity in this step, of `volume`; smaller than `least` it is round-off. */
static void see_open(struct collapse_watch *watch, int64_t slot, int pipe, int node, double volume,
                     double least)
{
    if (volume <= round_off_share * watch->largest || volume < least) {
        return;
    }
    if (watch->place_of[slot] == NETWORK_NONE) {
        watch->place_of[slot] = watch->count;
        watch->places[watch->count++] = (struct collapse_place){.pipe = pipe, .node = node};
    }
    struct collapse_place *place = &watch->places[watch->place_of[slot]];
    place->volume = fmax(place->seen + 1 < watch->step ? 0.0 : place->volume, volume);
    watch->largest = fmax(watch->largest, volume);
    place->seen = watch->step;
    place->shut_time = (double)NAN;
}

static void see_nodes(struct collapse_watch *watch, const struct kernel *kernel)
{
    int pipe = 0; /* cavities are listed pipe by pipe */
    for (int64_t i = 0; i < kernel->cavity_count; i++) {
        int64_t node = kernel->cavities[i].node;
        while (node > kernel->pipes[pipe].first + kernel->pipes[pipe].reaches) {
            pipe++;
        }
        if (kernel->volume[node] > 0.0) {
            see_open(watch, node, pipe, (int)(node - kernel->pipes[pipe].first),
                     kernel->volume[node],
                     cavity_least(kernel->step, kernel->pipes[pipe].impedance));
        }
    }
}

static void see_points(struct collapse_watch *watch, const struct groups *groups)
{
    for (int i = groups->cavity_first; i < groups->lumped_count; i++) {
        const struct lumped *lumped = &groups->lumped[i];
        if (cavity_is_open(lumped->element, lumped->data, lumped->old)) {
            int64_t slot = groups->kernel->node_count + i - groups->cavity_first;
            see_open(watch, slot, NETWORK_NONE, i, lumped->old[CAVITY_STATE_VOLUME],
                     groups->least_cavity[i - groups->cavity_first]);
        }
    }
}

/* Head and elevation of a place now; where it is. */
static struct surge_collapse look(const struct groups *groups, const struct collapse_place *place)
{
    if (place->pipe == NETWORK_NONE) {
        int point = groups->lumped[place->node].point;
        double head = groups->head[point];
        return (struct surge_collapse){.head = head,
                                       .pressure = head - groups->network->points[point].elevation,
                                       .link = NETWORK_NONE,
                                       .distance = (double)NAN,
                                       .point = point};
    }
    int link = groups->grid->link[place->pipe];
    const struct link *here = &groups->network->links[link];
    const struct pipe *pipe = here->element->pipe(here->data);
    double share = (double)place->node / groups->grid->reaches[place->pipe];
    double distance = pipe->friction.length * share;
    double head = kernel_head(groups->kernel, place->pipe, place->node);
    return (struct surge_collapse){.head = head,
                                   .pressure = head - pipe_elevation(pipe, distance),
                                   .link = link,
                                   .distance = distance,
                                   .point = NETWORK_NONE};
}

/* --- which places are one cavity --- */

/* Slot of a node of a pipe, whose ends belong to points, or NETWORK_NONE: a point without cavity.
 */
static int slot_at(const struct collapse_watch *watch, const struct groups *groups, int pipe,
                   int node)
{
    const struct link *link = &groups->network->links[groups->grid->link[pipe]];
    const struct kernel_pipe *here = &groups->kernel->pipes[pipe];
    if (node > 0 && node < here->reaches) {
        return (int)here->first + node;
    }
    return watch->slot_of_point[node > 0 ? link->to : link->from];
}

/* Puts the place of a slot behind the queue's last, if it was open in this step or the one before
 * and is not in the queue. True: it is open now. */
static bool meet(struct collapse_watch *watch, int slot, int *last)
{
    if (slot == NETWORK_NONE || watch->place_of[slot] == NETWORK_NONE) {
        return false;
    }
    struct collapse_place *place = &watch->places[watch->place_of[slot]];
    if (place->seen + 1 < watch->step || place->met == watch->step) {
        return false;
    }
    place->met = watch->step;
    watch->queue[(*last)++] = watch->place_of[slot];
    return place->seen == watch->step;
}

/* Whether the cavity that this place, just shut, was part of has shut as a whole and is large
 * enough to count. What is still open of it takes over how large it was. */
static bool has_shut(struct collapse_watch *watch, const struct groups *groups, int first)
{
    int last = 0;
    bool is_open = false;
    watch->places[first].met = watch->step;
    watch->queue[last++] = first;
    for (int i = 0; i < last; i++) {
        const struct collapse_place *place = &watch->places[watch->queue[i]];
        if (place->pipe != NETWORK_NONE) {
            is_open |= meet(watch, slot_at(watch, groups, place->pipe, place->node - 1), &last);
            is_open |= meet(watch, slot_at(watch, groups, place->pipe, place->node + 1), &last);
            continue;
        }
        const struct ends *ends = &groups->ends;
        const int point = groups->lumped[place->node].point;
        for (int j = ends->first[point]; j < ends->first[point + 1]; j++) {
            const int pipe = ends->end[j].pipe;
            const bool is_start = ends->end[j].side == KERNEL_START;
            const int node = is_start ? 1 : groups->grid->reaches[pipe] - 1;
            is_open |= meet(watch, slot_at(watch, groups, pipe, node), &last);
        }
    }
    double volume = 0.0;
    for (int i = 0; i < last; i++) {
        volume = fmax(volume, watch->places[watch->queue[i]].volume);
    }
    for (int i = 0; i < last; i++) {
        watch->places[watch->queue[i]].volume = volume;
    }
    return !is_open && volume >= least_share * watch->largest;
}

void collapse_step(struct collapse_watch *watch, const struct groups *groups, double time,
                   struct surge_collapse *result)
{
    watch->step++;
    see_nodes(watch, groups->kernel);
    see_points(watch, groups);
    for (int i = 0; i < watch->count; i++) {
        struct collapse_place *place = &watch->places[i];
        if (place->seen == watch->step) {
            continue;
        }
        if (isnan(place->shut_time)) {
            place->shut_time = time;
            /* Those met before in this step were part of a cavity already reckoned with. */
            if (place->met != watch->step && has_shut(watch, groups, i)) {
                result->count++;
            }
        }
        if (time > place->shut_time + result->window) {
            continue;
        }
        struct surge_collapse now = look(groups, place);
        if (!(now.pressure <= result->pressure + head_blur)) {
            now.count = result->count;
            now.window = result->window;
            now.shut_time = place->shut_time;
            now.time = time;
            now.band = (double)NAN;
            *result = now;
        }
    }
}
