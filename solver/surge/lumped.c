#include "solver/surge/lumped.h"

#include <math.h>
#include <string.h>

/* The flows possible in this step; the guess is brought inside. */
static void find_span(struct lumped *lumped)
{
    const struct element *element = lumped->element;
    lumped->span = (struct span){-INFINITY, INFINITY};
    memset(lumped->kept, 0, sizeof lumped->kept);
    lumped->now.kept = lumped->kept;
    if (element->motion != NULL && element->motion->span != NULL) {
        lumped->span = element->motion->span(lumped->data, &lumped->now, lumped->old);
    } else if (element->span != NULL) {
        lumped->span = element->span(lumped->data, lumped->now.water);
    }
    double flow = lumped->flow > lumped->span.lower ? lumped->flow : lumped->span.lower;
    lumped->flow = flow < lumped->span.upper ? flow : lumped->span.upper;
}

void lumped_start(struct lumped *lumped, const struct link *link, const struct water *water,
                  double flow, double head_from, double head_to)
{
    const struct motion *motion = link->element->motion;
    const struct coupling *coupling = link->element->coupling;
    lumped->element = link->element;
    lumped->data = link->data;
    lumped->now.water = water;
    lumped->flow = flow;
    if (motion != NULL && motion->start != NULL) {
        motion->start(link->data, water, flow, head_from - head_to, lumped->old);
    }
    if (coupling != NULL && coupling->start != NULL) {
        coupling->start(link->data, water, flow, head_from, head_to, lumped->old);
    }
    memcpy(lumped->next, lumped->old, sizeof lumped->next);
}

void lumped_begin(struct lumped *lumped, double time, double step, double setting)
{
    lumped->now.time = time;
    lumped->now.step = step;
    lumped->now.setting = setting;
    lumped->flow_before = lumped->flow;
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

struct coupled_law lumped_law(struct lumped *lumped, const struct coupled_at *at)
{
    const struct coupling *coupling = lumped->element->coupling;
    if (coupling->law_of_step != NULL) {
        return coupling->law_of_step(lumped->data, &lumped->now, lumped->old, at, lumped->next);
    }
    return coupling->law(lumped->data, lumped->now.water, at);
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
