#include "solver/findings/reach.h"

#include <math.h>
#include <stddef.h>

static void count_links(struct reach *reach, double least)
{
    const struct network *network = reach->network;
    for (int i = 0; i < network->link_count; i++) {
        const struct link *link = &network->links[i];
        if (fabs(reach->flow[i]) > least) {
            reach->first[(reach->flow[i] > 0.0 ? link->from : link->to) + 1]++;
        }
    }
    for (int i = 0; i < network->point_count; i++) {
        reach->first[i + 1] += reach->first[i];
    }
}

static void enter_links(struct reach *reach, double least)
{
    const struct network *network = reach->network;
    int *filled = reach->queue; /* free until the first search */
    for (int i = 0; i < network->point_count; i++) {
        filled[i] = reach->first[i];
    }
    for (int i = 0; i < network->link_count; i++) {
        const struct link *link = &network->links[i];
        const bool is_forward = reach->flow[i] > 0.0;
        if (fabs(reach->flow[i]) > least) {
            reach->next[filled[is_forward ? link->from : link->to]++] =
                is_forward ? link->to : link->from;
        }
    }
}

bool reach_init(struct reach *reach, const struct network *network, const struct steady *steady,
                double least, struct arena *arena, struct failure *failure)
{
    const size_t points = (size_t)network->point_count;
    *reach = (struct reach){.network = network, .flow = steady->flow};
    reach->first = arena_take(arena, points + 1, sizeof *reach->first);
    reach->next = arena_take(arena, (size_t)network->link_count, sizeof *reach->next);
    reach->queue = arena_take(arena, points, sizeof *reach->queue);
    reach->visit = arena_take(arena, points, sizeof *reach->visit);
    if (!reach->first || !reach->next || !reach->queue || !reach->visit) {
        return fail_memory(failure, "the ways of the water");
    }
    count_links(reach, least);
    enter_links(reach, least);
    return true;
}

void reach_from(struct reach *reach, int point)
{
    int head = 0;
    int tail = 0;
    reach->searches++;
    reach->visit[point] = reach->searches;
    reach->queue[tail++] = point;
    while (head < tail) {
        const int here = reach->queue[head++];
        if (here != point && reach->network->points[here].is_held) {
            continue;
        }
        for (int i = reach->first[here]; i < reach->first[here + 1]; i++) {
            const int next = reach->next[i];
            if (reach->visit[next] != reach->searches) {
                reach->visit[next] = reach->searches;
                reach->queue[tail++] = next;
            }
        }
    }
}

bool reach_came_by(const struct reach *reach, int point)
{
    return reach->searches > 0 && reach->visit[point] == reach->searches;
}
