#include "solver/steady/answers.h"

#include "solver/steady/start.h"

#include <math.h>
#include <string.h>

/* Flows looked at: shares of the link's usual flow in even ratios, both ways. */
static const double least_share = 1e-4;
static const double most_share = 1e4;

enum { SAMPLES = 800, CUTS = 64, REACHES = 40, HALVINGS = 60 };

/* A bracket this narrow, share of its flow, is near enough for Newton to finish. */
static const double near_share = 1e-5;

/* A flow of this share of the largest at the falling part is next to none. */
static const double small_share = 1e-6;

/* Two answers whose flows differ by less than this share are one. */
static const double same_share = 1e-7;

/* --- the law by itself --- */

/* Slope of the law by flow, in the sense of a loss. */
static double loss_slope(const struct link *link, const struct water *water, double flow)
{
    const struct coupled_at at = {.flow = flow};
    const struct coupled_law law = link->element->coupling->law(link->data, water, &at);
    const bool is_turned =
        law.by_head_from > 0.0 || (!(law.by_head_from < 0.0) && law.by_head_to < 0.0);
    return is_turned ? -law.by_flow : law.by_flow;
}

/* Flow number i of -SAMPLES to SAMPLES; 0 is no flow. */
static double sample_flow(const struct link *link, int i)
{
    if (i == 0) {
        return 0.0;
    }
    const double size = start_usual_flow(link);
    const double power = (double)(i < 0 ? -i : i) / SAMPLES;
    const double flow = size * least_share * pow(most_share / least_share, power);
    return i < 0 ? -flow : flow;
}

/* The flows between which the law falls; false: nowhere. */
static bool find_falling(const struct link *link, const struct water *water, double *low,
                         double *high)
{
    int first = SAMPLES + 1;
    int last = -SAMPLES - 1;
    for (int i = -SAMPLES; i <= SAMPLES; i++) {
        if (loss_slope(link, water, sample_flow(link, i)) < 0.0) {
            first = i < first ? i : first;
            last = i;
        }
    }
    if (last < first) {
        return false;
    }
    *low = sample_flow(link, first > -SAMPLES ? first - 1 : first);
    *high = sample_flow(link, last < SAMPLES ? last + 1 : last);
    return true;
}

bool steady_may_have_several(const struct network *network, const struct water *water, int link)
{
    double low;
    double high;
    const struct coupling *coupling = network->links[link].element->coupling;
    return coupling && coupling->partner_count == 0 &&
           find_falling(&network->links[link], water, &low, &high);
}

/* --- the network with one flow prescribed --- */

static struct drop prescribed_drop(const void *data, const struct water *water, double flow)
{
    (void)data;
    (void)water;
    (void)flow;
    return (struct drop){.head = 0.0, .slope = 0.0};
}

static struct span prescribed_span(const void *data, const struct water *water)
{
    (void)water;
    const double flow = *(const double *)data;
    return (struct span){.lower = flow, .upper = flow};
}

static const struct element prescribed_element = {
    .kind = "prescribed flow", .drop = prescribed_drop, .span = prescribed_span};

struct scan {
    const struct network *network;
    const struct water *water;
    struct network *other; /* its copy with the link's flow prescribed */
    struct steady_solver *solver;
    struct steady_solver *other_solver;
    struct steady steady; /* of the copy */
    double flow;          /* what is prescribed */
    double small;         /* m3/s, a flow next to none */
    bool has_start;
    struct steady_answers *answers;
    struct arena *arena;
};

/* Missing head at a flow, m. */
struct missing {
    double flow;
    double head;
    bool is_known; /* false: the rest of the network cannot carry this flow */
};

static bool look(struct scan *scan, double flow, struct missing *missing, struct failure *failure)
{
    const struct link *link = &scan->network->links[scan->answers->link];
    struct steady_options options = steady_defaults;
    options.is_warm = scan->has_start;
    scan->flow = flow;
    if (!steady_solve(scan->other_solver, scan->other, scan->water, &options, &scan->steady,
                      failure)) {
        return false;
    }
    const struct coupled_at at = {.flow = flow,
                                  .head_from = scan->steady.head[link->from],
                                  .head_to = scan->steady.head[link->to]};
    const struct coupled_law law = link->element->coupling->law(link->data, scan->water, &at);
    const bool is_turned =
        law.by_head_from > 0.0 || (!(law.by_head_from < 0.0) && law.by_head_to < 0.0);
    missing->flow = flow;
    missing->head = is_turned ? -law.value : law.value;
    missing->is_known = scan->steady.ending == STEADY_CONVERGED;
    scan->has_start = missing->is_known;
    return true;
}

/* --- answers --- */

static void copy_steady(const struct network *network, const struct steady *from, struct steady *to)
{
    double *head = to->head;
    double *flow = to->flow;
    double *drop = to->drop;
    int *zone = to->zone;
    *to = *from;
    to->head = memcpy(head, from->head, (size_t)network->point_count * sizeof *head);
    to->flow = memcpy(flow, from->flow, (size_t)network->link_count * sizeof *flow);
    to->drop = memcpy(drop, from->drop, (size_t)network->link_count * sizeof *drop);
    to->zone = memcpy(zone, from->zone, (size_t)network->point_count * sizeof *zone);
}

/* Takes the answer the full solver finds beside the heads and flows last looked at, unless it is
 * one already known or another than sought. */
static bool finish(struct scan *scan, double low, double high, bool is_stable,
                   struct failure *failure)
{
    struct steady_answers *answers = scan->answers;
    struct steady_answer *item = &answers->items[answers->count];
    if (answers->count == STEADY_ANSWERS_MOST) {
        return true;
    }
    if (!item->steady.head && !steady_init(&item->steady, scan->network, scan->arena, failure)) {
        return false;
    }
    copy_steady(scan->network, &scan->steady, &item->steady);
    struct steady_options options = steady_defaults;
    options.is_warm = true;
    if (!steady_solve(scan->solver, scan->network, scan->water, &options, &item->steady, failure)) {
        return false;
    }
    item->flow = item->steady.flow[answers->link];
    item->is_stable = is_stable;
    const double same = same_share * fmax(fabs(low), fabs(high));
    if (item->steady.ending != STEADY_CONVERGED || item->flow < low - same ||
        item->flow > high + same) {
        return true;
    }
    for (int i = 0; i < answers->count; i++) {
        if (fabs(answers->items[i].flow - item->flow) <= same) {
            return true;
        }
    }
    answers->count++;
    return true;
}

/* Narrows a change of sign by halving, then finishes. */
static bool narrow(struct scan *scan, struct missing low, struct missing high,
                   struct failure *failure)
{
    const struct missing first = low;
    const struct missing last = high;
    const bool is_stable = high.head >= low.head;
    for (int i = 0; i < HALVINGS; i++) {
        struct missing middle;
        if (!look(scan, low.flow + 0.5 * (high.flow - low.flow), &middle, failure)) {
            return false;
        }
        if (!middle.is_known) {
            return true;
        }
        if ((middle.head > 0.0) == (low.head > 0.0)) {
            low = middle;
        } else {
            high = middle;
        }
        if (high.flow - low.flow <= near_share * fmax(fabs(high.flow), fabs(low.flow))) {
            break;
        }
    }
    return finish(scan, first.flow, last.flow, is_stable, failure);
}

/* Answer between two neighbours, if the missing head changes its sign there. */
static bool between(struct scan *scan, struct missing low, struct missing high,
                    struct failure *failure)
{
    if (!low.is_known || !high.is_known || (low.head > 0.0) == (high.head > 0.0)) {
        return true;
    }
    return narrow(scan, low, high, failure);
}

/* From the end of the falling part outward, ever farther, until the sign is that of all flows
 * beyond. Backward the missing head must become negative, forward positive. */
static bool reach_out(struct scan *scan, struct missing start, bool is_forward,
                      struct failure *failure)
{
    struct missing near = start;
    double stride = 0.25 * start_usual_flow(&scan->network->links[scan->answers->link]);
    for (int i = 0; i < REACHES && near.is_known && (near.head > 0.0) != is_forward; i++) {
        struct missing far;
        double next = near.flow + (is_forward ? stride : -stride);
        if (near.flow > scan->small && next < scan->small) {
            next = scan->small; /* flow backward may be barred: all flow forward comes first */
        }
        if (!look(scan, next, &far, failure)) {
            return false;
        }
        const bool is_done =
            is_forward ? between(scan, near, far, failure) : between(scan, far, near, failure);
        if (!is_done) {
            return false;
        }
        near = far;
        stride *= 2.0;
    }
    return true;
}

/* Where flow backward is barred and the first flow forward finds too little head, it stands still.
 */
static bool stand_still(struct scan *scan, struct failure *failure)
{
    struct missing back;
    struct missing ahead;
    const double small = scan->small;
    if (!look(scan, -small, &back, failure) || !look(scan, small, &ahead, failure)) {
        return false;
    }
    if (back.is_known || !ahead.is_known || !(ahead.head > 0.0)) {
        return true;
    }
    return look(scan, 0.0, &ahead, failure) && finish(scan, -small, small, true, failure);
}

/* With no flow at all a shut valve leaves the head beside the link open: look just ahead of it. */
static double off_zero(const struct scan *scan, double flow)
{
    return fabs(flow) < scan->small ? scan->small : flow;
}

static bool scan_all(struct scan *scan, double low, double high, struct failure *failure)
{
    struct missing before;
    scan->small = small_share * fmax(fabs(low), fabs(high));
    if (!stand_still(scan, failure) || !look(scan, off_zero(scan, low), &before, failure) ||
        !reach_out(scan, before, false, failure)) {
        return false;
    }
    for (int i = 1; i <= CUTS; i++) {
        struct missing now;
        if (!look(scan, off_zero(scan, low + (high - low) * i / CUTS), &now, failure) ||
            !between(scan, before, now, failure)) {
            return false;
        }
        before = now;
    }
    return reach_out(scan, before, true, failure);
}

static bool make_ready(struct scan *scan, struct failure *failure)
{
    scan->other = network_copy(scan->network, scan->arena);
    if (!scan->other) {
        return fail_memory(failure, "the search for several answers");
    }
    struct link *link = &scan->other->links[scan->answers->link];
    link->element = &prescribed_element;
    link->data = &scan->flow;
    scan->solver = steady_solver_new(scan->network, failure);
    scan->other_solver = scan->solver ? steady_solver_new(scan->other, failure) : NULL;
    return scan->other_solver && steady_init(&scan->steady, scan->other, scan->arena, failure);
}

static void sort(struct steady_answers *answers)
{
    for (int i = 1; i < answers->count; i++) {
        for (int k = i; k > 0 && answers->items[k].flow < answers->items[k - 1].flow; k--) {
            const struct steady_answer swapped = answers->items[k];
            answers->items[k] = answers->items[k - 1];
            answers->items[k - 1] = swapped;
        }
    }
}

bool steady_answers_find(const struct network *network, const struct water *water, int link,
                         struct steady_answers *answers, struct arena *arena,
                         struct failure *failure)
{
    double low;
    double high;
    memset(answers, 0, sizeof *answers);
    answers->link = link;
    if (!find_falling(&network->links[link], water, &low, &high)) {
        low = 0.0;
        high = start_usual_flow(&network->links[link]);
    }
    struct scan scan = {.network = network, .water = water, .answers = answers, .arena = arena};
    const bool is_done = make_ready(&scan, failure) && scan_all(&scan, low, high, failure);
    steady_solver_free(scan.solver);
    steady_solver_free(scan.other_solver);
    sort(answers);
    return is_done;
}
