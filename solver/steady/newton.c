#include "solver/steady/newton.h"

#include "solver/steady/content.h"
#include "solver/steady/correction.h"
#include "solver/steady/inner.h"
#include "solver/steady/linearise.h"
#include "solver/steady/start.h"

#include <float.h>
#include <math.h>

/* Residuals below this many times the unit round-off of what went into them are nothing. */
static const double round_off_units = 16.0;

/* Round-off is reckoned as of at least this head, m, and this flow, m3/s: nobody cares for less. */
static const double least_head = 1.0;
static const double least_flow = 1e-5;

/* Residuals above round-off that still count as an answer when nothing gets better cheaply: shares
 * of the largest head (at least 1 m) and of the largest flow (at least 1e-2 m3/s). */
static const double good_head_share = 5e-13;
static const double good_flow_share = 5e-12;

/* Multiplications of a factorisation for each link from which it takes so long, beside a look at
 * all laws, that several corrections by one are worth their looks (by trials:
 * tests/bench/trials.md). */
static const double dear_factors = 100.0;

/* Corrections of a step go on while each leaves at most this share of the residual before it. None
 * is tried unless the step itself left so little: then its factors still say something of the laws
 * where it led, and else most corrections are searched for long and gain next to nothing. */
static const double good_correction = 0.3;
static const double good_step = 0.1;

/* Raise of the least slope when sums no longer balance because stiff links pass round-off on. */
static const double floor_growth = 10.0;

enum {
    CORRECTIONS = 4, /* at most, in one step */
    PATIENCE = 12,   /* steps without less residual before the iteration gives up */
    ROUGH_STEPS = 8  /* at the start at most, of laws too far from the answer's to be solved to the
                        end; none after one that left no less residual */
};

/* Where the iteration stands. */
struct course {
    struct gap gap;
    int rough_left;   /* rough steps to come */
    bool is_balanced; /* the flows meet the draws, so that the content may judge a step */
    bool is_cheap;    /* the last step ended on a correction that could go on */
    double best;      /* least of the largest residual so far */
    int waited;       /* steps since it became less by half */
};

static double larger(double a, double b)
{
    return a > b ? a : b;
}

/* How far the present flows are from meeting the draws. */
static void find_flow_gap(struct state *state, struct gap *gap)
{
    for (int row = 0; row < state->point_count; row++) {
        state->imbalance[row] = state->draw[row];
        state->noise[row] = fabs(state->draw[row]);
    }
    for (int e = 0; e < state->link_count; e++) {
        const double flow = state->flow[e];
        state->imbalance[state->from[e]] += flow;
        state->imbalance[state->to[e]] -= flow;
        state->noise[state->from[e]] += fabs(flow);
        state->noise[state->to[e]] += fabs(flow);
    }
    double worst = 0.0;
    double largest = least_flow;
    for (int row = 0; row < state->row_count; row++) {
        worst = larger(fabs(state->imbalance[row]), worst);
        largest = larger(state->noise[row], largest);
    }
    gap->flow = worst;
    gap->flow_units = worst / (DBL_EPSILON * largest);
}

/* Residuals that are an answer though above round-off, of the laws and of the sums. */
static bool laws_are_good(const struct state *state, const struct gap *gap)
{
    double head = least_head;
    for (int i = 0; i < state->point_count; i++) {
        head = larger(fabs(state->head[i]), head);
    }
    return gap->head_units <= round_off_units || gap->head <= good_head_share * head;
}

static bool is_good(const struct state *state, const struct gap *gap)
{
    double flow = 1e-2;
    for (int e = 0; e < state->link_count; e++) {
        flow = larger(fabs(state->flow[e]), flow);
    }
    return laws_are_good(state, gap) && gap->flow <= good_flow_share * flow;
}

/* One step of flows and heads. */
static bool take_step(struct state *state, const struct water *water,
                      const struct steady_options *options, struct course *course,
                      struct failure *failure)
{
    const bool was_short = state->is_short;
    const bool is_rough = course->rough_left-- > 0;
    bool is_balanced;
    linearise(state, water);
    if (!inner_solve(state, options->step_limit, is_rough, &is_balanced, failure)) {
        return false;
    }
    for (int row = 0; row < state->row_count; row++) {
        state->head[row] += state->shift[row];
    }
    content_step(state, water, course->is_balanced && state->is_short == was_short, &course->gap);
    double *flow_before = state->target;
    state->target = state->last_flow;
    state->last_flow = flow_before;
    course->is_balanced = is_balanced;
    return true;
}

/* Whether the factors have a link open whose flow is at an end of its span but for what the sums
 * are off by: the next step may shut it and move what it then cuts off. */
static bool is_shutting(const struct state *state, double off)
{
    for (int i = 0; i < state->limited_count; i++) {
        const double flow = state->flow[state->limited[i]];
        const bool is_near =
            flow <= state->span[i].lower + off || flow >= state->span[i].upper - off;
        if (is_near && state->is_open[i]) {
            return true;
        }
    }
    return false;
}

/* One more correction where the laws are met to round-off and the sums are not: a stiff link whose
 * head difference just moved by much (a valve that stood open by the last digit and shut) has lost
 * in it the digits of its flow. Now that next to nothing moves they are found. */
static bool correct_sums(struct state *state, const struct water *water, struct course *course,
                         struct failure *failure)
{
    bool has_moved;
    struct gap *gap = &course->gap;
    if (gap->head_units > round_off_units || gap->flow_units <= round_off_units) {
        return true;
    }
    if (is_shutting(state, gap->flow)) {
        course->is_cheap = false;
        return true;
    }
    if (!correction_make(state, water, &has_moved, gap, failure)) {
        return false;
    }
    if (has_moved) {
        find_flow_gap(state, gap);
        state->gap_head = gap->head;
    }
    return true;
}

/* Corrections with the factors of the step, as long as they pay; of flows that meet the draws.
 * Where factors are not dear one is enough, but at the end the last digits come by them. */
static bool correct(struct state *state, const struct water *water, struct course *course,
                    struct failure *failure)
{
    struct gap *gap = &course->gap;
    course->is_cheap = false;
    const bool is_near = gap->head <= good_step * state->gap_head; /* of the step before */
    const double pipes = (double)state->link_count + state->extra_count;
    const bool is_dear = linear_operations(state->linear) > dear_factors * pipes;
    const int worth = is_dear ? CORRECTIONS : 1;
    const int most = course->is_balanced && is_near ? CORRECTIONS : 0;
    for (int i = 0; i < most && gap->head_units > round_off_units; i++) {
        const double before = gap->head;
        bool has_moved;
        if (!correction_make(state, water, &has_moved, gap, failure)) {
            return false;
        }
        course->is_cheap = has_moved && gap->head <= good_correction * before;
        if (!course->is_cheap || (i + 1 >= worth && !laws_are_good(state, gap))) {
            break;
        }
    }
    if (!(gap->head < state->gap_head)) {
        course->rough_left = 0;
    }
    state->gap_head = gap->head;
    gap->flow = 0.0;
    gap->flow_units = 0.0;
    if (!(gap->head < 0.5 * course->best) || laws_are_good(state, gap)) {
        find_flow_gap(state, gap); /* else nothing is decided by the sums yet */
    }
    return most == 0 || correct_sums(state, water, course, failure);
}

/* Whether the iteration is over, and how. */
static bool has_ended(struct state *state, const struct steady_options *options, int step,
                      struct course *course, enum steady_ending *ending)
{
    const struct gap *gap = &course->gap;
    if (fmax(gap->head_units, gap->flow_units) <= round_off_units) {
        *ending = STEADY_CONVERGED;
        return true;
    }
    const double worst = fmax(gap->head, gap->flow);
    course->waited = worst < 0.5 * course->best ? 0 : course->waited + 1;
    course->best = fmin(course->best, worst);
    /* near the answer by fast corrections, or round-off greater than reckoned */
    const bool is_last = state->steps >= options->step_limit || step >= options->step_limit;
    const bool is_met = (course->is_cheap || course->waited >= 2 || is_last) && is_good(state, gap);
    if (is_met && (course->is_cheap || course->waited >= 2)) {
        *ending = STEADY_CONVERGED;
        return true;
    }
    if (course->waited >= PATIENCE) {
        *ending = STEADY_STALLED;
        return true;
    }
    if (is_last) {
        *ending = is_met ? STEADY_CONVERGED : STEADY_TOO_MANY;
        return true;
    }
    if (course->waited >= 2 && gap->flow_units > round_off_units) {
        state->floor_raise *= floor_growth;
    }
    return false;
}

/* Flows to start from when none are known. */
static bool begin(struct state *state, const struct water *water, struct failure *failure)
{
    content_evaluate_rest(state, water);
    linearise_chords(state, water);
    if (!inner_guess(state, true, failure)) {
        return false;
    }
    for (int row = 0; row < state->row_count; row++) {
        state->head[row] += state->shift[row];
    }
    start_fit(state);
    content_evaluate_start(state, water);
    return true;
}

static bool are_finite(const struct state *state)
{
    double sum = 0.0; /* stays nought, or is no number */
    for (int i = 0; i < state->point_count; i++) {
        sum += 0.0 * state->head[i];
    }
    return sum == 0.0;
}

bool newton_solve(struct state *state, const struct water *water,
                  const struct steady_options *options, enum steady_ending *ending,
                  struct failure *failure)
{
    struct course course = {.rough_left = options->is_warm ? 0 : ROUGH_STEPS, .best = INFINITY};
    state->steps = 0;
    state->solves = 0;
    state->is_short = false;
    state->gap_head = INFINITY;
    state->floor_raise = 1.0;
    start_flows(state, options->is_warm);
    if (options->is_warm) {
        content_evaluate(state, water);
    } else if (!begin(state, water, failure)) {
        return false;
    }
    for (int step = 0;; step++) {
        if (!take_step(state, water, options, &course, failure) ||
            !correct(state, water, &course, failure)) {
            return false;
        }
        if (has_ended(state, options, step, &course, ending)) {
            break;
        }
    }
    if (*ending == STEADY_CONVERGED && !are_finite(state)) {
        *ending = STEADY_STALLED; /* what is no number is in no residual's way */
    }
    if (state->is_short) {
        *ending = STEADY_CUT_OFF_DRAW;
    }
    return true;
}
