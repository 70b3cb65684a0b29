#include "solver/surge/group_chain.h"

#include <math.h>
#include <stddef.h>

/* Newton's steps before the group is left to group_solve. */
enum { STEP_LIMIT = 20 };

/* As in group_solve: a step that leaves more than this share of the error would be searched. */
static const double good_share = 0.1;

/* Of 1 m + the largest head: a flow that gives less of a head is none (as in enclosed.c). */
static const double trace = 1e-12;

/* --- set-up --- */

/* Where a walk along the group's parts stands. */
struct walk {
    const struct group *group;
    int count; /* parts, its cavities left out */
    int at;    /* point of the group, or GROUP_HELD */
    int by;    /* link by which it was reached; -1: none */
};

static int count_at(const struct walk *walk, int point)
{
    int count = 0;
    for (int k = 0; k < walk->count; k++) {
        count += walk->group->links[k].from == point;
        count += walk->group->links[k].to == point;
    }
    return count;
}

/* Where the row begins: a held point, or one of a single part, or of none. False: nowhere. */
static bool find_start(struct walk *walk)
{
    walk->by = -1;
    walk->at = GROUP_HELD;
    if (count_at(walk, GROUP_HELD) > 0) {
        return true;
    }
    for (int i = 0; i < walk->group->point_count; i++) {
        if (count_at(walk, i) <= 1) {
            walk->at = i;
            return true;
        }
    }
    return false;
}

/* The next part from where it stands, or -1. */
static int find_next(const struct walk *walk)
{
    for (int k = 0; k < walk->count; k++) {
        const struct group_link *link = &walk->group->links[k];
        if (k != walk->by && (link->from == walk->at || link->to == walk->at)) {
            return k;
        }
    }
    return -1;
}

static void take_part(struct group_chain *chain, struct walk *walk, int k)
{
    const struct group_link *link = &walk->group->links[k];
    const bool is_along = link->from == walk->at;
    chain->part[chain->part_count] = link->lumped;
    chain->sign[chain->part_count] = is_along ? 1.0 : -1.0;
    if (walk->at == GROUP_HELD) {
        chain->held[0] = is_along ? link->held_from : link->held_to;
    }
    walk->at = is_along ? link->to : link->from;
    walk->by = k;
    if (walk->at == GROUP_HELD) {
        chain->held[1] = is_along ? link->held_to : link->held_from;
    }
    chain->part_count++;
    chain->point[chain->part_count] =
        walk->at == GROUP_HELD ? GROUP_HELD : walk->group->points[walk->at];
}

/* Whether pipes or a held point are at both ends, pipes at one at least, and nothing but parts
 * between. */
static bool has_fit_points(const struct group_chain *chain, const struct network *network,
                           const struct ends *ends)
{
    const int last = chain->part_count;
    bool has_pipe = false;
    for (int i = 0; i <= last; i++) {
        const int point = chain->point[i];
        const bool is_end = i == 0 || i == last;
        const bool is_piped = point != GROUP_HELD && ends_meet(ends, point);
        const bool is_fit = is_end ? point == GROUP_HELD || is_piped
                                   : !is_piped && !(fabs(network->points[point].draw) > 0.0);
        if (!is_fit) {
            return false;
        }
        has_pipe = has_pipe || is_piped;
    }
    return has_pipe;
}

/* Whether it can be one at all: a row of n parts has n + 1 points, of which the group counts those
 * that are not held, and none has more than two parts. */
static bool may_be_row(const struct walk *walk)
{
    const struct group *group = walk->group;
    if (group->law_count > 0 ||
        group->point_count + count_at(walk, GROUP_HELD) != walk->count + 1) {
        return false;
    }
    for (int i = 0; i < group->point_count; i++) {
        if (count_at(walk, i) > 2) {
            return false;
        }
    }
    return true;
}

bool group_chain_find(const struct group_chain **found, const struct group *group,
                      const struct network *network, const struct ends *ends, struct arena *arena,
                      struct failure *failure)
{
    struct walk walk = {.group = group, .count = group->link_count - group->point_count};
    *found = NULL;
    if (!may_be_row(&walk) || !find_start(&walk)) {
        return true;
    }
    const size_t parts = (size_t)walk.count;
    struct group_chain *chain = arena_take(arena, 1, sizeof *chain);
    if (chain == NULL) {
        return fail_memory(failure, "surge groups");
    }
    chain->part = arena_take(arena, parts, sizeof(struct lumped *));
    chain->sign = arena_take(arena, parts, sizeof *chain->sign);
    chain->point = arena_take(arena, parts + 1, sizeof *chain->point);
    if (chain->part == NULL || chain->sign == NULL || chain->point == NULL) {
        return fail_memory(failure, "surge groups");
    }
    chain->point[0] = walk.at == GROUP_HELD ? GROUP_HELD : group->points[walk.at];
    for (int k = find_next(&walk); k >= 0 && chain->part_count < walk.count;
         k = walk.at == GROUP_HELD ? -1 : find_next(&walk)) {
        take_part(chain, &walk, k);
    }
    if (chain->part_count == walk.count && has_fit_points(chain, network, ends)) {
        *found = chain;
    }
    return true;
}

/* --- a step --- */

/* An end of the chain at a head. */
struct chain_end {
    int point; /* in the network, or GROUP_HELD */
    double head;
    double inflow;      /* m3/s, from its pipes less what is drawn */
    double conductance; /* m2/s, by which its water falls as the head rises; 0: held */
};

/* The flows that all parts let pass; which part has an end of its span nearest, and the next. */
struct limits_of_flow {
    double lower;
    double upper;
    double next_lower;
    double next_upper;
    int lower_part;
    int upper_part;
};

/* All of a chain at a flow and heads at its ends. */
struct chain_state {
    struct chain_end first;
    struct chain_end last;
    double flow;
    double drop;   /* m, of all parts */
    double slope;  /* s/m2 */
    double excess; /* m, by which heads differ more than the drops ask */
    double missed; /* m */
};

static struct limits_of_flow find_limits(const struct group_chain *chain)
{
    struct limits_of_flow limits = {-INFINITY, INFINITY, -INFINITY, INFINITY, -1, -1};
    for (int k = 0; k < chain->part_count; k++) {
        const struct span *span = &chain->part[k]->span;
        const bool is_along = chain->sign[k] > 0.0;
        const double lower = is_along ? span->lower : -span->upper;
        const double upper = is_along ? span->upper : -span->lower;
        if (lower > limits.lower) {
            limits.next_lower = limits.lower;
            limits.lower = lower;
            limits.lower_part = k;
        } else if (lower > limits.next_lower) {
            limits.next_lower = lower;
        }
        if (upper < limits.upper) {
            limits.next_upper = limits.upper;
            limits.upper = upper;
            limits.upper_part = k;
        } else if (upper < limits.next_upper) {
            limits.next_upper = upper;
        }
    }
    return limits;
}

/* Whether two parts are at an end of their spans within `least` m3/s, or no flow passes all. */
static bool are_two_shut(const struct limits_of_flow *limits, double flow, double least)
{
    const bool is_lower = flow <= limits->lower + least;
    const bool is_upper = flow >= limits->upper - least;
    return flow <= limits->next_lower + least || flow >= limits->next_upper - least ||
           (is_lower && is_upper && limits->lower_part != limits->upper_part);
}

static inline double keep_within(const struct limits_of_flow *limits, double flow)
{
    const double risen = flow > limits->lower ? flow : limits->lower;
    return risen < limits->upper ? risen : limits->upper;
}

static inline double larger(double a, double b)
{
    return b > a ? b : a;
}

/* Asks the pipes of an end; how far their water misses what the parts take of it, m3/s. */
static double ask_end(struct chain_end *end, const struct group_place *place, double taken)
{
    if (end->point == GROUP_HELD) {
        return 0.0;
    }
    const struct inflow inflow = ends_inflow(place->ends, place->kernel, end->point, end->head);
    end->inflow = inflow.flow - place->network->points[end->point].draw;
    end->conductance = inflow.conductance;
    return fabs(end->inflow - taken);
}

static double scale_of(const struct chain_state *state)
{
    const double first = state->first.point == GROUP_HELD ? 0.0 : fabs(state->first.head);
    const double last = state->last.point == GROUP_HELD ? 0.0 : fabs(state->last.head);
    return 1.0 + larger(first, last);
}

/* Laws at the present flow and heads; the error as a share of 1 m + the largest head. */
static double evaluate(struct chain_state *state, const struct group_chain *chain,
                       const struct group_place *place, const struct limits_of_flow *limits,
                       double impedance)
{
    const double first = ask_end(&state->first, place, state->flow);
    const double last = ask_end(&state->last, place, -state->flow);
    state->drop = 0.0;
    state->slope = 0.0;
    for (int k = 0; k < chain->part_count; k++) {
        struct lumped *lumped = chain->part[k];
        lumped->drop = lumped_drop(lumped, chain->sign[k] * state->flow);
        state->drop += chain->sign[k] * lumped->drop.head;
        state->slope += lumped->drop.slope;
    }
    state->excess = state->first.head - state->last.head - state->drop;
    const bool is_shut = (state->excess < 0.0 && state->flow <= limits->lower) ||
                         (state->excess > 0.0 && state->flow >= limits->upper);
    state->missed = larger(larger(first, last) * impedance, is_shut ? 0.0 : fabs(state->excess));
    return state->missed / scale_of(state);
}

/* s/m2, by which the head of an end falls for each m3/s more that the parts take; 0: held. */
static inline double per_flow(const struct chain_end *end)
{
    return end->point == GROUP_HELD ? 0.0 : 1.0 / end->conductance;
}

/* Newton's step. False: the more flows, the less it needs to, as in some of a pump's range where it
 * runs backward; a step would lead to where water does not stay, and none is taken. */
static bool take_step(struct chain_state *state, const struct limits_of_flow *limits)
{
    struct chain_end *first = &state->first;
    struct chain_end *last = &state->last;
    const double by_first = per_flow(first);
    const double by_last = per_flow(last);
    const double slope = state->slope + by_first + by_last;
    const double excess = state->excess + (first->inflow - state->flow) * by_first -
                          (last->inflow + state->flow) * by_last;
    if (!(slope > 0.0)) {
        return false;
    }
    state->flow = keep_within(limits, state->flow + excess / slope);
    first->head += (first->inflow - state->flow) * by_first;
    last->head += (last->inflow + state->flow) * by_last;
    return true;
}

static struct chain_end end_at(const struct group_chain *chain, const struct group_place *place,
                               int number)
{
    const int point = chain->point[number];
    const double held = chain->held[number == 0 ? 0 : 1];
    return (struct chain_end){.point = point,
                              .head = point == GROUP_HELD ? held : place->head[point]};
}

/* Writes flows, and heads by the drops from both ends towards the part that is shut. */
static void write_down(const struct chain_state *state, const struct group_chain *chain,
                       const struct group_place *place, const struct limits_of_flow *limits)
{
    const int last = chain->part_count - 1;
    const int shut = state->flow <= limits->lower   ? limits->lower_part
                     : state->flow >= limits->upper ? limits->upper_part
                                                    : last;
    double head = state->first.head;
    for (int k = 0; k < shut; k++) {
        head -= chain->sign[k] * chain->part[k]->drop.head;
        place->head[chain->point[k + 1]] = head;
    }
    head = state->last.head;
    for (int k = last; k > shut; k--) {
        head += chain->sign[k] * chain->part[k]->drop.head;
        place->head[chain->point[k]] = head;
    }
    for (int k = 0; k <= last; k++) {
        chain->part[k]->flow = chain->sign[k] * state->flow;
    }
    if (state->first.point != GROUP_HELD) {
        place->head[state->first.point] = state->first.head;
    }
    if (state->last.point != GROUP_HELD) {
        place->head[state->last.point] = state->last.head;
    }
}

/* Pipes that meet at a point, with nothing between. */
static bool solve_meeting(const struct group_chain *chain, const struct group_place *place,
                          double impedance, double *missed)
{
    struct chain_end end = end_at(chain, place, 0);
    double best = INFINITY;
    for (int i = 0; i < STEP_LIMIT; i++) {
        *missed = ask_end(&end, place, 0.0) * impedance;
        const double error = *missed / (1.0 + fabs(end.head));
        if (error <= group_tight || (error <= group_loose && error > 0.5 * best)) {
            place->head[end.point] = end.head;
            return true;
        }
        best = fmin(best, error);
        end.head += end.inflow * per_flow(&end);
    }
    return false;
}

bool group_chain_solve(const struct group_chain *chain, const struct group_place *place,
                       double impedance, double *missed)
{
    if (chain->part_count == 0) {
        return solve_meeting(chain, place, impedance, missed);
    }
    const struct limits_of_flow limits = find_limits(chain);
    struct chain_state state = {.first = end_at(chain, place, 0),
                                .last = end_at(chain, place, chain->part_count)};
    state.flow = keep_within(&limits, chain->sign[0] * chain->part[0]->flow);
    if (limits.lower > limits.upper || (limits.next_lower >= limits.upper) ||
        (limits.next_upper <= limits.lower)) {
        return false;
    }
    double best = INFINITY;
    for (int i = 0; i < STEP_LIMIT; i++) {
        const double error = evaluate(&state, chain, place, &limits, impedance);
        if (error <= group_tight || (i > 0 && error <= group_loose && error > 0.5 * best)) {
            const double least =
                larger(trace * scale_of(&state), (chain->part_count + 1) * state.missed) /
                impedance;
            *missed = state.missed;
            if (are_two_shut(&limits, state.flow, least)) {
                return false;
            }
            write_down(&state, chain, place, &limits);
            return true;
        }
        if (!(error <= good_share * best || error <= group_loose) || !take_step(&state, &limits)) {
            return false;
        }
        best = error;
    }
    return false;
}
