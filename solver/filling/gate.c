#include "solver/filling/gate.h"

#include <math.h>

static struct drop drop(const void *data, const struct water *water, double flow)
{
    const struct gate *gate = data;
    struct drop result = gate->element->drop(gate->data, water, flow);
    result.head += gate->lift;
    return result;
}

static struct span span(const void *data, const struct water *water)
{
    const struct gate *gate = data;
    struct span result = gate->element->span(gate->data, water);
    if (gate->is_shut_forward) {
        result.upper = fmin(result.upper, 0.0);
        result.lower = fmin(result.lower, result.upper);
    }
    if (gate->is_shut_backward) {
        result.lower = fmax(result.lower, 0.0);
        result.upper = fmax(result.upper, result.lower);
    }
    return result;
}

const struct element gate_element = {.kind = "gate", .drop = drop, .span = span};

bool gate_is_needed(const struct gate *gate)
{
    return gate->is_shut_forward || gate->is_shut_backward || fabs(gate->lift) > 0.0;
}
