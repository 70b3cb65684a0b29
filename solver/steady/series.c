#include "solver/steady/series.h"

#include "models/friction.h"

#include <stdlib.h>

/* Links counted at a point of the forest, at one that is in a run already, and at one that must not
 * be. */
enum { FOREST = 0, TAKEN = -1, KEPT = -2 };

bool series_is_plain(const struct link *link)
{
    const struct element *element = link->element;
    if (!element->friction || element->coupling) {
        return false;
    }
    const struct friction *friction = element->friction(link->data);
    return !(friction->factor > 0.0) && !(friction->hazen_williams > 0.0);
}

/* Goes on from the end of the last pipe in the list, which `point` is the other end of, as far as a
 * run goes, but not through the point `stop`; lists the pipes. Returns how many are listed then. */
static int walk(struct series_pipe list[], int count, const struct network *network,
                struct forest_left left[], int pipe, int point, int stop)
{
    int here = list[count - 1].ahead;
    while (here != stop && left[here].count == 2) {
        const int next = left[here].ends ^ point;
        pipe ^= left[here].mix;
        left[here].count = TAKEN;
        point = here;
        here = next;
        /* ~pipe where it points against the way: not by a choice, which nobody could foresee */
        const int against = network->links[pipe].from != point ? -1 : 0;
        list[count++] = (struct series_pipe){pipe ^ against, here};
    }
    return count;
}

/* Lets the list begin where it ends; it began at `begin`. */
static void turn_round(struct series_pipe list[], int count, int begin)
{
    for (int i = 0; i < count / 2; i++) {
        const struct series_pipe kept = list[i];
        list[i] = list[count - 1 - i];
        list[count - 1 - i] = kept;
    }
    for (int i = 0; i < count; i++) {
        list[i].link = ~list[i].link;
        list[i].ahead = i + 1 < count ? list[i + 1].ahead : begin;
    }
}

/* The run that `pipe` is in, if it is longer than that. */
static void take_run(struct series *series, const struct network *network,
                     struct forest_left left[], int pipe)
{
    const int from = network->links[pipe].from;
    const int to = network->links[pipe].to;
    struct series_pipe *list = series->pipe + series->start[series->count];
    list[0] = (struct series_pipe){~pipe, from};
    int count = walk(list, 1, network, left, pipe, to, to);
    const int first = list[count - 1].ahead;
    turn_round(list, count, to);
    count = walk(list, count, network, left, pipe, from, first);
    if (first == list[count - 1].ahead) { /* a ring: two of its points stay */
        count--;
        left[list[count - 1].ahead].count = KEPT;
        left[first].count = KEPT;
    }
    if (count > 1) {
        series->start[series->count + 1] = series->start[series->count] + count;
        series->count++;
    }
}

/* Whether a link between points with so many links is looked at: it may be in a run, and is in none
 * yet. */
static bool may_begin(int from, int to)
{
    return (from == 2 || to == 2) && from != TAKEN && to != TAKEN && from != FOREST && to != FOREST;
}

/* All runs, unless the first pipe of the first one has another law than friction by a roughness:
 * mostly all pipes of a network have laws of one kind, and to look at each takes long. */
static void take_all(struct series *series, const struct network *network,
                     struct forest_left left[])
{
    for (int e = 0; e < network->link_count; e++) {
        const struct link *link = &network->links[e];
        if (!may_begin(left[link->from].count, left[link->to].count)) {
            continue;
        }
        take_run(series, network, left, e);
        if (series->first == NETWORK_NONE && series->count > 0) {
            series->first = series_link(series, 0);
            if (!series_is_plain(&network->links[series->first])) {
                series->count = 0;
                return;
            }
        }
    }
}

bool series_plan(struct series *series, const struct network *network, struct forest_left left[],
                 struct failure *failure)
{
    const size_t links = (size_t)network->link_count + 1;
    *series = (struct series){.first = NETWORK_NONE};
    series->start = malloc((links / 2 + 1) * sizeof *series->start);
    series->pipe = malloc(links * sizeof *series->pipe);
    if (!series->start || !series->pipe) {
        series_free(series);
        return fail_memory(failure, "the steady solver");
    }
    series->start[0] = 0;
    take_all(series, network, left);
    return true;
}

void series_free(struct series *series)
{
    free(series->start);
    free(series->pipe);
    *series = (struct series){.first = NETWORK_NONE};
}
