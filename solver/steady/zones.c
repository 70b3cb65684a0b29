#include "solver/steady/zones.h"

#include "solver/steady/ray.h"

#include <math.h>

/* A zone's draws are in balance when their sum is below this share of their sizes' sum: the
 * decimal numbers of a case do not sum to zero exactly. */
static const double balance_share = 1e-12;

/* Head kept between a zone and the opening of any link at its edge, m, where there is room. */
static const double centre_margin = 5.0;

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

void zones_find(struct state *state, bool by_active)
{
    int *parent = state->parent;
    for (int row = 0; row <= state->row_count; row++) {
        parent[row] = row;
    }
    for (int e = 0; e < state->link_count; e++) {
        if (by_active ? state->active[e] > 0.0 : state_is_open(state, e)) {
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

/* How far the heads of a zone may rise and sink before some link opens, m. */
struct room {
    double up;
    double down;
};

static struct room find_room(const struct state *state, int root)
{
    struct room room = {INFINITY, INFINITY};
    for (int i = 0; i < state->limited_count; i++) {
        const int e = state->limited[i];
        const bool is_from = zone_of(state, state->from[e]) == root;
        const bool is_to = zone_of(state, state->to[e]) == root;
        if (is_from == is_to) {
            continue;
        }
        const struct span span = state->span[e];
        if (!(span.lower < span.upper)) {
            continue; /* a fixed flow never opens */
        }
        /* at its lower end it opens when its head difference grows, at its upper when it falls */
        const bool is_low = state->free_flow[e] <= span.lower + state->tie_flow;
        const double gap =
            is_low ? span.lower - state->free_flow[e] : state->free_flow[e] - span.upper;
        double *way = is_from == is_low ? &room.up : &room.down;
        *way = fmin(*way, fmax(gap, 0.0) / state->conductance[e]);
    }
    return room;
}

/* A zone in balance may have any head at which its links stay shut. Kept away from where one opens,
 * it does not open and shut it by turns while the heads around it find their places. */
static void centre_zone(struct state *state, int root)
{
    const struct room room = find_room(state, root);
    double change = 0.0;
    if (isfinite(room.up) && isfinite(room.down)) {
        change = 0.5 * (room.up - room.down);
    } else if (room.up < centre_margin) {
        change = room.up - centre_margin;
    } else if (room.down < centre_margin) {
        change = centre_margin - room.down;
    }
    if (fabs(change) > 0.0) {
        move_zone(state, root, change);
    }
}

/* True when the zone had to move or its draw had to be lessened. */
static bool balance_zone(struct state *state, int root)
{
    const double sum = state->zone_sum[root];
    if (!(fabs(sum) > balance_share * state->zone_size[root] + state->tie_flow)) {
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
            for (int i = 0; i < state->pin_count; i++) {
                centre_zone(state, state->pin[i]);
            }
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
    state->tie_flow = 0.0;
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
