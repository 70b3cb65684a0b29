#include "solver/steady/zones.h"

#include "solver/steady/ray.h"

#include <math.h>

/* A zone's draws are in balance when their sum is below this share of their sizes' sum: the
 * decimal numbers of a case do not sum to zero exactly. */
static const double balance_share = 1e-12;

enum { ROUND_LIMIT = 1000 };

static int find_root(int parent[], int row)
{
    while (parent[row] != row) {
        parent[row] = parent[parent[row]]; /* halves the path */
        row = parent[row];
    }
    return row;
}

/* Root of the zone of a row; `row_count`: joined to a held head. */
static int zone_of(const struct state *state, int row)
{
    return find_root(state->parent, row < state->row_count ? row : state->row_count);
}

/* The higher number becomes the root, so that the mainland (the last) always stays one. */
static void unite(const struct state *state, int row_a, int row_b)
{
    int *parent = state->parent;
    const int a = zone_of(state, row_a);
    const int b = zone_of(state, row_b);
    if (a < b) {
        parent[a] = b;
    } else {
        parent[b] = a;
    }
}

void zones_find(struct state *state, bool every_link)
{
    int *parent = state->parent;
    for (int row = 0; row <= state->row_count; row++) {
        parent[row] = row;
    }
    for (int e = 0; e < state->link_count; e++) {
        if (every_link || state_is_open(state, e)) {
            unite(state, state->from[e], state->to[e]);
        }
    }
    state->pin_count = 0;
    for (int row = 0; row < state->row_count; row++) {
        if (find_root(parent, row) == row) {
            state->pin[state->pin_count++] = row;
        }
    }
}

static void add_to_zone(struct state *state, int root, double flow)
{
    state->zone_sum[root] += flow;
    state->zone_size[root] += fabs(flow);
}

/* What flows out of each zone and is drawn in it. Inner flows cancel and are left out, so that the
 * sum is as exact as the draws are. */
static void sum_zones(struct state *state)
{
    for (int row = 0; row <= state->row_count; row++) {
        state->zone_sum[row] = 0.0;
        state->zone_size[row] = 0.0;
    }
    for (int row = 0; row < state->row_count; row++) {
        const double draw = state->draw[row];
        if (draw < 0.0 || draw > 0.0) {
            add_to_zone(state, zone_of(state, row), draw);
        }
    }
    for (int i = 0; i < state->limited_count; i++) {
        const int e = state->limited[i];
        const int from = zone_of(state, state->from[e]);
        const int to = zone_of(state, state->to[e]);
        if (from != to) {
            add_to_zone(state, from, state->target[e]);
            add_to_zone(state, to, -state->target[e]);
        }
    }
}

/* The ray on which every head of the zone with this root moves by `sign` m per unit. */
static struct ray zone_ray(struct state *state, int root, double sign)
{
    int count = 0;
    for (int i = 0; i < state->limited_count; i++) {
        const int e = state->limited[i];
        const bool is_from = zone_of(state, state->from[e]) == root;
        const bool is_to = zone_of(state, state->to[e]) == root;
        if (is_from != is_to) {
            const double change = is_from ? sign : -sign;
            state->ray_flow[count] = state->free_flow[e];
            state->ray_rate[count] = state->conductance[e] * change;
            state->ray_drop[count] = change;
            state->ray_span[count] = state->span[e];
            count++;
        }
    }
    const struct ray ray = {.start = -fabs(state->zone_sum[root]),
                            .count = count,
                            .flow = state->ray_flow,
                            .rate = state->ray_rate,
                            .drop = state->ray_drop,
                            .span = state->ray_span};
    return ray;
}

/* Lessens the largest draw of the zone by `excess` m3/s (signed). */
static void lessen_draw(struct state *state, int root, double excess)
{
    int worst = root;
    double largest = 0.0;
    for (int row = 0; row < state->row_count; row++) {
        const double draw = excess > 0.0 ? state->draw[row] : -state->draw[row];
        if (draw > largest && zone_of(state, row) == root) {
            largest = draw;
            worst = row;
        }
    }
    state->draw[worst] -= excess;
    state->is_short = true;
}

static void move_zone(struct state *state, int root, double change)
{
    for (int row = 0; row < state->row_count; row++) {
        if (zone_of(state, row) == root) {
            state->shift[row] += change;
        }
    }
    for (int i = 0; i < state->limited_count; i++) {
        const int e = state->limited[i];
        const bool is_from = zone_of(state, state->from[e]) == root;
        const bool is_to = zone_of(state, state->to[e]) == root;
        if (is_from != is_to) {
            state->free_flow[e] += state->conductance[e] * (is_from ? change : -change);
            state->target[e] =
                fmin(fmax(state->free_flow[e], state->span[e].lower), state->span[e].upper);
        }
    }
}

/* True when the zone had to move or its draw had to be lessened. */
static bool balance_zone(struct state *state, int root)
{
    const double sum = state->zone_sum[root];
    if (!(fabs(sum) > balance_share * state->zone_size[root])) {
        return false;
    }
    const double sign = sum > 0.0 ? -1.0 : 1.0; /* too much is drawn: heads sink */
    const struct ray ray = zone_ray(state, root, sign);
    const double limit = ray_limit(&ray);
    if (limit < -balance_share * state->zone_size[root]) {
        lessen_draw(state, root, sign * limit);
        return true;
    }
    move_zone(state, root, sign * ray_root(&ray));
    return true;
}

bool zones_balance(struct state *state)
{
    bool has_moved = false;
    for (int round = 0; round < ROUND_LIMIT; round++) {
        zones_find(state, false);
        if (state->pin_count == 0) {
            return has_moved;
        }
        sum_zones(state);
        bool moves = false;
        for (int i = 0; i < state->pin_count && !moves; i++) {
            moves = balance_zone(state, state->pin[i]);
        }
        if (!moves) {
            return has_moved;
        }
        has_moved = true;
    }
    return has_moved;
}

int zones_number(struct state *state, int zone[])
{
    for (int e = 0; e < state->link_count; e++) {
        state->free_flow[e] = state->flow[e]; /* what counts now is the answer */
    }
    zones_find(state, false);
    for (int i = 0; i < state->point_count; i++) {
        const int root = zone_of(state, state->row[i]);
        zone[i] = root; /* replaced by its number below */
    }
    for (int i = 0; i < state->pin_count; i++) {
        state->parent[state->pin[i]] = -1 - i; /* root to number; the roots are not asked again */
    }
    for (int i = 0; i < state->point_count; i++) {
        zone[i] = zone[i] == state->row_count ? NETWORK_NONE : -1 - state->parent[zone[i]];
    }
    return state->pin_count;
}
