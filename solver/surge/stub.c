#include "solver/surge/stub.h"

#include "models/pipe.h"

#include <math.h>
#include <stddef.h>

enum { FLOW_LIMIT = 40 };

/* A share of a step this near to 1, m or s of no account, is a whole step: the series law would be
 * so steep that round-off of flows shows in heads. */
static const double whole_share = 1e-4;

/* Change, as a share of what is there, below which the flow at a station is found. */
static const double flow_tolerance = 4e-16;

/* --- in steady flow --- */

/* Shares of the stations: half a reach on either side of each. A wave passes one inside once, and
 * at an end it arrives and another leaves, hence half as much there. */
static double share_at(const struct stub *stub, int station)
{
    const double steps = stub->delay + stub->share;
    const double last = stub->delay > 0 ? 1.0 + stub->share : steps; /* reach */
    const double before = station < stub->delay ? 1.0 : last;
    const double behind = station + 1 < stub->delay ? 1.0 : last;
    if (station == 0) {
        return 0.5 * behind / steps;
    }
    return (station == stub->delay ? 0.5 * before : 0.25 * (before + behind)) / steps;
}

/* Stations from the start to the end, and the waves between them. */
static void start_delayed(struct stub *stub, double head, double flow, double lost)
{
    const struct damping *damping = &stub->damping;
    const int delay = stub->delay;
    const double wave = stub->impedance * flow;
    /* The end's head is that of the law, so that both ends hold still to round-off. */
    const double head_end = head - lost;
    double right = head + wave - share_at(stub, 0) * lost;
    double left = head_end - wave + share_at(stub, delay) * lost;
    stub->end[KERNEL_START] = station_start(damping, share_at(stub, 0), head, flow);
    stub->end[KERNEL_END] = station_start(damping, share_at(stub, delay), head_end, flow);
    for (int i = 0; i < 3; i++) {
        stub->left[i] = left;
    }
    for (int k = delay - 1; k >= 0; k--) {
        stub->came[k] = left;
        left += k > 0 ? 2.0 * share_at(stub, k) * lost : 0.0;
        stub->back[k] = left;
    }
    stub->right[0] = right;
    for (int k = 1; k < delay; k++) {
        const double share = share_at(stub, k);
        const double mean = 0.5 * (right + stub->came[k]);
        stub->inside[k] = station_start(damping, share, mean, flow);
        stub->lost[k] = 2.0 * share * lost;
        right -= stub->lost[k];
        stub->right[k] = right;
    }
    stub->right[delay] = right;
    stub->right[delay + 1] = right;
}

static void start_joined(struct stub *stub, double head, double flow, double lost)
{
    const struct damping *damping = &stub->damping;
    const double middle = head - 0.5 * lost;
    stub->friction = lost;
    stub->end[KERNEL_START] = station_start(damping, 0.5, head, flow);
    stub->end[KERNEL_END] = station_start(damping, 0.5, head - lost, flow);
    stub->inside[0] = station_start(damping, 1.0, middle, flow);
    stub->inertia =
        stub->impedance * stub->share * (2.0 - stub->share) / (2.0 * (1.0 - stub->share));
    for (int i = 0; i < 2; i++) {
        stub->right[i] = middle + stub->impedance * flow;
        stub->left[i] = middle - stub->impedance * flow;
    }
}

static bool take_room(struct stub *stub, struct arena *arena, struct failure *failure)
{
    const size_t stations = stub->delay > 0 ? (size_t)stub->delay : 1;
    stub->inside = arena_take(arena, stations, sizeof *stub->inside);
    stub->right = arena_take(arena, (size_t)stub->delay + 2, sizeof *stub->right);
    stub->lost = arena_take(arena, stations, sizeof *stub->lost);
    stub->back = arena_take(arena, stations, sizeof *stub->back);
    stub->came = arena_take(arena, stations, sizeof *stub->came);
    return (stub->inside != NULL && stub->right != NULL && stub->lost != NULL &&
            stub->back != NULL && stub->came != NULL) ||
           fail_memory(failure, "surge stubs");
}

bool stub_init(struct stub *stub, const struct stub_wishes *wishes, struct arena *arena,
               struct failure *failure)
{
    const struct pipe *pipe = wishes->link->element->pipe(wishes->link->data);
    const double wave_speed = pipe_wave_speed(pipe, wishes->water);
    const double crossing = pipe->friction.length / wave_speed;
    const double steps = crossing / wishes->step;
    const double flow = wishes->flow;
    const struct damping_wishes damping = {
        .friction = wishes->is_friction_unsteady,
        .wall = wishes->is_wall_creeping,
        .crossing = crossing,
        .steady_flow = flow,
        .step = wishes->step,
    };
    *stub = (struct stub){
        .damping = damping_of(wishes->link, wishes->water, &damping),
        .impedance = wave_speed / (wishes->water->gravity * wishes->link->area),
        .step = wishes->step,
        .delay = (int)floor(steps + whole_share),
        .flow_start = flow,
        .flow_end = flow,
    };
    stub->share = fmax(steps - stub->delay, 0.0);
    if (!take_room(stub, arena, failure)) {
        return false;
    }
    const double lost = wishes->link->element->drop(wishes->link->data, wishes->water, flow).head;
    if (stub->delay > 0) {
        start_delayed(stub, wishes->head_start, flow, lost);
    } else {
        start_joined(stub, wishes->head_start, flow, lost);
    }
    return true;
}

/* --- laws of a step --- */

double stub_series(const struct stub *stub)
{
    return stub->inertia + stub->damping.friction.total;
}

double stub_going(const struct stub *stub)
{
    const double driven = (stub->right[0] - stub->left[0]) / (2.0 * stub->impedance);
    return (stub->inertia * driven - stub->inside[0].lagging) / stub_series(stub);
}

/* Storage at an end of a stub whose ends are joined within a step. */
static struct inflow joined_inflow(const struct stub *stub, enum kernel_side side, double head)
{
    const struct station *station = &stub->end[side];
    const double half = side == KERNEL_START ? 0.5 * stub->friction : -0.5 * stub->friction;
    const double rest = 0.5 * (stub->right[0] + stub->left[0]) + half;
    const double storage = stub->share / ((2.0 - stub->share) * stub->impedance);
    const double per_head = 1.0 / stub->impedance;
    return (struct inflow){storage * (rest - head) -
                               per_head * station_yield(&stub->damping, station, head),
                           storage + per_head * station_softness(&stub->damping, station)};
}

/* What arrives over the last reach. */
static double arriving(const struct stub *stub, const double sent[2])
{
    return sent[0] + stub->share * (sent[1] - sent[0]);
}

/* The wave that arrives at an end in this step. */
static double arriving_at(const struct stub *stub, enum kernel_side side)
{
    if (side == KERNEL_END) {
        return arriving(stub, &stub->right[stub->delay - 1]);
    }
    return stub->delay > 1 ? stub->back[1] : arriving(stub, stub->left);
}

/* Flow Q along the pipe at a station with B Q + share F(Q) = excess, and how Q rises with it. */
static struct inflow passing(const struct stub *stub, const struct station *station, double excess)
{
    double flow = station->flow;
    double slope = stub->impedance;
    for (int i = 0; i < FLOW_LIMIT; i++) {
        const struct drop drop = station_friction(&stub->damping, station, flow);
        slope = stub->impedance + station->share * drop.slope;
        const double change =
            (excess - stub->impedance * flow - station->share * drop.head) / slope;
        flow += change;
        if (!(fabs(change) > flow_tolerance * fabs(flow))) {
            break;
        }
    }
    return (struct inflow){flow, 1.0 / slope};
}

struct inflow stub_inflow(const struct stub *stub, enum kernel_side side, double head)
{
    if (stub->delay == 0) {
        return joined_inflow(stub, side, head);
    }
    const struct station *station = &stub->end[side];
    const double sign = side == KERNEL_START ? -1.0 : 1.0;
    const double mean = head + station_yield(&stub->damping, station, head);
    const struct inflow along = passing(stub, station, sign * (arriving_at(stub, side) - mean));
    const double softness = station_softness(&stub->damping, station);
    return (struct inflow){sign * along.flow, (1.0 + softness) * along.conductance};
}

/* --- the end of a step --- */

static void take_heads(struct stub *stub, double head_start, double head_end)
{
    station_take_head(&stub->damping, &stub->end[KERNEL_START], head_start);
    station_take_head(&stub->damping, &stub->end[KERNEL_END], head_end);
}

/* Makes room for the newest and puts it first. */
static void send(double sent[], int count, double value)
{
    for (int i = count - 1; i > 0; i--) {
        sent[i] = sent[i - 1];
    }
    sent[0] = value;
}

static void step_joined(struct stub *stub, double head_start, double head_end, double flow)
{
    const double impedance = stub->impedance;
    stub->flow_start = flow - joined_inflow(stub, KERNEL_START, head_start).flow;
    stub->flow_end = flow + joined_inflow(stub, KERNEL_END, head_end).flow;
    stub->friction = station_friction(&stub->damping, &stub->inside[0], flow).head;
    station_take_flow(&stub->damping, &stub->inside[0], flow);
    take_heads(stub, head_start, head_end);
    const double right = head_start + impedance * stub->flow_start - 0.5 * stub->friction;
    const double left = head_end - impedance * stub->flow_end + 0.5 * stub->friction;
    send(stub->right, 2, right - stub->end[KERNEL_START].yield);
    send(stub->left, 2, left - stub->end[KERNEL_END].yield);
}

/* Both waves pass the station `k` steps from the start; those further on wait. */
static void step_inside(struct stub *stub, int k)
{
    struct station *station = &stub->inside[k];
    double *right = &stub->right[k - 1];
    const double left = k + 1 < stub->delay ? stub->back[k + 1] : arriving(stub, stub->left);
    const double mean = 0.5 * (*right + left);
    const double difference = *right - left;
    const double flow = passing(stub, station, 0.5 * difference).flow;
    const double softness = station_softness(&stub->damping, station);
    station_take_flow(&stub->damping, station, flow);
    station_take_head(&stub->damping, station, (mean + station->memory) / (1.0 + softness));
    const double lost = difference - 2.0 * stub->impedance * flow;
    stub->lost[k] = lost + 2.0 * station->yield;
    stub->came[k] = left;
    stub->back[k] = left + lost - 2.0 * station->yield;
    *right -= stub->lost[k];
}

static void step_delayed(struct stub *stub, double head_start, double head_end)
{
    /* 2 B q is the difference of the waves at an end, without the friction: exact for the balance
     * of water. */
    const double twice = 2.0 * stub->impedance;
    const double back = arriving_at(stub, KERNEL_START);
    const double on = arriving_at(stub, KERNEL_END);
    stub->flow_start = -stub_inflow(stub, KERNEL_START, head_start).flow;
    stub->flow_end = stub_inflow(stub, KERNEL_END, head_end).flow;
    station_take_flow(&stub->damping, &stub->end[KERNEL_START], stub->flow_start);
    station_take_flow(&stub->damping, &stub->end[KERNEL_END], stub->flow_end);
    take_heads(stub, head_start, head_end);
    for (int k = 1; k < stub->delay; k++) {
        step_inside(stub, k);
    }
    stub->came[0] = back;
    send(stub->right, stub->delay + 2,
         back + twice * stub->flow_start - 2.0 * stub->end[KERNEL_START].yield);
    send(stub->left, 3, on - twice * stub->flow_end - 2.0 * stub->end[KERNEL_END].yield);
}

void stub_step(struct stub *stub, double head_start, double head_end, double flow)
{
    if (stub->delay == 0) {
        step_joined(stub, head_start, head_end, flow);
    } else {
        step_delayed(stub, head_start, head_end);
    }
}

/* --- what it holds --- */

static double itself(double wave)
{
    return wave;
}

static double square(double wave)
{
    return wave * wave;
}

/* Of all waves on their way, at both ends of each step's stretch: over two steps, that is. A
 * station's wave came to it as it was before it lost anything there. */
static double sum_waves(const struct stub *stub, double (*measure)(double))
{
    const int delay = stub->delay;
    const double *right = stub->right;
    const double *left = stub->left;
    double sum = 0.0;
    for (int k = 0; k < delay; k++) {
        const double lost = k + 1 < delay ? stub->lost[k + 1] : 0.0;
        sum += measure(right[k]) + measure(right[k + 1] + lost);
    }
    for (int k = 0; k + 1 < delay; k++) {
        sum += measure(stub->back[k + 1]) + measure(stub->came[k]);
    }
    if (delay > 0) {
        sum += measure(left[0]) + measure(left[1]);
        left++;
    }
    return sum + stub->share * (measure(right[delay]) + measure(right[delay + 1]) +
                                measure(left[0]) + measure(left[1]));
}

double stub_stored(const struct stub *stub)
{
    double grown = stub->end[KERNEL_START].grown + stub->end[KERNEL_END].grown;
    for (int k = 1; k < stub->delay; k++) {
        grown += 2.0 * stub->inside[k].grown;
    }
    return stub->step / stub->impedance * (0.25 * sum_waves(stub, itself) + grown);
}

double stub_energy(const struct stub *stub)
{
    /* H^2 + B^2 Q^2 = (P^2 + M^2)/2. */
    return stub->step / (8.0 * stub->impedance) * sum_waves(stub, square);
}
