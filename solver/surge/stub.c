#include "solver/surge/stub.h"

#include "models/pipe.h"

#include <math.h>
#include <stddef.h>

enum { FLOW_LIMIT = 40 };

/* A share of a step this near to 1, m or s of no account, is a whole step: the series law would be
 * so steep that round-off of flows shows in heads. */
static const double whole_share = 1e-4;

/* Change, as a share of what is there, below which the flow at an end is found. */
static const double flow_tolerance = 4e-16;

static struct drop friction_at(const struct stub *stub, double flow)
{
    return stub->link->element->drop(stub->link->data, stub->water, flow);
}

/* The value that arrives, between what left `delay` steps and one step more before. */
static double arriving(const struct stub *stub, const double launched[])
{
    return launched[stub->delay - 1] +
           stub->share * (launched[stub->delay] - launched[stub->delay - 1]);
}

bool stub_init(struct stub *stub, const struct link *link, const struct water *water, double step,
               double head_start, double flow, struct arena *arena, struct failure *failure)
{
    const struct pipe *pipe = link->element->pipe(link->data);
    const double wave_speed = pipe_wave_speed(pipe, water);
    const double steps = pipe->friction.length / wave_speed / step;
    *stub = (struct stub){
        .link = link,
        .water = water,
        .impedance = wave_speed / (water->gravity * link->area),
        .step = step,
        .delay = (int)floor(steps + whole_share),
        .flow_start = flow,
        .flow_end = flow,
    };
    stub->share = fmax(steps - stub->delay, 0.0);
    const size_t room = (size_t)stub->delay + 2;
    stub->right = arena_take(arena, room, sizeof *stub->right);
    stub->left = arena_take(arena, room, sizeof *stub->left);
    if (stub->right == NULL || stub->left == NULL) {
        return fail_memory(failure, "surge stubs");
    }
    stub->friction = friction_at(stub, flow).head;
    if (stub->delay == 0) {
        stub->series =
            stub->impedance * stub->share * (2.0 - stub->share) / (2.0 * (1.0 - stub->share));
    }
    /* The end's head is that of the law, so that both ends hold still to round-off. */
    const double middle = head_start - 0.5 * stub->friction;
    for (size_t i = 0; i < room; i++) {
        stub->right[i] = middle + stub->impedance * flow;
        stub->left[i] = middle - stub->impedance * flow;
    }
    return true;
}

double stub_going(const struct stub *stub)
{
    return (stub->right[0] - stub->left[0]) / (2.0 * stub->impedance);
}

/* Storage at an end of a stub whose ends are joined within a step. */
static struct inflow joined_inflow(const struct stub *stub, enum kernel_side side, double head)
{
    const double half = side == KERNEL_START ? 0.5 * stub->friction : -0.5 * stub->friction;
    const double rest = 0.5 * (stub->right[0] + stub->left[0]) + half;
    const double conductance = stub->share / ((2.0 - stub->share) * stub->impedance);
    return (struct inflow){conductance * (rest - head), conductance};
}

/* Flow q out of an end with B q + F(q)/2 = excess of the arriving wave over the head there. */
static struct inflow delayed_inflow(const struct stub *stub, double excess, double guess)
{
    double flow = guess;
    double slope = stub->impedance;
    for (int i = 0; i < FLOW_LIMIT; i++) {
        const struct drop drop = friction_at(stub, flow);
        slope = stub->impedance + 0.5 * drop.slope;
        const double change = (excess - stub->impedance * flow - 0.5 * drop.head) / slope;
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
    return side == KERNEL_START
               ? delayed_inflow(stub, arriving(stub, stub->left) - head, -stub->flow_start)
               : delayed_inflow(stub, arriving(stub, stub->right) - head, stub->flow_end);
}

static void launch(struct stub *stub, double right, double left)
{
    for (int i = stub->delay + 1; i > 0; i--) {
        stub->right[i] = stub->right[i - 1];
        stub->left[i] = stub->left[i - 1];
    }
    stub->right[0] = right;
    stub->left[0] = left;
}

void stub_step(struct stub *stub, double head_start, double head_end, double flow)
{
    const double into_start = -stub_inflow(stub, KERNEL_START, head_start).flow;
    const double out_of_end = stub_inflow(stub, KERNEL_END, head_end).flow;
    const double impedance = stub->impedance;
    if (stub->delay == 0) {
        stub->flow_start = flow + into_start;
        stub->flow_end = flow + out_of_end;
        stub->friction = friction_at(stub, flow).head;
        launch(stub, head_start + impedance * stub->flow_start - 0.5 * stub->friction,
               head_end - impedance * stub->flow_end + 0.5 * stub->friction);
        return;
    }
    /* 2 B q is the difference of the waves at an end, without the friction: exact for the balance
     * of water. */
    const double back = arriving(stub, stub->left);
    const double on = arriving(stub, stub->right);
    stub->flow_start = into_start;
    stub->flow_end = out_of_end;
    launch(stub, back + 2.0 * impedance * into_start, on - 2.0 * impedance * out_of_end);
}

double stub_stored(const struct stub *stub)
{
    double sum = 0.0;
    double last = 0.0;
    for (int i = 0; i <= stub->delay; i++) {
        const double pair = stub->right[i] + stub->left[i] + stub->right[i + 1] + stub->left[i + 1];
        sum += i < stub->delay ? pair : 0.0;
        last = pair;
    }
    return stub->step / (4.0 * stub->impedance) * (sum + stub->share * last);
}
