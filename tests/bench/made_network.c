#include "tests/bench/made_network.h"

#include "models/circle.h"

#include <math.h>
#include <stdlib.h>

const struct water made_water = {
    .gravity = 9.80665, .density = 1000, .viscosity = 1e-6, .temperature_c = 20};

static int find_root(int parent[], int point)
{
    while (parent[point] != point) {
        parent[point] = parent[parent[point]];
        point = parent[point];
    }
    return point;
}

static void join(struct made_network *made, int from, int to, bool may_be_valve)
{
    const double bores[] = {0.1, 0.15, 0.2, 0.3, 0.4};
    const int e = made->network.link_count++;
    const double bore = bores[random_pick(&made->random, 5)];
    made->pipes[e] = (struct pipe){.friction = {.length = random_spread(&made->random, 10, 300),
                                                .bore = bore,
                                                .roughness = 1e-5}};
    made->network.links[e] = (struct link){.name = "link",
                                           .from = from,
                                           .to = to,
                                           .run = NETWORK_NONE,
                                           .area = circle_area(bore),
                                           .element = &pipe_element,
                                           .data = &made->pipes[e]};
    if (may_be_valve && random_pick(&made->random, 20) == 0 && made->has_valves) {
        made->network.links[e].element = &non_return_element;
        made->network.links[e].data = &made->valve;
        made->network.links[e].area = circle_area(made->valve.bore);
    }
}

/* Neighbours in random order: those that join two trees, then others up to `wanted` links. */
static void join_all(struct made_network *made, int points, int wanted)
{
    const int pairs = 2 * points;
    int *order = calloc((size_t)pairs, sizeof *order);
    for (int i = 0; i < pairs; i++) {
        const int other = random_pick(&made->random, i + 1);
        order[i] = order[other];
        order[other] = i;
    }
    for (int pass = 0; pass < 2; pass++) {
        for (int i = 0; i < pairs; i++) {
            const int from = order[i] / 2;
            const bool is_right = order[i] % 2 == 0;
            const int to = is_right ? from + 1 : from + made->side;
            if (order[i] < 0 || to >= points || (is_right && to % made->side == 0)) {
                continue;
            }
            const int a = find_root(made->parent, from);
            const int b = find_root(made->parent, to);
            if (pass == 0 ? a != b : made->network.link_count < wanted) {
                made->parent[a] = b;
                join(made, from, to, pass == 1);
                order[i] = pass == 0 ? -1 : order[i];
            }
        }
    }
    free(order);
}

/* Links in the order of the points they start from, with their pipes. */
static void list_along(struct made_network *made)
{
    struct network *network = &made->network;
    const size_t count = (size_t)network->link_count;
    int *start = calloc((size_t)network->point_count + 1, sizeof *start);
    struct link *links = calloc(count, sizeof *links);
    struct pipe *pipes = calloc(count, sizeof *pipes);
    for (int e = 0; e < network->link_count; e++) {
        start[network->links[e].from + 1]++;
    }
    for (int i = 0; i < network->point_count; i++) {
        start[i + 1] += start[i];
    }
    for (int e = 0; e < network->link_count; e++) {
        const int place = start[network->links[e].from]++;
        links[place] = network->links[e];
        pipes[place] = made->pipes[e];
        if (links[place].element == &pipe_element) {
            links[place].data = &pipes[place];
        }
    }
    free(start);
    free(network->links);
    free(made->pipes);
    network->links = links;
    made->pipes = pipes;
}

void made_network_init(struct made_network *made, int points, double density, uint64_t seed,
                       enum made_options options)
{
    *made = (struct made_network){.has_valves = (options & MADE_WITH_VALVES) != 0};
    random_seed(&made->random, seed);
    made->side = (int)sqrt((double)points);
    made->network.points = calloc((size_t)points, sizeof(struct point));
    made->network.links = calloc(2 * (size_t)points, sizeof(struct link));
    made->pipes = calloc(2 * (size_t)points, sizeof *made->pipes);
    made->parent = malloc((size_t)points * sizeof *made->parent);
    made->network.point_count = points;
    (void)non_return_make(non_return_type_at(0), 0.2, MOUNTING_LEVEL, &made_water, &made->valve);
    for (int i = 0; i < points; i++) {
        struct point *point = &made->network.points[i];
        const bool is_held = i % 2000 == (points > 1000 ? 1000 : points / 2);
        *point = (struct point){.name = "point", .is_held = is_held, .tank = NETWORK_NONE};
        point->held_head = is_held ? random_even(&made->random, 50, 60) : 0;
        point->draw = is_held || i % 3 == 0 ? 0 : random_even(&made->random, 0, 4e-5);
        made->parent[i] = i;
    }
    join_all(made, points, (int)(density * points));
    if ((options & MADE_SHUFFLED) == 0) {
        list_along(made);
    }
    free(made->parent);
    made->parent = NULL;
}
