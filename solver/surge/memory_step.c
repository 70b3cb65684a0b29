/* One pass over the nodes of a pipe with a memory, by stretches that stay in the nearest cache:
 * first heads and what the steady law takes, then the flows and all that is taken, then the terms,
 * a few of them at a time. Each of these is a plain loop whose nodes do not wait for each other. */
#include "models/each_width.h"
#include "solver/surge/memory.h"

#include <math.h>
#include <string.h>

/* Nodes of a stretch; and of those that are thought to be in one interval of a table. */
enum { STRETCH = 128, GLANCE = 32 };

/* What a pass works on; all pointers are to the numbers of its first node. */
struct pass {
    const struct kernel *kernel;
    const struct kernel_pipe *pipe;
    int64_t node;
    int count;
    double *restrict right;
    double *restrict left;
    double *restrict highest;
    double *restrict lowest;
    struct memory_lag lag;
    struct memory_give soft;
    double per_flow; /* m2/s, 1/(2 B'), B' the impedance with which the loss is made */
    int64_t cavity;  /* first of the kernel's cavities that may be in it */
};

/* What one loop over a stretch finds for the next. */
struct found {
    double lost[STRETCH];   /* m, by the steady law; where friction lags nothing */
    double flow[STRETCH];   /* m3/s; where friction lags */
    double head[STRETCH];   /* m; where walls creep */
    double given[STRETCH];  /* m, to the wall; where walls creep */
    double change[STRETCH]; /* m3/s; or m above the steady head */
};

/* The interval of a table that the nodes just passed were in, turned round if their differences
 * were below 0. */
struct spot {
    uint64_t bits; /* of one of these differences */
    struct loss_interval interval;
};

/* The bits that are the same for all numbers of one interval: sign, exponent and three more. */
static const uint64_t key_bits = UINT64_MAX << 49;

/* --- heads, and the steady law --- */

EACH_BODY
static uint64_t bits_of(double number)
{
    uint64_t bits;
    memcpy(&bits, &number, sizeof bits);
    return bits;
}

/* As if all were in one interval. */
EACH_BODY
static double lose_by_table(const struct loss_interval *interval, double rest)
{
    const double *cubic = interval->cubic;
    double x = rest - interval->start;
    return cubic[0] + x * (cubic[1] + x * (cubic[2] + x * cubic[3]));
}

/* What is left of p - m at a node of a pass when what friction remembers is taken from it. */
EACH_BODY
static double rest_at(const struct pass *pass, bool lags, int i)
{
    double difference = pass->right[i] - pass->left[i];
    return lags ? difference - pass->lag.lagging[i] : difference;
}

/* Notes heads and finds losses of `count` nodes from `at` as if all were alike; 0 if they are. */
EACH_BODY
static uint64_t glance(const struct pass *pass, int at, int count, bool lags, bool gives,
                       enum loss_kind kind, const struct spot *spot, struct found *found)
{
    const struct loss loss = pass->pipe->loss;
    const struct spot here = *spot;
    const double stiffness = pass->pipe->memory->stiffness;
    const double per_flow = pass->per_flow;
    uint64_t spread = 0;
    EACH_PLACE
    for (int i = at; i < at + count; i++) {
        double head = 0.5 * (pass->right[i] + pass->left[i]);
        if (gives) {
            double mean = head;
            head = (mean + pass->soft.strain[i]) * stiffness;
            found->head[i] = head;
            found->given[i] = 2.0 * (mean - head);
        }
        double rest = rest_at(pass, lags, i);
        double lost = 0.0;
        if (kind == LOSS_QUADRATIC) {
            lost = loss_sum(loss.series, LOSS_TERMS, rest);
            spread |= !(fabs(rest) <= loss.series_end);
        } else if (kind == LOSS_TABLE) {
            lost = lose_by_table(&here.interval, rest);
            spread |= bits_of(rest) ^ here.bits;
        }
        if (lags) {
            found->flow[i] = (rest - lost) * per_flow;
        } else {
            found->lost[i] = lost;
        }
        pass->highest[i] = head > pass->highest[i] ? head : pass->highest[i];
        pass->lowest[i] = head < pass->lowest[i] ? head : pass->lowest[i];
    }
    return kind == LOSS_TABLE ? spread & key_bits : spread;
}

/* Losses of nodes that are not alike. */
static void lose_apart(const struct pass *pass, bool lags, int at, int count, struct found *found)
{
    double rest[GLANCE];
    for (int i = 0; i < count; i++) {
        rest[i] = rest_at(pass, lags, at + i);
    }
    loss_row(&pass->pipe->loss, count, rest, found->lost + at);
    for (int i = 0; lags && i < count; i++) {
        found->flow[at + i] = (rest[i] - found->lost[at + i]) * pass->per_flow;
    }
}

/* The interval in which a difference is; if it is beyond the table's end nothing is done. */
static void go_to(const struct loss *loss, double difference, struct spot *spot)
{
    struct loss_interval interval[2];
    if (((bits_of(difference) ^ spot->bits) & key_bits) != 0 &&
        loss_intervals(loss, difference, difference, interval) == 1) {
        spot->bits = bits_of(difference);
        spot->interval = interval[0];
    }
}

/* Heads and losses of the whole pass. */
EACH_BODY
static void look(const struct pass *pass, bool lags, bool gives, enum loss_kind kind,
                 struct spot *spot, struct found *found)
{
    const struct loss *loss = &pass->pipe->loss;
    for (int at = 0; at < pass->count; at += GLANCE) {
        const int count = pass->count - at < GLANCE ? pass->count - at : GLANCE;
        if (kind == LOSS_TABLE) {
            go_to(loss, rest_at(pass, lags, at), spot);
        }
        if ((count == GLANCE ? glance(pass, at, GLANCE, lags, gives, kind, spot, found)
                             : glance(pass, at, count, lags, gives, kind, spot, found)) != 0) {
            lose_apart(pass, lags, at, count, found);
        }
    }
}

/* --- what is taken, and the terms --- */

/* Terms that are taken in one loop: what they need stays in registers. */
enum { TOGETHER = 5, FIRST = 3 };

struct some_terms {
    double fade[TOGETHER];
    double trace[TOGETHER];
    int64_t stride;
    double *term; /* [TOGETHER], `stride` apart */
};

/* All terms of the nodes of a pass, of friction or of the wall. */
struct terms {
    int count;
    const double *fade;  /* [count] */
    const double *trace; /* [count] */
    int64_t stride;
    double *term;
    double *sum; /* of all terms at a node, and what else there is */
};

EACH_BODY
static struct terms terms_of_friction(const struct pass *pass)
{
    const struct memory *memory = pass->pipe->memory;
    return (struct terms){UNSTEADY_TERMS, memory->friction.fade, memory->trace,
                          memory->stride, pass->lag.term,        pass->lag.lagging};
}

EACH_BODY
static struct terms terms_of_wall(const struct pass *pass)
{
    const struct memory *memory = pass->pipe->memory;
    return (struct terms){memory->wall.count, memory->wall.fade, memory->push,
                          memory->stride,     pass->soft.part,   pass->soft.strain};
}

/* So many terms from the k-th on. */
EACH_BODY
static struct some_terms some_of(const struct terms *terms, int count, int k)
{
    struct some_terms some = {.stride = terms->stride, .term = terms->term + k * terms->stride};
    for (int i = 0; i < count; i++) {
        some.fade[i] = terms->fade[k + i];
        some.trace[i] = terms->trace[k + i];
    }
    return some;
}

/* A term fades and takes the change. */
EACH_BODY
static double fade_on(const struct some_terms *some, int k, double change, int i)
{
    double *term = some->term + k * some->stride + i;
    *term = some->fade[k] * *term + some->trace[k] * change;
    return *term;
}

/* So many terms at one node, added to what there is. They stand one by one: compilers make no
 * vectors of a loop in a loop. */
EACH_BODY
static double fade_some(const struct some_terms *some, int count, double change, int i, double sum)
{
    sum += fade_on(some, 0, change, i);
    sum = count > 1 ? sum + fade_on(some, 1, change, i) : sum;
    sum = count > 2 ? sum + fade_on(some, 2, change, i) : sum;
    sum = count > 3 ? sum + fade_on(some, 3, change, i) : sum;
    sum = count > 4 ? sum + fade_on(some, 4, change, i) : sum;
    return sum;
}

/* Takes friction and what the wall takes, with the first terms of friction's memory. */
EACH_BODY
static void take_lagging(const struct pass *pass, bool gives, int terms, struct found *found)
{
    const struct memory *memory = pass->pipe->memory;
    const double twice_impedance = 2.0 * pass->pipe->impedance;
    const double lag = memory->friction.lag;
    const struct terms all = terms_of_friction(pass);
    const struct some_terms some = some_of(&all, terms, 0);
    EACH_PLACE
    for (int i = 0; i < pass->count; i++) {
        double flow = found->flow[i];
        double change = flow - pass->lag.flow[i];
        double lost = pass->right[i] - pass->left[i] - twice_impedance * flow;
        double given = gives ? found->given[i] : 0.0;
        pass->right[i] -= lost + given;
        pass->left[i] += lost - given;
        pass->lag.flow[i] = flow;
        found->change[i] = change;
        pass->lag.lagging[i] = fade_some(&some, terms, change, i, -lag * flow);
    }
}

/* The wall takes the heads, with its first parts; and friction is taken if it has not been. */
EACH_BODY
static void give(const struct pass *pass, bool lags, int parts, bool goes_on, struct found *found)
{
    const struct memory *memory = pass->pipe->memory;
    const double softness = memory->softness;
    const struct terms all = terms_of_wall(pass);
    const struct some_terms some = some_of(&all, parts, 0);
    EACH_PLACE
    for (int i = 0; i < pass->count; i++) {
        double level = pass->soft.level[i];
        double above = found->head[i] - level;
        double given = found->given[i];
        if (!lags) {
            pass->right[i] -= found->lost[i] + given;
            pass->left[i] += found->lost[i] - given;
        }
        if (goes_on) {
            found->change[i] = above;
        }
        pass->soft.grown[i] += given;
        pass->soft.strain[i] = fade_some(&some, parts, above, i, softness * level);
    }
}

/* More terms, `some` of them from the k-th on. */
EACH_BODY
static void fade_more(const struct pass *pass, const struct terms *terms, int some, int k,
                      const struct found *found)
{
    const struct some_terms here = some_of(terms, some, k);
    double *sum = terms->sum;
    EACH_PLACE
    for (int i = 0; i < pass->count; i++) {
        sum[i] = fade_some(&here, some, found->change[i], i, sum[i]);
    }
}

/* The terms from the k-th on, in groups. */
EACH_BODY
static void fade_rest(const struct pass *pass, const struct terms *terms, int k,
                      const struct found *found)
{
    while (k < terms->count) {
        const int left = terms->count - k;
        const int some = left > TOGETHER ? (left + 1) / 2 : left;
        if (some == 5) {
            fade_more(pass, terms, 5, k, found);
        } else if (some == 4) {
            fade_more(pass, terms, 4, k, found);
        } else if (some == 3) {
            fade_more(pass, terms, 3, k, found);
        } else if (some == 2) {
            fade_more(pass, terms, 2, k, found);
        } else {
            fade_more(pass, terms, 1, k, found);
        }
        k += some;
    }
}

/* --- nodes that hold gas or a cavity --- */

/* Extremes as they were before heads were noted. */
struct kept {
    double highest[STRETCH];
    double lowest[STRETCH];
};

static void mend_node(const struct pass *pass, int i, double head, struct found *found)
{
    found->head[i] = head;
    found->given[i] = 2.0 * (memory_mean(pass->pipe, pass->node + i, head) - head);
}

/* Puts the true heads in place of what the two values would say. With `kept` the
 * pipe holds gas and its heads are noted here. Cavities stand in the order of nodes;
 * what is noted of their extremes the kernel mends. */
static void mend(struct pass *pass, const struct kept *kept, struct found *found)
{
    const struct kernel *kernel = pass->kernel;
    const int64_t first = pass->pipe->first + pass->node;
    for (int i = 0; kept != NULL && i < pass->count; i++) {
        double head = kernel->head[first + i];
        mend_node(pass, i, head, found);
        pass->highest[i] = fmax(kept->highest[i], head);
        pass->lowest[i] = fmin(kept->lowest[i], head);
    }
    int64_t j = pass->cavity;
    for (; j < kernel->cavity_count && kernel->cavities[j].node < first + pass->count; j++) {
        int64_t i = kernel->cavities[j].node - first;
        if (i >= 0) {
            mend_node(pass, (int)i, kernel->cavities[j].head, found);
        }
    }
    pass->cavity = j;
}

/* Heads and losses, and the true heads where they are others. */
EACH_BODY
static void find(struct pass *pass, bool lags, bool gives, struct spot *spot, struct found *found)
{
    const bool has_gas = pass->pipe->gas > 0.0;
    const enum loss_kind kind = pass->pipe->loss.kind;
    struct kept kept;
    if (has_gas) {
        memcpy(kept.highest, pass->highest, (size_t)pass->count * sizeof(double));
        memcpy(kept.lowest, pass->lowest, (size_t)pass->count * sizeof(double));
    }
    if (kind == LOSS_QUADRATIC) {
        look(pass, lags, gives, LOSS_QUADRATIC, spot, found);
    } else if (kind == LOSS_TABLE) {
        look(pass, lags, gives, LOSS_TABLE, spot, found);
    } else {
        look(pass, lags, gives, LOSS_NONE, spot, found);
    }
    if (has_gas || pass->kernel->cavity_count > 0) {
        mend(pass, has_gas ? &kept : NULL, found);
    }
}

/* --- all of it --- */

/* With all parts of a wall at once if they are few. */
EACH_BODY
static void give_all(const struct pass *pass, bool lags, struct found *found)
{
    const struct terms parts = terms_of_wall(pass);
    if (parts.count > TOGETHER) {
        give(pass, lags, FIRST, true, found);
        fade_rest(pass, &parts, FIRST, found);
    } else if (parts.count == 5) {
        give(pass, lags, 5, false, found);
    } else if (parts.count == 4) {
        give(pass, lags, 4, false, found);
    } else if (parts.count == 3) {
        give(pass, lags, 3, false, found);
    } else if (parts.count == 2) {
        give(pass, lags, 2, false, found);
    } else {
        give(pass, lags, 1, false, found);
    }
}

EACH_BODY
static void step_one(struct pass *pass, bool lags, bool gives, struct spot *spot)
{
    struct found found;
    find(pass, lags, gives, spot, &found);
    if (lags) {
        const struct terms terms = terms_of_friction(pass);
        take_lagging(pass, gives, FIRST, &found);
        fade_rest(pass, &terms, FIRST, &found);
    }
    if (gives) {
        give_all(pass, lags, &found);
    }
}

EACH_WIDTH
static void step_lagging(struct pass *pass, struct spot *spot)
{
    step_one(pass, true, false, spot);
}

EACH_WIDTH
static void step_giving(struct pass *pass, struct spot *spot)
{
    step_one(pass, false, true, spot);
}

EACH_WIDTH
static void step_both(struct pass *pass, struct spot *spot)
{
    step_one(pass, true, true, spot);
}

static double *from(double *numbers, int64_t node)
{
    return numbers == NULL ? NULL : numbers + node;
}

void memory_step(const struct kernel *kernel, const struct kernel_pipe *pipe, int64_t node,
                 int64_t count)
{
    const struct memory *memory = pipe->memory;
    const struct memory_lag *lag = &memory->lag;
    const struct memory_give *soft = &memory->soft;
    struct spot spot = {.bits = 0};
    struct pass pass = {.kernel = kernel, .pipe = pipe, .per_flow = 0.5 / memory_impedance(pipe)};
    for (int64_t at = node; at < node + count; at += pass.count) {
        const int64_t left = node + count - at;
        pass.node = at;
        pass.count = left < STRETCH ? (int)left : STRETCH;
        pass.right = row_right(kernel) + pipe->first + at;
        pass.left = row_left(kernel) + pipe->first + at;
        pass.highest = kernel->highest + pipe->first + at;
        pass.lowest = kernel->lowest + pipe->first + at;
        pass.lag =
            (struct memory_lag){from(lag->lagging, at), from(lag->flow, at), from(lag->term, at)};
        pass.soft = (struct memory_give){from(soft->strain, at), from(soft->level, at),
                                         from(soft->grown, at), from(soft->part, at)};
        if (pass.soft.strain == NULL) {
            step_lagging(&pass, &spot);
        } else if (pass.lag.lagging == NULL) {
            step_giving(&pass, &spot);
        } else {
            step_both(&pass, &spot);
        }
    }
}
