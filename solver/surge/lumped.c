#include "solver/surge/lumped.h"

#include <math.h>
#include <string.h>

/* The flows possible in this step; the guess is brought inside. */
static void find_span(struct lumped *lumped)
{
    const struct element *element = lumped->element;
    lumped->span = (struct span){-INFINITY, INFINITY};
    if (element->motion != NULL && element->motion->span != NULL) {
        lumped->span = element->motion->span(lumped->data, &lumped->now, lumped->old);
    } else if (element->span != NULL) {
        lumped->span = element->span(lumped->data, lumped->now.water);
    }
    double flow = lumped->flow > lumped->span.lower ? lumped->flow : lumped->span.lower;
    lumped->flow = flow < lumped->span.upper ? flow : lumped->span.upper;
}

void lumped_start(struct lumped *lumped, const struct link *link, const struct water *water,
                  double flow, double drop)
{
    lumped->element = link->element;
    lumped->data = link->data;
    lumped->now.water = water;
    lumped->flow = flow;
    if (link->element->motion != NULL && link->element->motion->start != NULL) {
        link->element->motion->start(link->data, water, flow, drop, lumped->old);
        memcpy(lumped->next, lumped->old, sizeof lumped->next);
    }
}

void lumped_begin(struct lumped *lumped, double time, double step, double setting)
{
    lumped->now.time = time;
    lumped->now.step = step;
    lumped->now.setting = setting;
    find_span(lumped);
}

struct drop lumped_drop(struct lumped *lumped, double flow)
{
    const struct motion *motion = lumped->element->motion;
    struct drop drop;
    if (motion != NULL && motion->drop != NULL) {
        drop = motion->drop(lumped->data, &lumped->now, lumped->old, flow, lumped->next);
    } else {
        drop = lumped->element->drop(lumped->data, lumped->now.water, flow);
    }
    if (lumped->series > 0.0) {
        drop.slope += lumped->series;
        drop.head += lumped->series * (flow - lumped->going);
    }
    return drop;
}

bool lumped_settle(struct lumped *lumped, double difference)
{
    const struct motion *motion = lumped->element->motion;
    if (motion == NULL || motion->settle == NULL ||
        !motion->settle(lumped->data, &lumped->now, lumped->old, lumped->flow, difference,
                        lumped->next)) {
        return false;
    }
    memcpy(lumped->old, lumped->next, sizeof lumped->old);
    find_span(lumped);
    return true;
}

void lumped_end(struct lumped *lumped)
{
    memcpy(lumped->old, lumped->next, sizeof lumped->old);
}
