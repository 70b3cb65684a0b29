/* Parts are found once a solution; a zone is a ring of parts. So what a look at the zones costs
 * goes with the links that have an end to their span and with the points that are cut off, not with
 * the network. The land, numbered `part_count`, is all that is always joined to a held head. */
#include "solver/steady/zones.h"

#include "solver/steady/ray.h"

#include <math.h>

/* A zone's draws are in balance when their sum is below this share of their sizes' sum: the
 * decimal numbers of a case do not sum to zero exactly. */
static const double balance_share = 1e-12;

/* Head kept between a zone and the opening of any link at its edge, m, where there is room. */
static const double centre_margin = 5.0;

enum { ROUND_LIMIT = 1000 };

static int find_root(int parent[], int at)
{
    while (parent[at] != at) {
        parent[at] = parent[parent[at]]; /* halves the path */
        at = parent[at];
    }
    return at;
}

/* The higher number becomes the root, so that the land (the last) always stays one. */
static bool unite(int parent[], int a, int b)
{
    a = find_root(parent, a);
    b = find_root(parent, b);
    if (a == b) {
        return false;
    }
    parent[a < b ? a : b] = a < b ? b : a;
    return true;
}

/* --- parts --- */

static int part_of(const struct state *state, int row)
{
    return state->part[row < state->row_count ? row : state->row_count];
}

/* Roots of the rows over links without an end to their span, in `parent`. */
static void join_rows(struct state *state)
{
    const int held = state->row_count;
    int *parent = state->parent;
    int next = 0; /* limited links come in the links' order */
    for (int row = 0; row <= held; row++) {
        parent[row] = row;
    }
    for (int e = 0; e < state->link_count; e++) {
        if (next < state->limited_count && state->limited[next] == e) {
            next++;
            continue;
        }
        const int from = state->from[e] < held ? state->from[e] : held;
        const int to = state->to[e] < held ? state->to[e] : held;
        (void)unite(parent, from, to);
    }
}

/* Numbers the parts, and puts each one's rows in a row. */
static void list_rows(struct state *state)
{
    const int held = state->row_count;
    int *start = state->part_start;
    state->part_count = 0;
    for (int row = held; row >= 0; row--) { /* a root comes before the rows below it */
        const int root = find_root(state->parent, row);
        if (root == row && row < held) {
            start[state->part_count] = 0;
            state->part[row] = state->part_count++;
        } else if (root == held) {
            state->part[row] = NETWORK_NONE; /* the land, numbered when the others are counted */
        } else {
            state->part[row] = state->part[root];
        }
    }
    int count = 0;
    for (int row = 0; row <= held; row++) {
        if (state->part[row] == NETWORK_NONE) {
            state->part[row] = state->part_count;
        } else {
            start[state->part[row]]++;
        }
    }
    for (int part = 0; part < state->part_count; part++) {
        count += start[part];
        start[part] = count;
    }
    start[state->part_count] = count;
    for (int row = held - 1; row >= 0; row--) {
        if (state->part[row] < state->part_count) {
            state->part_row[--start[state->part[row]]] = row;
        }
    }
}

/* The limited links at the edges of each part. */
static void list_edges(struct state *state)
{
    int *start = state->edge_start;
    for (int part = 0; part <= state->part_count + 1; part++) {
        start[part] = 0;
    }
    for (int side = 0; side < 2; side++) {
        const int *end = side == 0 ? state->from : state->to;
        for (int i = 0; i < state->limited_count; i++) {
            start[part_of(state, end[state->limited[i]])]++;
        }
    }
    int count = 0;
    for (int part = 0; part < state->part_count; part++) {
        count += start[part];
        start[part] = count;
    }
    start[state->part_count] = count;
    for (int i = state->limited_count - 1; i >= 0; i--) {
        const int e = state->limited[i];
        const int ends[] = {part_of(state, state->from[e]), part_of(state, state->to[e])};
        for (int side = 0; side < 2; side++) {
            if (ends[side] < state->part_count) {
                state->edge[--start[ends[side]]] = i;
            }
        }
    }
}

void zones_part(struct state *state)
{
    join_rows(state);
    list_rows(state);
    list_edges(state);
    for (int i = 0; i < state->limited_count; i++) {
        state->is_open[i] = 1;
    }
    zones_find(state, true);
    state->has_loose_zone = state->pin_count > 0;
}

/* --- zones --- */

void zones_find(struct state *state, bool by_factors)
{
    int *parent = state->parent;
    int *ring = state->ring;
    for (int part = 0; part <= state->part_count; part++) {
        parent[part] = part;
        ring[part] = part;
    }
    for (int i = 0; state->part_count > 0 && i < state->limited_count; i++) {
        const int e = state->limited[i];
        if (!(by_factors ? state->is_open[i] : state_is_open(state, i))) {
            continue;
        }
        const int a = part_of(state, state->from[e]);
        const int b = part_of(state, state->to[e]);
        if (unite(parent, a, b)) {
            const int next = ring[a];
            ring[a] = ring[b];
            ring[b] = next;
        }
    }
    state->pin_count = 0;
    for (int part = 0; part < state->part_count; part++) {
        if (parent[part] == part) {
            state->root[state->pin_count] = part;
            state->pin[state->pin_count++] = state->part_row[state->part_start[part]];
        }
    }
}

/* A walk over the limited links that join one zone to what is around it. */
struct edge {
    int part;
    int place;
    int limited;
    int link;
    double sign; /* change of its head difference when the zone's heads rise: 1 or -1 */
};

static struct edge edge_first(const struct state *state, int root)
{
    return (struct edge){.part = root, .place = state->edge_start[root] - 1};
}

static bool edge_next(const struct state *state, int root, struct edge *edge)
{
    for (;;) {
        edge->place++;
        while (edge->place >= state->edge_start[edge->part + 1]) {
            edge->part = state->ring[edge->part];
            if (edge->part == root) {
                return false;
            }
            edge->place = state->edge_start[edge->part];
        }
        edge->limited = state->edge[edge->place];
        edge->link = state->limited[edge->limited];
        const int from = find_root(state->parent, part_of(state, state->from[edge->link]));
        const int to = find_root(state->parent, part_of(state, state->to[edge->link]));
        if (from != to) {
            edge->sign = from == root ? 1.0 : -1.0;
            return true;
        }
    }
}

/* What flows out of the zone and is drawn in it. Inner flows cancel and are left out, so that the
 * sum is as exact as the draws are. */
struct zone_sum {
    double flow; /* m3/s */
    double size; /* m3/s, sum of the sizes of its terms */
};

static struct zone_sum sum_zone(const struct state *state, int root)
{
    struct zone_sum sum = {0.0, 0.0};
    int part = root;
    do {
        for (int i = state->part_start[part]; i < state->part_start[part + 1]; i++) {
            sum.flow += state->draw[state->part_row[i]];
            sum.size += fabs(state->draw[state->part_row[i]]);
        }
        part = state->ring[part];
    } while (part != root);
    struct edge edge = edge_first(state, root);
    while (edge_next(state, root, &edge)) {
        sum.flow += edge.sign * state->target[edge.link];
        sum.size += fabs(state->target[edge.link]);
    }
    return sum;
}

/* The ray on which every head of the zone moves by `sign` m per unit, from the slope `start`. */
static struct ray zone_ray(struct state *state, int root, double sign, double start)
{
    int count = 0;
    struct edge edge = edge_first(state, root);
    while (edge_next(state, root, &edge)) {
        const double change = sign * edge.sign;
        state->ray_flow[count] = state->free_flow[edge.limited];
        state->ray_rate[count] = state->conductance[edge.link] * change;
        state->ray_drop[count] = change;
        state->ray_span[count] = state->span[edge.limited];
        count++;
    }
    const struct ray ray = {.start = start,
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
    int worst = state->part_row[state->part_start[root]];
    double largest = 0.0;
    int part = root;
    do {
        for (int i = state->part_start[part]; i < state->part_start[part + 1]; i++) {
            const int row = state->part_row[i];
            const double draw = excess > 0.0 ? state->draw[row] : -state->draw[row];
            if (draw > largest) {
                largest = draw;
                worst = row;
            }
        }
        part = state->ring[part];
    } while (part != root);
    state->draw[worst] -= excess;
    state->is_short = true;
}

static void move_zone(struct state *state, int root, double change)
{
    int part = root;
    do {
        for (int i = state->part_start[part]; i < state->part_start[part + 1]; i++) {
            state->shift[state->part_row[i]] += change;
        }
        part = state->ring[part];
    } while (part != root);
    struct edge edge = edge_first(state, root);
    while (edge_next(state, root, &edge)) {
        const struct span span = state->span[edge.limited];
        double *flow = &state->free_flow[edge.limited];
        *flow += state->conductance[edge.link] * edge.sign * change;
        state->target[edge.link] = fmin(fmax(*flow, span.lower), span.upper);
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
    struct edge edge = edge_first(state, root);
    while (edge_next(state, root, &edge)) {
        const struct span span = state->span[edge.limited];
        const double flow = state->free_flow[edge.limited];
        if (!(span.lower < span.upper)) {
            continue; /* a fixed flow never opens */
        }
        /* at its lower end it opens when its head difference grows, at its upper when it falls */
        const bool is_low = flow <= span.lower + state->tie_flow;
        const double gap = is_low ? span.lower - flow : flow - span.upper;
        double *way = (edge.sign > 0.0) == is_low ? &room.up : &room.down;
        *way = fmin(*way, fmax(gap, 0.0) / state->conductance[edge.link]);
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
    const struct zone_sum sum = sum_zone(state, root);
    if (!(fabs(sum.flow) > balance_share * sum.size + state->tie_flow)) {
        return false;
    }
    const double sign = sum.flow > 0.0 ? -1.0 : 1.0; /* too much is drawn: heads sink */
    const struct ray ray = zone_ray(state, root, sign, -fabs(sum.flow));
    const double limit = ray_limit(&ray);
    if (limit < -balance_share * sum.size) {
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
        /* Each zone once, with what the ones before it left; then the zones are looked at anew,
         * since links have opened. */
        bool moves = false;
        for (int i = 0; i < state->pin_count; i++) {
            moves = balance_zone(state, state->root[i]) || moves;
        }
        if (!moves) {
            for (int i = 0; i < state->pin_count; i++) {
                centre_zone(state, state->root[i]);
            }
            return has_moved;
        }
        has_moved = true;
    }
    return has_moved;
}

int zones_number(struct state *state, int point_count, int zone[])
{
    for (int i = 0; i < state->limited_count; i++) {
        state->free_flow[i] = state->flow[state->limited[i]]; /* what counts now is the answer */
    }
    state->tie_flow = 0.0;
    zones_find(state, false);
    for (int i = 0; i < state->pin_count; i++) {
        state->ring[state->root[i]] = i; /* root to number; the rings are not asked again */
    }
    for (int i = 0; i < point_count; i++) {
        zone[i] = NETWORK_NONE;
        if (state->row[i] != NETWORK_NONE) {
            const int root = find_root(state->parent, part_of(state, state->row[i]));
            zone[i] = root == state->part_count ? NETWORK_NONE : state->ring[root];
        }
    }
    for (int i = 0; i < state->extra_count && state->part_count > 0; i++) {
        const int root = find_root(state->parent, part_of(state, state->from[state->of[i]]));
        zone[state->before[i]] = root == state->part_count ? NETWORK_NONE : state->ring[root];
    }
    return state->pin_count;
}
