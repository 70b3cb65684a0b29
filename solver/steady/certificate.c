#include "solver/steady/certificate.h"

#include <math.h>

static void check_points(const struct network *network, const double flow[], double sum[],
                         struct certificate *found)
{
    for (int i = 0; i < network->point_count; i++) {
        sum[i] = -network->points[i].draw;
    }
    for (int e = 0; e < network->link_count; e++) {
        sum[network->links[e].from] -= flow[e];
        sum[network->links[e].to] += flow[e];
    }
    for (int i = 0; i < network->point_count; i++) {
        if (network->points[i].is_held) {
            continue;
        }
        if (found->worst_point == NETWORK_NONE || fabs(sum[i]) > found->mass_residual) {
            found->mass_residual = fabs(sum[i]);
            found->worst_point = i;
        }
    }
}

static void check_links(const struct network *network, const struct water *water,
                        const double head[], const double flow[], struct certificate *found)
{
    double worst = -1.0;
    for (int e = 0; e < network->link_count; e++) {
        const struct link *link = &network->links[e];
        const struct span span = link->element->span(link->data, water);
        const double drop = link->element->drop(link->data, water, flow[e]).head;
        const double excess = head[link->from] - head[link->to] - drop;
        double error = fabs(excess);
        if (flow[e] > span.lower && flow[e] < span.upper) {
            found->energy_residual = fmax(found->energy_residual, error);
        } else {
            /* at the lower end any smaller drop, at the upper end any larger drop is right */
            const bool is_low = flow[e] <= span.lower;
            const bool is_high = flow[e] >= span.upper;
            error = is_low && is_high ? 0.0 : fmax(is_low ? excess : -excess, 0.0);
            found->complementarity = fmax(found->complementarity, error);
            found->outside = fmax(found->outside, fmax(span.lower - flow[e], flow[e] - span.upper));
        }
        if (error > worst) {
            worst = error;
            found->worst_link = e;
        }
    }
}

struct certificate certificate_find(const struct network *network, const struct water *water,
                                    const double head[], const double flow[], double sum[])
{
    struct certificate found = {.worst_point = NETWORK_NONE, .worst_link = NETWORK_NONE};
    check_points(network, flow, sum, &found);
    check_links(network, water, head, flow, &found);
    return found;
}
