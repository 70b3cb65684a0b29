#include "solver/steady/forest.h"

#include "solver/steady/drops.h"

#include <math.h>
#include <stdlib.h>

/* --- by shape --- */

/* Stands beside the number of links of a held point and of one with a link that is no pipe, so that
 * it never seems to end a branch. */
enum { STAYS = 1 << 30 };

static bool is_pipe(const struct element *element)
{
    return element->pipe && !element->coupling;
}

/* Whether every law is a monotone graph is seen on the same way. */
static bool count_links(struct forest_left left[], const struct network *network)
{
    bool is_monotone = true;
    for (int i = 0; i < network->point_count; i++) {
        left[i] = (struct forest_left){.count = network->points[i].is_held ? STAYS : 0};
    }
    for (int e = 0; e < network->link_count; e++) {
        const int ends[] = {network->links[e].from, network->links[e].to};
        const int stays = is_pipe(network->links[e].element) ? 0 : STAYS;
        is_monotone = is_monotone && !network->links[e].element->coupling;
        for (int side = 0; side < 2; side++) {
            struct forest_left *here = &left[ends[side]];
            here->count = (here->count + 1) | stays;
            here->mix ^= e;
            here->ends ^= ends[1 - side];
        }
    }
    return is_monotone;
}

static int other_end(const struct link *link, int point)
{
    return link->from == point ? link->to : link->from;
}

/* Takes out the branch that ends at `tip`, as far as it goes. */
static void take_branch(struct forest *forest, struct forest_left left[], int tip)
{
    while (left[tip].count == 1) {
        const int e = left[tip].mix;
        const int next = left[tip].ends;
        forest->branch[forest->count++] = (struct forest_branch){e, tip};
        left[tip].count = 0; /* no link: it stays out of all that follows */
        left[next].count--;
        left[next].mix ^= e;
        left[next].ends ^= tip;
        tip = next;
    }
}

bool forest_plan(struct forest *forest, const struct network *network, struct forest_left left[],
                 struct failure *failure)
{
    const size_t points = (size_t)network->point_count + 1;
    *forest = (struct forest){.branch = malloc(points * sizeof *forest->branch)};
    if (!forest->branch) {
        return fail_memory(failure, "the steady solver");
    }
    forest->is_monotone = count_links(left, network);
    for (int tip = 0; tip < network->point_count && forest->is_monotone; tip++) {
        take_branch(forest, left, tip);
    }
    const size_t bytes = ((size_t)forest->count + 1) * sizeof *forest->branch;
    struct forest_branch *fitting = realloc(forest->branch, bytes);
    forest->branch = fitting ? fitting : forest->branch;
    return true;
}

void forest_free(struct forest *forest)
{
    free(forest->branch);
    *forest = (struct forest){.count = 0};
}

/* --- by draws --- */

static bool lets_all_pass(const struct link *link, const struct water *water)
{
    if (link->element->coupling) {
        return false;
    }
    const struct span span = link->element->span(link->data, water);
    return !isfinite(span.lower) && !isfinite(span.upper);
}

bool forest_flows(const struct forest *forest, const struct network *network,
                  const struct water *water, double draw[], double flow[])
{
    for (int i = 0; i < network->point_count; i++) {
        draw[i] = network->points[i].draw;
    }
    for (int i = 0; i < forest->count; i++) {
        const struct forest_branch branch = forest->branch[i];
        const struct link *link = &network->links[branch.link];
        if (!lets_all_pass(link, water)) {
            return false;
        }
        const double brought = draw[branch.tip];
        flow[branch.link] = link->to == branch.tip ? brought : 0.0 - brought;
        draw[other_end(link, branch.tip)] += brought;
    }
    return true;
}

/* Drops of some branches. */
static void find_drops(int count, const struct forest_branch branch[],
                       const struct network *network, const struct water *water,
                       const double flow[], double drop[])
{
    const struct link *link[DROPS_MOST];
    double through[DROPS_MOST];
    double lost[DROPS_MOST];
    for (int i = 0; i < count; i++) {
        link[i] = &network->links[branch[i].link];
        through[i] = flow[branch[i].link];
    }
    drops_find(count, link, water, through, lost);
    for (int i = 0; i < count; i++) {
        drop[branch[i].link] = lost[i];
    }
}

void forest_heads(const struct forest *forest, const struct network *network,
                  const struct water *water, const double flow[], double drop[], double head[],
                  int zone[])
{
    for (int at = 0; at < forest->count; at += DROPS_MOST) {
        const int some = forest->count - at < DROPS_MOST ? forest->count - at : DROPS_MOST;
        find_drops(some, forest->branch + at, network, water, flow, drop);
    }
    for (int i = forest->count - 1; i >= 0; i--) {
        const struct forest_branch branch = forest->branch[i];
        const struct link *link = &network->links[branch.link];
        const int before = other_end(link, branch.tip);
        const double lost = drop[branch.link];
        head[branch.tip] = link->to == branch.tip ? head[before] - lost : head[before] + lost;
        drop[branch.link] = head[link->from] - head[link->to];
        zone[branch.tip] = zone[before];
    }
}
