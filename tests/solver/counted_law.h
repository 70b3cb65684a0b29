/* Counted law: a kit law that counts how often it is asked. */
#ifndef TESTS_SOLVER_COUNTED_LAW_H
#define TESTS_SOLVER_COUNTED_LAW_H

#include "tests/solver/kit_law.h"

/* As a coupled law it loses head by another link's flow too, as a leg of a tee does. */
struct counted {
    struct kit_law law;
    double by_other; /* head lost: by_other |p| p of the partner's flow p */
    int *asked;
};

static inline struct drop counted_drop(const void *data, const struct water *water, double flow)
{
    const struct counted *counted = data;
    ++*counted->asked;
    return kit_drop(&counted->law, water, flow);
}

static inline struct span counted_span(const void *data, const struct water *water)
{
    return kit_span(&((const struct counted *)data)->law, water);
}

static const struct element counted_element = {
    .kind = "counted", .drop = counted_drop, .span = counted_span};

#endif
