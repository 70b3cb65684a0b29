#include "solver/surge/record.h"

#include "models/pipe.h"
#include "solver/surge/cavity.h"

#include <math.h>
#include <stddef.h>

/* Parts without waves passed on the way from a valve to the next pipe. */
enum { WALK_LIMIT = 32 };

/* --- what is where --- */

static const struct lumped *lumped_of(const struct groups *groups, int link)
{
    int lumped = groups->lumped_of_link[link];
    return lumped == NETWORK_NONE ? NULL : &groups->lumped[lumped];
}

static bool has_state(const struct lumped *lumped, int count)
{
    return lumped != NULL && lumped->element->motion != NULL &&
           lumped->element->motion->state_count >= count;
}

static double find_opening(const struct groups *groups, int link)
{
    const struct lumped *lumped = lumped_of(groups, link);
    if (has_state(lumped, NON_RETURN_STATE_COUNT)) {
        return lumped->old[NON_RETURN_STATE_OPENING];
    }
    if (lumped != NULL && lumped->element->opening != NULL) {
        return lumped->element->opening(lumped->data, lumped->now.water, lumped->flow);
    }
    return NAN;
}

static double find_speed(const struct groups *groups, const struct plan *plan, int link)
{
    const struct lumped *lumped = lumped_of(groups, link);
    return has_state(lumped, PUMP_STATE_COUNT) ? lumped->old[PUMP_STATE_SPEED]
                                               : plan->setting[link];
}

/* --- mass --- */

/* What flows in at all points but held ones, which does not change. */
static double find_fed(const struct network *network)
{
    double flow = 0.0;
    for (int i = 0; i < network->point_count; i++) {
        flow -= network->points[i].is_held ? 0.0 : network->points[i].draw;
    }
    return flow;
}

static double find_flow_in(const struct groups *groups, double fed)
{
    const struct network *network = groups->network;
    double flow = fed;
    for (int i = 0; i < network->link_count; i++) {
        const struct link *link = &network->links[i];
        if (network->points[link->from].is_held) {
            flow += groups_flow_at_start(groups, i);
        }
        if (network->points[link->to].is_held) {
            flow -= groups_flow(groups, i);
        }
    }
    return flow;
}

static double find_stored(const struct groups *groups)
{
    double volume = 0.0;
    for (int i = 0; i < groups->grid->pipe_count; i++) {
        volume += kernel_stored(groups->kernel, i);
    }
    for (int i = 0; i < groups->grid->stub_count; i++) {
        volume += stub_stored(&groups->stubs[i]);
    }
    for (int i = groups->cavity_first; i < groups->lumped_count; i++) {
        const struct lumped *cavity = &groups->lumped[i];
        /* Its volume goes by backward steps, all flows here by the trapezoidal rule. */
        volume -= cavity->old[CAVITY_STATE_VOLUME] - 0.5 * groups->grid->step * cavity->flow;
    }
    return volume;
}

/* --- start --- */

static bool take_arrays(struct record *record, struct arena *arena, struct failure *failure)
{
    const struct site *site = record->site;
    struct surge *result = record->result;
    size_t room = (size_t)record->room;
    size_t points = (size_t)record->groups->network->point_count;
    size_t nodes = (size_t)record->groups->kernel->node_count;
    size_t gauges = (size_t)site->surge.gauge_count;
    size_t valves = (size_t)site->valve_count;
    result->time = arena_take(arena, room, sizeof(double));
    result->gauge_head = arena_take(arena, room * gauges, sizeof(double));
    result->gauge_flow = arena_take(arena, room * gauges, sizeof(double));
    result->opening = arena_take(arena, room * valves, sizeof(double));
    result->valve_flow = arena_take(arena, room * valves, sizeof(double));
    result->speed = arena_take(arena, room * (size_t)site->pump_place_count, sizeof(double));
    result->valves = arena_take(arena, valves, sizeof *result->valves);
    result->head_max = arena_take(arena, points, sizeof(double));
    result->head_min = arena_take(arena, points, sizeof(double));
    record->watches = arena_take(arena, valves, sizeof *record->watches);
    record->valve_impedance = arena_take(arena, valves, sizeof(double));
    record->node_start = arena_take(arena, nodes, sizeof(double));
    record->point_start = arena_take(arena, points, sizeof(double));
    bool is_whole = result->time != NULL && result->gauge_head != NULL &&
                    result->gauge_flow != NULL && result->opening != NULL &&
                    result->valve_flow != NULL && result->speed != NULL && result->valves != NULL &&
                    result->head_max != NULL && result->head_min != NULL;
    is_whole = is_whole && record->watches != NULL && record->valve_impedance != NULL &&
               record->node_start != NULL && record->point_start != NULL;
    return is_whole || fail_memory(failure, "surge results");
}

static void start_nodes(struct record *record)
{
    const struct grid *grid = record->groups->grid;
    const struct kernel *kernel = record->groups->kernel;
    for (int i = 0; i < grid->pipe_count; i++) {
        for (int j = 0; j <= grid->reaches[i]; j++) {
            record->node_start[kernel->pipes[i].first + j] = kernel_head(kernel, i, j);
        }
    }
}

static void start_points(struct record *record)
{
    const struct network *network = record->groups->network;
    for (int i = 0; i < network->point_count; i++) {
        double head = record->groups->head[i];
        record->point_start[i] = head;
        record->result->head_max[i] = head;
        record->result->head_min[i] = head;
    }
}

static void note_series(struct record *record, double time)
{
    const struct site *site = record->site;
    const struct groups *groups = record->groups;
    struct surge *result = record->result;
    if (result->time_count == record->room) {
        return;
    }
    int row = result->time_count++;
    result->time[row] = time;
    for (int i = 0; i < site->surge.gauge_count; i++) {
        int gauge = site->surge.gauges[i];
        bool is_link = site->surge.gauge_is_link[i];
        int point = is_link ? groups->network->links[gauge].to : gauge;
        int place = row * site->surge.gauge_count + i;
        result->gauge_head[place] = groups->head[point];
        result->gauge_flow[place] = is_link ? groups_flow(groups, gauge) : (double)NAN;
    }
    for (int i = 0; i < site->valve_count; i++) {
        int place = row * site->valve_count + i;
        result->opening[place] = find_opening(groups, site->valves[i].link);
        result->valve_flow[place] = groups_flow(groups, site->valves[i].link);
    }
    for (int i = 0; i < site->pump_place_count; i++) {
        result->speed[row * site->pump_place_count + i] =
            find_speed(groups, record->plan, site->pump_places[i].link);
    }
    protection_note(&result->protection, groups, row);
}

bool record_init(struct record *record, int step_count, int series_limit, struct arena *arena,
                 struct failure *failure)
{
    int limit = series_limit > 2 ? series_limit : 2;
    record->stride = (step_count + limit - 2) / (limit - 1);
    record->stride = record->stride > 0 ? record->stride : 1;
    record->room = step_count / record->stride + 2;
    if (!take_arrays(record, arena, failure)) {
        return false;
    }
    struct surge *result = record->result;
    result->valve_count = record->site->valve_count;
    for (int i = 0; i < result->valve_count; i++) {
        result->valves[i] = (struct surge_valve){.link = record->site->valves[i].link,
                                                 .first_reverse_velocity_band = (double)NAN,
                                                 .first_slam_head_band = (double)NAN,
                                                 .reverse_velocity_band = (double)NAN,
                                                 .slam_head_band = (double)NAN};
    }
    valve_watch_start(record->watches, record->groups, result);
    result->vapour_time = NAN;
    result->vapour_distance = NAN;
    result->vapour_link = NETWORK_NONE;
    result->vapour_point = NETWORK_NONE;
    result->largest_time = NAN;
    result->largest_distance = NAN;
    result->largest_link = NETWORK_NONE;
    result->largest_point = NETWORK_NONE;
    record->is_before_events = true;
    record->fed = find_fed(record->groups->network);
    record->flow_in = find_flow_in(record->groups, record->fed);
    record->stored_start = find_stored(record->groups);
    energy_start(&record->energy, record->groups);
    start_nodes(record);
    start_points(record);
    if (!protection_init(&result->protection, record->groups, record->room, arena, failure) ||
        !collapse_start(&record->collapses, record->groups, &result->collapse, arena, failure)) {
        return false;
    }
    note_series(record, 0.0);
    return true;
}

/* --- steps --- */

static void note_points(struct record *record)
{
    struct surge *result = record->result;
    const double *head = record->groups->head;
    for (int i = 0; i < record->groups->network->point_count; i++) {
        /* fmax and fmin without their calls, at every point and step */
        result->head_max[i] = head[i] > result->head_max[i] ? head[i] : result->head_max[i];
        result->head_min[i] = head[i] < result->head_min[i] ? head[i] : result->head_min[i];
    }
}

/* How far any head has been from its start. */
static void note_drift(struct record *record)
{
    struct surge *result = record->result;
    const struct kernel *kernel = record->groups->kernel;
    for (int i = 0; i < record->groups->network->point_count; i++) {
        double start = record->point_start[i];
        double away = fmax(result->head_max[i] - start, start - result->head_min[i]);
        result->drift = fmax(result->drift, away);
    }
    for (int64_t i = 0; i < kernel->node_count; i++) {
        double start = record->node_start[i];
        double away = fmax(kernel->highest[i] - start, start - kernel->lowest[i]);
        result->drift = fmax(result->drift, away);
    }
    record->is_before_events = false;
}

/* Where along which pipe a node is. */
static void find_node(const struct groups *groups, int64_t node, int *link, double *distance)
{
    for (int i = 0; i < groups->grid->pipe_count; i++) {
        int64_t place = node - groups->kernel->pipes[i].first;
        if (place >= 0 && place <= groups->grid->reaches[i]) {
            *link = groups->grid->link[i];
            const struct link *pipe = &groups->network->links[*link];
            *distance = pipe->element->pipe(pipe->data)->friction.length * (double)place /
                        groups->grid->reaches[i];
        }
    }
}

/* A cavity of `volume` is open, at a point or (NETWORK_NONE) at a node; smaller than `least` it is
 * round-off. */
static void note_cavity(struct record *record, double time, double volume, double least, int point,
                        int64_t node)
{
    struct surge *result = record->result;
    record->has_seen_cavity = true;
    if (volume < least) {
        return;
    }
    if (!result->is_boiling) {
        result->is_boiling = true;
        result->vapour_time = time;
        result->vapour_point = point;
        if (point == NETWORK_NONE) {
            find_node(record->groups, node, &result->vapour_link, &result->vapour_distance);
        }
    }
    if (volume > result->largest_cavity) {
        result->largest_cavity = volume;
        result->largest_time = time;
        result->largest_point = point;
        result->largest_link = NETWORK_NONE;
        if (point == NETWORK_NONE) {
            find_node(record->groups, node, &result->largest_link, &result->largest_distance);
        }
    }
}

static void watch_cavities(struct record *record, double time)
{
    const struct groups *groups = record->groups;
    const struct kernel *kernel = groups->kernel;
    for (int i = groups->cavity_first; i < groups->lumped_count; i++) {
        const struct lumped *lumped = &groups->lumped[i];
        if (cavity_is_open(lumped->element, lumped->data, lumped->old)) {
            note_cavity(record, time, lumped->old[CAVITY_STATE_VOLUME],
                        groups->least_cavity[i - groups->cavity_first], lumped->point, 0);
        }
    }
    for (int64_t i = 0; i < kernel->cavity_count; i++) {
        const int64_t node = kernel->cavities[i].node;
        const struct kernel_pipe *pipe = &kernel->pipes[kernel->cavities[i].pipe];
        note_cavity(record, time, kernel->volume[node], cavity_least(kernel->step, pipe->impedance),
                    NETWORK_NONE, node);
    }
}

void record_step(struct record *record, int number, double time, bool is_last)
{
    double step = record->groups->grid->step;
    if (record->is_before_events && time > record->plan->first_time + 1e-9 * step) {
        note_drift(record); /* the extremes up to the step before */
    }
    double flow_in = find_flow_in(record->groups, record->fed);
    record->volume_in += 0.5 * step * (record->flow_in + flow_in);
    record->flow_in = flow_in;
    energy_step(&record->energy, record->groups, step);
    note_points(record);
    valve_watch_step(record->watches, record->groups, time, record->is_before_events,
                     record->result);
    watch_cavities(record, time);
    collapse_step(&record->collapses, record->groups, time, &record->result->collapse);
    protection_watch(&record->result->protection, record->groups, time);
    if (number % record->stride == 0 || is_last) {
        note_series(record, time);
    }
}

/* --- end --- */

/* B, s/m2, of a pipe, also of a stub; 0: not a pipe. */
static double link_impedance(const struct record *record, int number)
{
    const struct groups *groups = record->groups;
    const int stub = groups->grid->stub_of_link[number];
    if (groups->grid->pipe_of_link[number] != NETWORK_NONE) {
        return groups->kernel->pipes[groups->grid->pipe_of_link[number]].impedance;
    }
    return stub == NETWORK_NONE ? 0.0 : groups->stubs[stub].impedance;
}

/* Largest impedance of the pipes first met from a point, going away from a link through what is not
 * pipe; 0: none within reach. */
static double walk_to_pipe(const struct record *record, int point, int away_from)
{
    const struct network *network = record->groups->network;
    for (int hop = 0; hop < WALK_LIMIT; hop++) {
        double largest = 0.0;
        int onward = NETWORK_NONE;
        for (int i = 0; i < network->link_count; i++) {
            const struct link *link = &network->links[i];
            if (i != away_from && (link->from == point || link->to == point)) {
                largest = fmax(largest, link_impedance(record, i));
                onward = i;
            }
        }
        if (largest > 0.0 || onward == NETWORK_NONE) {
            return largest;
        }
        const struct link *link = &network->links[onward];
        point = link->from == point ? link->to : link->from;
        away_from = onward;
    }
    return 0.0;
}

static double adjoining_impedance(const struct record *record, int number)
{
    const struct link *link = &record->groups->network->links[number];
    return fmax(walk_to_pipe(record, link->from, number), walk_to_pipe(record, link->to, number));
}

static void count_enclosed(const struct groups *groups, struct surge *result)
{
    for (int i = groups->network->point_count - 1; i >= 0; i--) {
        if (groups->is_enclosed[i]) {
            result->enclosed_count++;
            result->enclosed_point = i;
        }
    }
}

void record_end(struct record *record)
{
    struct surge *result = record->result;
    const struct groups *groups = record->groups;
    if (record->is_before_events) {
        note_drift(record);
    }
    /* After a step without an answer the pipes are half way into it: no balance. */
    result->mass_residual = (double)NAN;
    result->energy = (struct surge_energy){NAN, NAN, NAN, NAN, NAN, NAN, NAN};
    if (result->ending != SURGE_GROUP_FAILED) {
        result->mass_residual = record->volume_in - (find_stored(groups) - record->stored_start);
        result->energy = energy_end(&record->energy, groups);
    }
    for (int i = 0; i < result->valve_count; i++) {
        struct surge_valve *valve = &result->valves[i];
        valve->opening_end = find_opening(groups, valve->link);
        record->valve_impedance[i] = adjoining_impedance(record, valve->link);
    }
    result->law_residual = groups->missed;
    count_enclosed(groups, result);
    valve_watch_end(record->watches, groups, record->valve_impedance, result);
}
