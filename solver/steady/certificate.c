#include "solver/steady/certificate.h"

#include "solver/steady/drops.h"

#include <math.h>

static void begin_sums(const struct network *network, double sum[])
{
    for (int i = 0; i < network->point_count; i++) {
        sum[i] = -network->points[i].draw;
    }
}

static void check_points(const struct network *network, const double sum[],
                         struct certificate *found)
{
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

/* |law| of a link with a coupling, m. */
static double coupled_error(const struct network *network, const struct water *water, int e,
                            const double head[], const double flow[])
{
    const struct link *link = &network->links[e];
    const struct coupling *coupling = link->element->coupling;
    struct coupled_at at = {
        .flow = flow[e], .head_from = head[link->from], .head_to = head[link->to]};
    int partner[COUPLING_PARTNER_MAX] = {0};
    if (coupling->partner_count > 0) {
        coupling->partners(link->data, partner);
    }
    for (int i = 0; i < coupling->partner_count; i++) {
        at.partner_flow[i] = flow[partner[i]];
    }
    return fabs(coupling->law(link->data, water, &at).value);
}

/* Error of a link with a monotone law that loses `drop`; counted where it belongs. */
static double plain_error(const struct link *link, const struct water *water, const double head[],
                          double flow, double drop, struct certificate *found)
{
    const struct span span = link->element->span(link->data, water);
    const double excess = head[link->from] - head[link->to] - drop;
    if (flow > span.lower && flow < span.upper) {
        found->energy_residual = fmax(found->energy_residual, fabs(excess));
        return fabs(excess);
    }
    /* at the lower end any smaller drop, at the upper end any larger drop is right */
    const bool is_low = flow <= span.lower;
    const bool is_high = flow >= span.upper;
    const double error = is_low && is_high ? 0.0 : fmax(is_low ? excess : -excess, 0.0);
    found->complementarity = fmax(found->complementarity, error);
    found->outside = fmax(found->outside, fmax(span.lower - flow, flow - span.upper));
    return error;
}

/* Some links from `at` on, while they are in the nearest cache: what they bring to the points. */
static void add_flows(const struct link link[], const double flow[], int some, double sum[])
{
    for (int i = 0; i < some; i++) {
        sum[link[i].from] -= flow[i];
        sum[link[i].to] += flow[i];
    }
}

/* Their laws. */
static void check_some(const struct network *network, const struct water *water,
                       const double head[], const double flow[], int at, int some, double *worst,
                       struct certificate *found)
{
    const struct link *link[DROPS_MOST];
    double drop[DROPS_MOST];
    for (int i = 0; i < some; i++) {
        link[i] = &network->links[at + i];
    }
    drops_find(some, link, water, flow + at, drop);
    for (int i = 0; i < some; i++) {
        double error;
        if (link[i]->element->coupling) {
            error = coupled_error(network, water, at + i, head, flow);
            found->energy_residual = fmax(found->energy_residual, error);
        } else {
            error = plain_error(link[i], water, head, flow[at + i], drop[i], found);
        }
        if (error > *worst) {
            *worst = error;
            found->worst_link = at + i;
        }
    }
}

static void check_links(const struct network *network, const struct water *water,
                        const double head[], const double flow[], double sum[],
                        struct certificate *found)
{
    double worst = -1.0;
    for (int at = 0; at < network->link_count; at += DROPS_MOST) {
        const int left = network->link_count - at;
        const int some = left < DROPS_MOST ? left : DROPS_MOST;
        add_flows(network->links + at, flow + at, some, sum);
        check_some(network, water, head, flow, at, some, &worst, found);
    }
}

struct certificate certificate_find(const struct network *network, const struct water *water,
                                    const double head[], const double flow[], double sum[])
{
    struct certificate found = {.worst_point = NETWORK_NONE, .worst_link = NETWORK_NONE};
    begin_sums(network, sum);
    check_links(network, water, head, flow, sum, &found);
    check_points(network, sum, &found);
    return found;
}
