#include "io/command/large.h"

#include "io/terminal/prose.h"

#include <math.h>

/* The least and the greatest of something, and where. */
struct range {
    double least;
    double greatest;
    int least_at;
    int greatest_at;
};

static void widen(struct range *range, double value, int at)
{
    if (value < range->least) {
        range->least = value;
        range->least_at = at;
    }
    if (value > range->greatest) {
        range->greatest = value;
        range->greatest_at = at;
    }
}

static void print_points(const struct site *site, const struct steady *steady,
                         const struct terminal *to)
{
    const struct network *network = site->network;
    struct range range = {HUGE_VAL, -HUGE_VAL, 0, 0};
    double draw = 0.0;
    int count = 0;
    for (int i = 0; i < network->point_count; i++) {
        const struct point *point = &network->points[i];
        if (point->is_held || steady->zone[i] != NETWORK_NONE) {
            continue;
        }
        count++;
        draw += point->draw;
        widen(&range, water_pressure(&site->water, steady->head[i] - point->elevation), i);
    }
    if (count > 0) {
        prose_tell(to,
                   "  %d points, %.3f L/s drawn off\n"
                   "  pressure from %.3f bar at %s to %.3f bar at %s\n",
                   count, 1e3 * draw, 1e-5 * range.least, network->points[range.least_at].name,
                   1e-5 * range.greatest, network->points[range.greatest_at].name);
    }
}

void large_print(const struct site *site, const struct steady *steady,
                 const struct terminal *terminal)
{
    const struct network *network = site->network;
    struct range range = {HUGE_VAL, -HUGE_VAL, 0, 0};
    int count = 0;
    for (int e = 0; e < network->link_count; e++) {
        const struct link *link = &network->links[e];
        if (link->run == NETWORK_NONE && link->element->pipe) {
            count++;
            widen(&range, fabs(steady->flow[e]) / link->area, e);
        }
    }
    if (count == 0) {
        return;
    }
    terminal_say(terminal, TONE_STRONG, "From tables\n");
    prose_tell(terminal, "  %d pipes, velocity from %.2g m/s in %s to %.3g m/s in %s\n", count,
               range.least, network->links[range.least_at].name, range.greatest,
               network->links[range.greatest_at].name);
    print_points(site, steady, terminal);
    (void)fputc('\n', terminal->out);
}
