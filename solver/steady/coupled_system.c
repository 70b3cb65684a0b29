#include "solver/steady/coupled_system.h"

#include "solver/steady/start.h"

#include <float.h>
#include <math.h>
#include <string.h>

/* A singular matrix, or one whose step moves some head by more than this many head scales (a zone
 * that is cut off and out of balance), is tried again with this much more damping. */
static const double longest_move = 30.0;
static const double damping_growth = 1e3;

enum { DAMPING_TRIES = 4 };

/* Heads that have run away may not excuse themselves by their own round-off: it is reckoned of at
 * most this many times the largest head at the beginning. */
static const double noise_growth = 100.0;

/* Nobody cares for round-off of less than this head, m, and this flow, m3/s. */
static const double least_head = 1.0;
static const double least_flow = 1e-5;

bool coupled_system_needed(const struct network *network)
{
    for (int e = 0; e < network->link_count; e++) {
        if (network->links[e].element->coupling) {
            return true;
        }
    }
    return false;
}

static void read_partners(const struct link *link, int partner[COUPLING_PARTNER_MAX])
{
    const struct coupling *coupling = link->element->coupling;
    for (int i = 0; i < COUPLING_PARTNER_MAX; i++) {
        partner[i] = NETWORK_NONE;
    }
    if (coupling->partner_count > 0) {
        coupling->partners(link->data, partner);
    }
}

bool coupled_system_fits(const struct coupled_system *system, const struct network *network)
{
    for (int e = 0; e < network->link_count; e++) {
        const int place = system->coupled_place[e];
        if ((place == NETWORK_NONE) != (network->links[e].element->coupling == NULL)) {
            return false;
        }
        if (place != NETWORK_NONE) {
            int partner[COUPLING_PARTNER_MAX];
            read_partners(&network->links[e], partner);
            if (memcmp(partner, system->partner[place], sizeof partner) != 0) {
                return false;
            }
        }
    }
    return true;
}

/* --- shape --- */

static bool take_arrays(struct coupled_system *system, struct arena *arena)
{
    const size_t links = (size_t)system->link_count;
    const size_t size = (size_t)system->size;
    const size_t coupled = (size_t)system->coupled_count;
    system->from = arena_take(arena, links, sizeof *system->from);
    system->to = arena_take(arena, links, sizeof *system->to);
    system->coupled = arena_take(arena, coupled, sizeof *system->coupled);
    system->partner = arena_take(arena, coupled, sizeof *system->partner);
    system->by_partner = arena_take(arena, coupled, sizeof *system->by_partner);
    system->coupled_place = arena_take(arena, links, sizeof *system->coupled_place);
    system->slopes = arena_take(arena, links, sizeof *system->slopes);
    system->span = arena_take(arena, links, sizeof *system->span);
    system->weight = arena_take(arena, links, sizeof *system->weight);
    system->residual = arena_take(arena, size, sizeof *system->residual);
    system->noise = arena_take(arena, size, sizeof *system->noise);
    return system->from && system->to && system->coupled && system->partner && system->by_partner &&
           system->coupled_place && system->slopes && system->span && system->weight &&
           system->residual && system->noise;
}

/* A pattern that is being written; without arrays it is only counted. */
struct pattern {
    int count;
    int *row;
    int *column;
};

static void put(struct pattern *pattern, int row, int column)
{
    if (pattern->row) {
        pattern->row[pattern->count] = row;
        pattern->column[pattern->count] = column;
    }
    pattern->count++;
}

/* The same walk as fill_entries. */
static void walk_pattern(const struct coupled_system *system, struct pattern *pattern)
{
    const int rows = system->row_count;
    for (int row = 0; row < rows; row++) {
        put(pattern, row, row);
    }
    for (int e = 0; e < system->link_count; e++) {
        put(pattern, rows + e, rows + e);
        if (system->from[e] < rows) {
            put(pattern, system->from[e], rows + e);
            put(pattern, rows + e, system->from[e]);
        }
        if (system->to[e] < rows) {
            put(pattern, system->to[e], rows + e);
            put(pattern, rows + e, system->to[e]);
        }
    }
    for (int i = 0; i < system->coupled_count; i++) {
        for (int k = 0; k < COUPLING_PARTNER_MAX; k++) {
            if (system->partner[i][k] != NETWORK_NONE) {
                put(pattern, rows + system->coupled[i], rows + system->partner[i][k]);
            }
        }
    }
}

static bool make_matrix(struct coupled_system *system, struct failure *failure)
{
    struct arena *scratch = arena_new();
    struct pattern pattern = {0};
    walk_pattern(system, &pattern);
    system->entry_count = pattern.count;
    system->entry = arena_take(system->arena, (size_t)pattern.count, sizeof *system->entry);
    if (scratch) {
        pattern.row = arena_take(scratch, (size_t)pattern.count, sizeof *pattern.row);
        pattern.column = arena_take(scratch, (size_t)pattern.count, sizeof *pattern.column);
    }
    if (!scratch || !system->entry || !pattern.row || !pattern.column) {
        arena_free(scratch);
        return fail_memory(failure, "the coupled system");
    }
    pattern.count = 0;
    walk_pattern(system, &pattern);
    system->matrix =
        unsymmetric_new(system->size, pattern.count, pattern.row, pattern.column, failure);
    arena_free(scratch);
    return system->matrix != NULL;
}

static void find_coupled(struct coupled_system *system, const struct network *network,
                         const int row[])
{
    int count = 0;
    for (int e = 0; e < network->link_count; e++) {
        const struct link *link = &network->links[e];
        system->from[e] = row[link->from];
        system->to[e] = row[link->to];
        system->coupled_place[e] = NETWORK_NONE;
        if (link->element->coupling) {
            system->coupled_place[e] = count;
            system->coupled[count] = e;
            read_partners(link, system->partner[count]);
            count++;
        }
    }
}

struct coupled_system *coupled_system_new(const struct network *network, int row_count,
                                          const int row[], struct failure *failure)
{
    struct arena *arena = arena_new();
    struct coupled_system *system = arena ? arena_take(arena, 1, sizeof *system) : NULL;
    if (!system) {
        arena_free(arena);
        (void)fail_memory(failure, "the coupled system");
        return NULL;
    }
    system->arena = arena;
    system->row_count = row_count;
    system->link_count = network->link_count;
    system->size = row_count + network->link_count;
    for (int e = 0; e < network->link_count; e++) {
        system->coupled_count += network->links[e].element->coupling ? 1 : 0;
    }
    if (!take_arrays(system, arena)) {
        coupled_system_free(system);
        (void)fail_memory(failure, "the coupled system");
        return NULL;
    }
    find_coupled(system, network, row);
    if (!make_matrix(system, failure)) {
        coupled_system_free(system);
        return NULL;
    }
    return system;
}

void coupled_system_free(struct coupled_system *system)
{
    if (!system) {
        return;
    }
    unsymmetric_free(system->matrix);
    arena_free(system->arena); /* the system itself lives there */
}

void coupled_system_begin(struct coupled_system *system, const struct network *network,
                          const struct water *water, const double draw[], const double head[],
                          const double flow[])
{
    system->network = network;
    system->water = water;
    system->draw = draw;
    double low = INFINITY;
    double high = -INFINITY;
    double most = least_flow;
    system->largest_head = least_head;
    for (int e = 0; e < system->link_count; e++) {
        const struct link *link = &network->links[e];
        low = fmin(low, fmin(head[system->from[e]], head[system->to[e]]));
        high = fmax(high, fmax(head[system->from[e]], head[system->to[e]]));
        most = fmax(most, fabs(flow[e]));
        system->largest_head = fmax(system->largest_head, fabs(head[system->from[e]]));
        system->largest_head = fmax(system->largest_head, fabs(head[system->to[e]]));
        system->span[e] = link->element->span(link->data, water);
    }
    system->head_scale = fmax(high - low, least_head);
    system->flow_scale = most;
    for (int e = 0; e < system->link_count; e++) {
        system->weight[e] = system->head_scale / start_usual_flow(&network->links[e]);
    }
}

/* --- equations --- */

struct equation {
    double value;
    double noise;
    struct coupled_slopes slopes;
};

static struct equation plain_equation(const struct coupled_system *system, int e, double from,
                                      double to, double flow)
{
    const struct link *link = &system->network->links[e];
    const struct span span = system->span[e];
    const struct drop drop = link->element->drop(link->data, system->water, flow);
    const double weight = system->weight[e];
    const double moved = flow + (from - to - drop.head) / weight;
    if (moved < span.lower || moved > span.upper || !(span.lower < span.upper)) {
        const double end = moved < span.lower ? span.lower : span.upper;
        return (struct equation){.value = weight * (flow - end),
                                 .noise = weight * (fabs(flow) + fabs(end) + system->flow_scale),
                                 .slopes = {.by_flow = weight}};
    }
    return (struct equation){.value = drop.head - (from - to),
                             .noise = fabs(from) + fabs(to) + fabs(drop.head) +
                                      fabs(drop.slope * flow) + least_head,
                             .slopes = {.by_flow = drop.slope, .by_from = -1.0, .by_to = 1.0}};
}

/* Mixes the full law into the plain equation of coupled link number `place`. */
static void couple(struct coupled_system *system, int place, const double head[],
                   const double flow[], struct equation *equation)
{
    const int e = system->coupled[place];
    const struct link *link = &system->network->links[e];
    const int *partner = system->partner[place];
    double *by_partner = system->by_partner[place];
    struct coupled_at at = {
        .flow = flow[e], .head_from = head[system->from[e]], .head_to = head[system->to[e]]};
    for (int i = 0; i < COUPLING_PARTNER_MAX; i++) {
        at.partner_flow[i] = partner[i] == NETWORK_NONE ? 0.0 : flow[partner[i]];
    }
    const struct coupled_law law = link->element->coupling->law(link->data, system->water, &at);
    const bool is_turned =
        law.by_head_from > 0.0 || (!(law.by_head_from < 0.0) && law.by_head_to < 0.0);
    const double share = is_turned ? -system->blend : system->blend;
    const double rest = 1.0 - system->blend;
    double noise = fabs(law.value) + fabs(at.head_from) + fabs(at.head_to) +
                   fabs(law.by_flow * at.flow) + least_head;
    for (int i = 0; i < COUPLING_PARTNER_MAX; i++) {
        by_partner[i] = share * law.by_partner[i];
        noise += fabs(law.by_partner[i] * at.partner_flow[i]);
    }
    equation->value = rest * equation->value + share * law.value;
    equation->noise = rest * equation->noise + system->blend * noise;
    struct coupled_slopes *slopes = &equation->slopes;
    slopes->by_flow = rest * slopes->by_flow + share * law.by_flow;
    slopes->by_from = rest * slopes->by_from + share * law.by_head_from;
    slopes->by_to = rest * slopes->by_to + share * law.by_head_to;
}

static void sum_points(struct coupled_system *system, const double flow[])
{
    const int rows = system->row_count;
    double largest = least_flow;
    for (int row = 0; row < rows; row++) {
        system->residual[row] = system->draw[row];
        system->noise[row] = fabs(system->draw[row]);
    }
    for (int e = 0; e < system->link_count; e++) {
        largest = fmax(largest, fabs(flow[e]));
        if (system->from[e] < rows) {
            system->residual[system->from[e]] += flow[e];
        }
        if (system->to[e] < rows) {
            system->residual[system->to[e]] -= flow[e];
        }
    }
    for (int row = 0; row < rows; row++) {
        system->noise[row] += largest;
    }
}

double coupled_system_evaluate(struct coupled_system *system, const double head[],
                               const double flow[])
{
    const int rows = system->row_count;
    const double most_noise = noise_growth * system->largest_head;
    sum_points(system, flow);
    for (int e = 0; e < system->link_count; e++) {
        struct equation equation =
            plain_equation(system, e, head[system->from[e]], head[system->to[e]], flow[e]);
        if (system->coupled_place[e] != NETWORK_NONE) {
            couple(system, system->coupled_place[e], head, flow, &equation);
        }
        system->residual[rows + e] = equation.value;
        system->noise[rows + e] = fmin(equation.noise, most_noise);
        system->slopes[e] = equation.slopes;
    }
    const double weight = system->head_scale / system->flow_scale;
    double sum = 0.0;
    for (int i = 0; i < system->size; i++) {
        const double error = i < rows ? weight * system->residual[i] : system->residual[i];
        sum += error * error;
    }
    return sqrt(sum);
}

/* --- step --- */

/* The same walk as walk_pattern. */
static void fill_entries(struct coupled_system *system, double damping)
{
    const int rows = system->row_count;
    const double hold_head = damping * system->flow_scale / system->head_scale;
    const double hold_flow = damping * system->head_scale / system->flow_scale;
    double *entry = system->entry;
    for (int row = 0; row < rows; row++) {
        *entry++ = hold_head;
    }
    for (int e = 0; e < system->link_count; e++) {
        const struct coupled_slopes *slopes = &system->slopes[e];
        *entry++ = slopes->by_flow + hold_flow;
        if (system->from[e] < rows) {
            *entry++ = 1.0;
            *entry++ = slopes->by_from;
        }
        if (system->to[e] < rows) {
            *entry++ = -1.0;
            *entry++ = slopes->by_to;
        }
    }
    for (int i = 0; i < system->coupled_count; i++) {
        for (int k = 0; k < COUPLING_PARTNER_MAX; k++) {
            if (system->partner[i][k] != NETWORK_NONE) {
                *entry++ = system->by_partner[i][k];
            }
        }
    }
}

static bool is_fair_step(const struct coupled_system *system, const double step[])
{
    for (int i = 0; i < system->size; i++) {
        if (!isfinite(step[i])) {
            return false;
        }
        if (i < system->row_count && fabs(step[i]) > longest_move * system->head_scale) {
            return false;
        }
    }
    return true;
}

bool coupled_system_step(struct coupled_system *system, double damping, double step[],
                         struct failure *failure)
{
    for (int try = 0; try < DAMPING_TRIES; try++) {
        bool is_singular;
        fill_entries(system, damping);
        if (!unsymmetric_factor(system->matrix, system->entry, &is_singular, failure)) {
            return false;
        }
        if (!is_singular) {
            if (!unsymmetric_solve(system->matrix, system->residual, step, failure)) {
                return false;
            }
            if (is_fair_step(system, step)) {
                break;
            }
        }
        memset(step, 0, (size_t)system->size * sizeof *step);
        damping = fmax(damping, DBL_EPSILON) * damping_growth;
    }
    for (int i = 0; i < system->size; i++) {
        step[i] = -step[i];
    }
    return true;
}

struct coupled_gap coupled_system_gap(const struct coupled_system *system)
{
    struct coupled_gap gap = {0.0, 0.0, 0.0};
    for (int i = 0; i < system->size; i++) {
        const double error = fabs(system->residual[i]);
        double *worst = i < system->row_count ? &gap.flow : &gap.head;
        *worst = fmax(*worst, error);
        if (error > gap.units * DBL_EPSILON * system->noise[i]) {
            gap.units = error / (DBL_EPSILON * system->noise[i]);
        }
    }
    return gap;
}
