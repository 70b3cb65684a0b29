#include "solver/steady/content.h"

#include "models/each_width.h"
#include "solver/steady/runs.h"

#include <float.h>
#include <math.h>
#include <string.h>

/* A step is kept when the derivative left at its end is at most this share of that at its start. */
static const double good_share = 0.3;

/* Round-off is reckoned as of at least this head, m: nobody cares for less. */
static const double least_head = 1.0;

/* Sums and extremes run in as many strands as the widest vector holds. */
enum { SEARCH_LIMIT = 60, BLOCK = 128, STRANDS = WIDEST };

/* What is found of one set of flows. */
struct look {
    double start; /* derivative before the laws were evaluated anew, E'(0) in the first look */
    double curve; /* E'' before they were */
    double end;   /* E' there */
    double noise; /* what round-off may have added to it */
    struct gap gap;
};

/* The same while it is found. */
struct tally {
    double start[STRANDS];
    double curve[STRANDS];
    double end[STRANDS];
    double noise[STRANDS];
    double error[STRANDS]; /* m, largest */
    double units[STRANDS]; /* largest multiple of its round-off */
    int next_extra;        /* of `of`, the first behind the last block */
    int next_other;        /* the same of `other` and of `limited` */
    int next_limited;
};

/* Of the links of one block; behind the last ones noughts, up to a whole number of strands. */
struct block {
    double lift[BLOCK];   /* m, head difference */
    double size[BLOCK];   /* m, sum of both heads' sizes, and of a run's drops beyond their sum's */
    double change[BLOCK]; /* m3/s, of the whole step */
    double error[BLOCK];  /* m, residual of the law */
    double unit[BLOCK];   /* m, its round-off */
    double end[BLOCK];    /* m3/s m, its share of E' */
    double noise[BLOCK];  /* what round-off may have added to it; before, its share of E'' */
};

static double larger(double a, double b)
{
    return a > b ? a : b;
}

static void evaluate_others(struct state *state, const struct water *water, const double flow[],
                            int begin, int end)
{
    for (int i = begin; i < end; i++) {
        const int e = state->other[i];
        const struct law *law = &state->law[i];
        const struct drop drop = law->element->drop(law->data, water, flow[e]);
        state->drop[e] = drop.head;
        state->slope[e] = drop.slope;
    }
}

static void find_excesses(struct state *state)
{
    const double *head = state->head;
    for (int e = 0; e < state->link_count; e++) {
        state->excess[e] = head[state->from[e]] - head[state->to[e]] - state->drop[e];
    }
}

void content_evaluate(struct state *state, const struct water *water)
{
    friction_many_drops(state->link_count, state->digest, state->flow, state->drop, state->slope);
    runs_add(state, state->flow, 0, state->extra_count, 0, NULL);
    evaluate_others(state, water, state->flow, 0, state->other_count);
    find_excesses(state);
}

void content_evaluate_start(struct state *state, const struct water *water)
{
    friction_many_drops(state->link_count, state->digest, state->flow, state->drop, state->slope);
    runs_add_fitted(state);
    evaluate_others(state, water, state->flow, 0, state->other_count);
    find_excesses(state);
}

void content_evaluate_rest(struct state *state, const struct water *water)
{
    memset(state->drop, 0, (size_t)state->link_count * sizeof *state->drop);
    memset(state->slope, 0, (size_t)state->link_count * sizeof *state->slope);
    evaluate_others(state, water, state->flow, 0, state->other_count);
    find_excesses(state);
}

/* The first one behind a block of links, in a rising list of links. */
static int behind(const int list[], int count, int next, int end)
{
    while (next < count && list[next] < end) {
        next++;
    }
    return next;
}

/* At an end of its span any drop beyond is right. */
static void clear_errors(const struct state *state, const double flow[], int begin, int end, int at,
                         struct block *block)
{
    for (int i = begin; i < end; i++) {
        const int e = state->limited[i];
        double *error = &block->error[e - at];
        if (flow[e] <= state->span[i].lower) {
            *error = larger(*error, 0.0);
        }
        if (flow[e] >= state->span[i].upper) {
            *error = *error < 0.0 ? *error : 0.0;
        }
    }
}

static void take_heads(const struct state *state, int at, int some, struct block *block)
{
    const double *head = state->head;
    const int *from = state->from + at;
    const int *to = state->to + at;
    for (int i = 0; i < some; i++) {
        block->lift[i] = head[from[i]] - head[to[i]];
        block->size[i] = fabs(head[from[i]]) + fabs(head[to[i]]);
    }
}

/* Adds each strand's share of what stands in a block. */
static EACH_BODY void add_strands(int some, const double *restrict value, double *restrict sum)
{
    for (int i = 0; i < some; i += STRANDS) {
        for (int k = 0; k < STRANDS; k++) {
            sum[k] += value[i + k];
        }
    }
}

static EACH_BODY void raise_strands(int some, const double *restrict value, double *restrict most)
{
    for (int i = 0; i < some; i += STRANDS) {
        for (int k = 0; k < STRANDS; k++) {
            most[k] = value[i + k] > most[k] ? value[i + k] : most[k];
        }
    }
}

/* A whole number of strands, the rest of the last ones filled up with noughts. */
static EACH_BODY int fill_strands(int some, double *restrict value)
{
    int whole = some;
    for (; whole % STRANDS != 0; whole++) {
        value[whole] = 0.0;
    }
    return whole;
}

/* The step, and both derivatives of the content along it where the laws are not yet evaluated. */
EACH_WIDTH
static void take_changes(int some, const double *restrict target, const double *restrict flow,
                         const double *restrict drop, const double *restrict slope,
                         struct block *restrict block, struct tally *restrict tally)
{
    for (int i = 0; i < some; i++) {
        block->change[i] = target[i] - flow[i];
        block->end[i] = (drop[i] - block->lift[i]) * block->change[i];
        block->noise[i] = slope[i] * (block->change[i] * block->change[i]);
    }
    add_strands(fill_strands(some, block->end), block->end, tally->start);
    add_strands(fill_strands(some, block->noise), block->noise, tally->curve);
}

EACH_WIDTH
static void take_errors(int some, const double *restrict flow, const double *restrict drop,
                        const double *restrict slope, double *restrict excess,
                        struct block *restrict block, struct tally *restrict tally)
{
    for (int i = 0; i < some; i++) {
        const double size = block->size[i] + fabs(drop[i]);
        const double error = block->lift[i] - drop[i];
        block->error[i] = error;
        excess[i] = error;
        block->unit[i] = DBL_EPSILON * (size + fabs(slope[i] * flow[i]) + least_head);
        block->end[i] = -error * block->change[i];
        block->noise[i] = size * fabs(block->change[i]);
    }
    add_strands(fill_strands(some, block->end), block->end, tally->end);
    add_strands(fill_strands(some, block->noise), block->noise, tally->noise);
}

/* The largest errors, when those at the ends of spans are cleared. */
EACH_WIDTH
static void take_largest(int some, struct block *restrict block, struct tally *restrict tally)
{
    for (int i = 0; i < some; i++) {
        block->error[i] = fabs(block->error[i]);
        block->unit[i] = block->error[i] / block->unit[i];
    }
    raise_strands(fill_strands(some, block->error), block->error, tally->error);
    raise_strands(fill_strands(some, block->unit), block->unit, tally->units);
}

static struct look conclude(const struct tally *tally)
{
    struct look look = {.start = 0.0};
    for (int k = 0; k < STRANDS; k++) {
        look.start += tally->start[k];
        look.curve += tally->curve[k];
        look.end += tally->end[k];
        look.noise += 4.0 * DBL_EPSILON * tally->noise[k];
        look.gap.head = larger(tally->error[k], look.gap.head);
        look.gap.head_units = larger(tally->units[k], look.gap.head_units);
    }
    return look;
}

/* Linearised flows of one block; `begin` and `end` tell its limited links. */
static void make_targets(struct state *state, int at, int some, int begin, int end)
{
    const double *shift = state->shift;
    for (int e = at; e < at + some; e++) {
        const double change = shift[state->from[e]] - shift[state->to[e]];
        state->target[e] = state->flow[e] + state->conductance[e] * (state->excess[e] + change);
    }
    for (int i = begin; i < end; i++) {
        const int e = state->limited[i];
        const double flow = state->is_open[i] ? state->target[e] : state->flow[e];
        state->target[e] = fmin(fmax(flow, state->span[i].lower), state->span[i].upper);
    }
}

/* The laws at `flow`, and all that they say, a block at a time while it is in the nearest cache.
 * `is_linear`: `flow` is `target`, which is still to be made. */
static struct look look_at(struct state *state, const struct water *water, const double flow[],
                           bool is_linear)
{
    struct tally tally = {.start = {0.0}};
    struct block block;
    for (int at = 0; at < state->link_count; at += BLOCK) {
        const int some = state->link_count - at < BLOCK ? state->link_count - at : BLOCK;
        const int other = behind(state->other, state->other_count, tally.next_other, at + some);
        const int limited =
            behind(state->limited, state->limited_count, tally.next_limited, at + some);
        const int extra = behind(state->of, state->extra_count, tally.next_extra, at + some);
        double *drop = state->drop + at;
        double *slope = state->slope + at;
        if (is_linear) {
            make_targets(state, at, some, tally.next_limited, limited);
        }
        take_heads(state, at, some, &block);
        take_changes(some, state->target + at, state->flow + at, drop, slope, &block, &tally);
        friction_many_drops(some, state->digest + at, flow + at, drop, slope);
        runs_add(state, flow, tally.next_extra, extra, at, block.size);
        evaluate_others(state, water, flow, tally.next_other, other);
        take_errors(some, flow + at, drop, slope, state->excess + at, &block, &tally);
        clear_errors(state, flow, tally.next_limited, limited, at, &block);
        take_largest(some, &block, &tally);
        tally.next_extra = extra;
        tally.next_other = other;
        tally.next_limited = limited;
    }
    return conclude(&tally);
}

/* The same at the share `t` of the step, in `trial`. */
static struct look look_along(struct state *state, const struct water *water, double t)
{
    for (int e = 0; e < state->link_count; e++) {
        state->trial[e] = state->flow[e] + t * (state->target[e] - state->flow[e]);
    }
    return look_at(state, water, state->trial, false);
}

static void exchange(double **a, double **b)
{
    double *kept = *a;
    *a = *b;
    *b = kept;
}

/* Where the parabola through the derivatives at 0 and 1, with `curve` as slope at 0, vanishes. It
 * rises through nought once between them, for it is below it at 0 and above it at 1. */
static double parabola_root(double low_slope, double high_slope, double curve)
{
    const double bend = high_slope - low_slope - curve;
    const double root = sqrt(curve * curve - 4.0 * bend * low_slope);
    return -2.0 * low_slope / (curve + root);
}

/* Between 0 and 1, where the derivative is `first.start` and `first.end`, for whole steps mostly
 * overshoot by far. Leaves the flows found in `trial`. */
static struct look search(struct state *state, const struct water *water, struct look first)
{
    const double start = fabs(first.start);
    double low = 0.0;
    double low_slope = first.start;
    double high = 1.0;
    double high_slope = first.end;
    int last_side = 0;
    struct look look;
    for (int i = 0; i < SEARCH_LIMIT; i++) {
        /* false position, the end that stays being halved (Illinois; Dowell & Jarratt 1971) */
        double t = low + (high - low) * (low_slope / (low_slope - high_slope));
        if (i == 0) {
            t = parabola_root(low_slope, high_slope, first.curve);
        }
        if (!(t > low && t < high)) {
            t = low + 0.5 * (high - low);
        }
        look = look_along(state, water, t);
        if (fabs(look.end) <= good_share * start + look.noise) {
            return look;
        }
        const int side = look.end < 0.0 ? -1 : 1;
        if (side < 0) {
            low = t;
            low_slope = look.end;
            high_slope *= last_side == side ? 0.5 : 1.0;
        } else {
            high = t;
            high_slope = look.end;
            low_slope *= last_side == side ? 0.5 : 1.0;
        }
        last_side = side;
    }
    return look_along(state, water, low);
}

/* The step after a look at its end. */
static void settle(struct state *state, const struct water *water, bool may_search,
                   struct look look, struct gap *gap)
{
    if (!may_search || look.end <= good_share * fabs(look.start) + look.noise) {
        exchange(&state->flow, &state->target); /* the very end: shut is zero, not nearly zero */
    } else {
        look = search(state, water, look);
        exchange(&state->flow, &state->trial);
        exchange(&state->target, &state->trial);
    }
    gap->head = look.gap.head;
    gap->head_units = look.gap.head_units;
}

void content_step(struct state *state, const struct water *water, bool may_search, struct gap *gap)
{
    settle(state, water, may_search, look_at(state, water, state->target, false), gap);
}

void content_step_linear(struct state *state, const struct water *water, struct gap *gap)
{
    settle(state, water, true, look_at(state, water, state->target, true), gap);
}
