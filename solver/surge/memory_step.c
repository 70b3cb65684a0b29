/* One pass over the nodes of a pipe with a memory, by rows. Each row goes twice through the
 * nearest cache: once to see what the steady law takes, once for all the rest. */
#include "models/each_width.h"
#include "solver/surge/memory.h"

#include <math.h>
#include <string.h>

/* What a pass works on; the numbers of its first node first. */
struct pass {
    const struct kernel *kernel;
    const struct kernel_pipe *pipe;
    int64_t node; /* its first, a row's first */
    int rows;
    double *right;
    double *left;
    double *highest;
    double *lowest;
    struct memory_lag *lag;
    struct memory_give *soft;
    int64_t cavity; /* first of the kernel's cavities that may be in it */
};

/* What the first look at a row finds for the second. */
struct found {
    double lost[MEMORY_ROW];  /* m, by the steady law */
    double head[MEMORY_ROW];  /* m; where walls creep */
    double given[MEMORY_ROW]; /* m, to the wall; where walls creep */
};

/* The interval of a table that the nodes just passed were in. */
struct spot {
    uint64_t key;
    uint64_t mask; /* 0: all are in it */
    struct loss_interval interval;
};

struct rates {
    double stiffness;
    double softness;
    double per_flow; /* 1/(2 B') */
    double twice_impedance;
    double lag;
    double fade[UNSTEADY_TERMS];
    double trace[UNSTEADY_TERMS];
    double creep_fade[WALL_CREEP_MAX];
    double push[WALL_CREEP_MAX];
};

/* --- the first look: heads, and the steady law --- */

/* As if all were in one interval; the leading bits in which this one is not (loss_key). */
EACH_BODY
static uint64_t lose_by_table(const struct spot *spot, double rest, double *lost)
{
    const double *cubic = spot->interval.cubic;
    double x = fabs(rest) - spot->interval.start;
    double size = cubic[0] + x * (cubic[1] + x * (cubic[2] + x * cubic[3]));
    *lost = copysign(size, rest);
    return loss_key(rest) ^ spot->key;
}

/* As if the series held for all; not 0 if it does not for this one. */
EACH_BODY
static uint64_t lose_by_series(const struct loss *loss, double rest, double *lost)
{
    *lost = loss_sum(loss->series, LOSS_TERMS, rest);
    return !(fabs(rest) <= loss->series_end);
}

/* Notes heads and finds losses as if all nodes of the row were alike; 0 if they are. */
EACH_BODY
static uint64_t look(const struct pass *pass, int row, bool lags, bool gives, bool is_series,
                     const struct rates *rates, const struct spot *spot, struct found *found)
{
    const double *right = pass->right + (int64_t)row * MEMORY_ROW;
    const double *left = pass->left + (int64_t)row * MEMORY_ROW;
    double *highest = pass->highest + (int64_t)row * MEMORY_ROW;
    double *lowest = pass->lowest + (int64_t)row * MEMORY_ROW;
    const struct loss loss = pass->pipe->loss;
    const struct spot here = *spot;
    const double stiffness = rates->stiffness;
    uint64_t spread = 0;
    EACH_PLACE
    for (int i = 0; i < MEMORY_ROW; i++) {
        double rest = right[i] - left[i];
        double head = 0.5 * (right[i] + left[i]);
        if (gives) {
            double mean = head;
            head = (mean + pass->soft[row].strain[i]) * stiffness;
            found->head[i] = head;
            found->given[i] = 2.0 * (mean - head);
        }
        if (lags) {
            rest = rest - pass->lag[row].lagging[i];
        }
        spread |= is_series ? lose_by_series(&loss, rest, &found->lost[i])
                            : lose_by_table(&here, rest, &found->lost[i]);
        highest[i] = head > highest[i] ? head : highest[i];
        lowest[i] = head < lowest[i] ? head : lowest[i];
    }
    return spread & here.mask;
}

/* Losses of nodes that are not alike. */
static void lose_apart(const struct pass *pass, int row, struct found *found)
{
    const double *right = pass->right + (int64_t)row * MEMORY_ROW;
    const double *left = pass->left + (int64_t)row * MEMORY_ROW;
    double rest[MEMORY_ROW];
    for (int i = 0; i < MEMORY_ROW; i++) {
        rest[i] = right[i] - left[i];
        if (pass->lag != NULL) {
            rest[i] -= pass->lag[row].lagging[i];
        }
    }
    loss_row(&pass->pipe->loss, MEMORY_ROW, rest, found->lost);
}

EACH_BODY
static void look_by_table(const struct pass *pass, int row, bool lags, bool gives,
                          const struct rates *rates, struct spot *spot, struct found *found)
{
    if (look(pass, row, lags, gives, false, rates, spot, found) == 0) {
        return;
    }
    const struct loss *loss = &pass->pipe->loss;
    double first = pass->right[(int64_t)row * MEMORY_ROW] - pass->left[(int64_t)row * MEMORY_ROW];
    if (pass->lag != NULL) {
        first -= pass->lag[row].lagging[0];
    }
    if (loss_key(first) != spot->key && loss_interval_at(loss, fabs(first), &spot->interval)) {
        spot->key = loss_key(first);
        if (look(pass, row, lags, gives, false, rates, spot, found) == 0) {
            return;
        }
    }
    lose_apart(pass, row, found);
}

EACH_BODY
static void look_by_series(const struct pass *pass, int row, bool lags, bool gives,
                           const struct rates *rates, const struct spot *spot, struct found *found)
{
    if (look(pass, row, lags, gives, true, rates, spot, found) != 0) {
        lose_apart(pass, row, found);
    }
}

/* --- the second: friction that lags, and the wall --- */

/* A term fades and takes the change of flow. */
EACH_BODY
static double fade_on(double fade, double trace, double change, double *term)
{
    *term = fade * *term + trace * change;
    return *term;
}

/* Takes friction; flows follow from what is left of the differences. The terms stand one by one:
 * compilers make no vectors of a loop in a loop. */
EACH_BODY
static void lag_on(const struct rates *rates, bool gives, const struct found *found, double *right,
                   double *left, struct memory_lag *lag)
{
    EACH_PLACE
    for (int i = 0; i < MEMORY_ROW; i++) {
        double difference = right[i] - left[i];
        double flow = (difference - lag->lagging[i] - found->lost[i]) * rates->per_flow;
        double change = flow - lag->flow[i];
        double lost = difference - rates->twice_impedance * flow;
        double given = gives ? found->given[i] : 0.0;
        right[i] -= lost + given;
        left[i] += lost - given;
        double even = fade_on(rates->fade[0], rates->trace[0], change, &lag->term[0][i]);
        double odd = fade_on(rates->fade[1], rates->trace[1], change, &lag->term[1][i]);
        even += fade_on(rates->fade[2], rates->trace[2], change, &lag->term[2][i]);
        odd += fade_on(rates->fade[3], rates->trace[3], change, &lag->term[3][i]);
        even += fade_on(rates->fade[4], rates->trace[4], change, &lag->term[4][i]);
        odd += fade_on(rates->fade[5], rates->trace[5], change, &lag->term[5][i]);
        even += fade_on(rates->fade[6], rates->trace[6], change, &lag->term[6][i]);
        odd += fade_on(rates->fade[7], rates->trace[7], change, &lag->term[7][i]);
        even += fade_on(rates->fade[8], rates->trace[8], change, &lag->term[8][i]);
        odd += fade_on(rates->fade[9], rates->trace[9], change, &lag->term[9][i]);
        lag->flow[i] = flow;
        lag->lagging[i] = (even + odd) - rates->lag * flow;
    }
}

_Static_assert(UNSTEADY_TERMS == 10, "as many terms as lag_on takes");

/* Takes friction where it does not lag. */
EACH_BODY
static void take(const struct found *found, double *right, double *left)
{
    EACH_PLACE
    for (int i = 0; i < MEMORY_ROW; i++) {
        right[i] -= found->lost[i] + found->given[i];
        left[i] += found->lost[i] - found->given[i];
    }
}

/* The wall takes the heads. All parts, whether it has so many or not. */
EACH_BODY
static void give_on(const struct rates *rates, const struct found *found, struct memory_give *soft)
{
    EACH_PLACE
    for (int i = 0; i < MEMORY_ROW; i++) {
        double above = found->head[i] - soft->level[i];
        double even = fade_on(rates->creep_fade[0], rates->push[0], above, &soft->part[0][i]);
        double odd = fade_on(rates->creep_fade[1], rates->push[1], above, &soft->part[1][i]);
        even += fade_on(rates->creep_fade[2], rates->push[2], above, &soft->part[2][i]);
        odd += fade_on(rates->creep_fade[3], rates->push[3], above, &soft->part[3][i]);
        even += fade_on(rates->creep_fade[4], rates->push[4], above, &soft->part[4][i]);
        odd += fade_on(rates->creep_fade[5], rates->push[5], above, &soft->part[5][i]);
        soft->grown[i] += found->given[i];
        soft->strain[i] = rates->softness * soft->level[i] + (even + odd);
    }
}

_Static_assert(WALL_CREEP_MAX == 6, "as many parts as give_on takes");

/* --- nodes that hold gas or a cavity --- */

/* Extremes of a row as they were before its heads were noted. */
struct kept {
    double highest[MEMORY_ROW];
    double lowest[MEMORY_ROW];
};

static void keep(const struct pass *pass, int row, struct kept *kept)
{
    memcpy(kept->highest, pass->highest + (int64_t)row * MEMORY_ROW, sizeof kept->highest);
    memcpy(kept->lowest, pass->lowest + (int64_t)row * MEMORY_ROW, sizeof kept->lowest);
}

static void mend_node(const struct pass *pass, int64_t node, int place, double head,
                      struct found *found)
{
    found->head[place] = head;
    found->given[place] = 2.0 * (memory_mean(pass->pipe, node, head) - head);
}

/* Puts the true heads in place of what the two values would say; with `kept` the pipe holds gas and
 * its heads are noted here. Cavities stand in the order of
 * nodes; what is noted of their extremes the kernel mends. */
static void mend(struct pass *pass, int row, const struct kept *kept, struct found *found)
{
    const struct kernel *kernel = pass->kernel;
    int64_t node = pass->node + (int64_t)row * MEMORY_ROW;
    int64_t first = pass->pipe->first + node;
    int64_t nodes = pass->pipe->reaches + 1 - node;
    for (int i = 0; kept != NULL && i < MEMORY_ROW && i < nodes; i++) {
        int64_t at = (int64_t)row * MEMORY_ROW + i;
        double head = kernel->head[first + i];
        mend_node(pass, node + i, i, head, found);
        pass->highest[at] = fmax(kept->highest[i], head);
        pass->lowest[at] = fmin(kept->lowest[i], head);
    }
    int64_t j = pass->cavity;
    for (; j < kernel->cavity_count && kernel->cavities[j].node < first + MEMORY_ROW; j++) {
        int64_t i = kernel->cavities[j].node - first;
        if (i >= 0) {
            mend_node(pass, node + i, (int)i, kernel->cavities[j].head, found);
        }
    }
    pass->cavity = j;
}

/* --- all of it --- */

static struct rates rates_of(const struct kernel_pipe *pipe)
{
    const struct memory *memory = pipe->memory;
    struct rates rates = {
        .stiffness = memory->stiffness,
        .softness = memory->softness,
        .per_flow = 0.5 / memory_impedance(pipe),
        .twice_impedance = 2.0 * pipe->impedance,
        .lag = memory->friction.lag,
    };
    memcpy(rates.fade, memory->friction.fade, sizeof rates.fade);
    memcpy(rates.trace, memory->trace, sizeof rates.trace);
    memcpy(rates.creep_fade, memory->wall.fade, sizeof rates.creep_fade);
    memcpy(rates.push, memory->push, sizeof rates.push);
    return rates;
}

EACH_BODY
static void step_rows(struct pass *pass, bool lags, bool gives)
{
    const struct rates rates = rates_of(pass->pipe);
    const enum loss_kind kind = pass->pipe->loss.kind;
    struct spot spot = {.mask = kind == LOSS_TABLE ? UINT64_MAX : 0};
    const bool has_gas = pass->pipe->gas > 0.0;
    const bool mends = has_gas || pass->kernel->cavity_count > 0;
    for (int row = 0; row < pass->rows; row++) {
        double *right = pass->right + (int64_t)row * MEMORY_ROW;
        double *left = pass->left + (int64_t)row * MEMORY_ROW;
        struct kept kept;
        struct found found;
        if (has_gas) {
            keep(pass, row, &kept);
        }
        if (kind == LOSS_QUADRATIC) {
            look_by_series(pass, row, lags, gives, &rates, &spot, &found);
        } else {
            look_by_table(pass, row, lags, gives, &rates, &spot, &found);
        }
        if (mends) {
            mend(pass, row, has_gas ? &kept : NULL, &found);
        }
        if (lags) {
            lag_on(&rates, gives, &found, right, left, pass->lag + row);
        } else {
            take(&found, right, left);
        }
        if (gives) {
            give_on(&rates, &found, pass->soft + row);
        }
    }
}

EACH_WIDTH
static void step_lagging(struct pass *pass)
{
    step_rows(pass, true, false);
}

EACH_WIDTH
static void step_giving(struct pass *pass)
{
    step_rows(pass, false, true);
}

EACH_WIDTH
static void step_both(struct pass *pass)
{
    step_rows(pass, true, true);
}

static void step_pass(struct pass *pass)
{
    if (pass->soft == NULL) {
        step_lagging(pass);
    } else if (pass->lag == NULL) {
        step_giving(pass);
    } else {
        step_both(pass);
    }
}

/* Places `from` to `end` of rows of numbers. */
static void copy_places(size_t rows, int from, int end, const double *source, double *target)
{
    for (size_t k = 0; k < rows; k++) {
        memcpy(target + k * MEMORY_ROW + from, source + k * MEMORY_ROW + from,
               (size_t)(end - from) * sizeof(double));
    }
}

/* Places `from` to `end` of one row: stepped apart, with the first of them in all other places. */
static void step_part(const struct pass *whole, int from, int end)
{
    double value[4][MEMORY_ROW];
    double *const there[4] = {whole->right, whole->left, whole->highest, whole->lowest};
    struct memory_lag lag;
    struct memory_give soft;
    struct pass pass = *whole;
    for (int k = 0; k < 4; k++) {
        for (int i = 0; i < MEMORY_ROW; i++) {
            value[k][i] = there[k][i >= from && i < end ? i : from];
        }
    }
    pass.right = value[0];
    pass.left = value[1];
    pass.highest = value[2];
    pass.lowest = value[3];
    pass.lag = whole->lag == NULL ? NULL : memcpy(&lag, whole->lag, sizeof lag);
    pass.soft = whole->soft == NULL ? NULL : memcpy(&soft, whole->soft, sizeof soft);
    step_pass(&pass);
    for (int k = 0; k < 4; k++) {
        copy_places(1, from, end, value[k], there[k]);
    }
    if (pass.lag != NULL) {
        copy_places(sizeof lag / sizeof lag.flow, from, end, lag.lagging, whole->lag->lagging);
    }
    if (pass.soft != NULL) {
        copy_places(sizeof soft / sizeof soft.level, from, end, soft.strain, whole->soft->strain);
    }
}

void memory_step(const struct kernel *kernel, const struct kernel_pipe *pipe, int64_t node,
                 int64_t count)
{
    const struct memory *memory = pipe->memory;
    const int64_t end = node + count;
    struct pass pass = {.kernel = kernel, .pipe = pipe};
    for (int64_t at = node; at < end;) {
        const int64_t first = at / MEMORY_ROW * MEMORY_ROW;
        const int64_t left = end - first;
        pass.node = first;
        pass.right = row_right(kernel) + pipe->first + first;
        pass.left = row_left(kernel) + pipe->first + first;
        pass.highest = kernel->highest + pipe->first + first;
        pass.lowest = kernel->lowest + pipe->first + first;
        pass.lag = memory->lag == NULL ? NULL : memory->lag + first / MEMORY_ROW;
        pass.soft = memory->soft == NULL ? NULL : memory->soft + first / MEMORY_ROW;
        if (at > first || left < MEMORY_ROW) {
            pass.rows = 1;
            step_part(&pass, (int)(at - first), (int)(left < MEMORY_ROW ? left : MEMORY_ROW));
            at = first + (left < MEMORY_ROW ? left : MEMORY_ROW);
        } else {
            pass.rows = (int)(left / MEMORY_ROW);
            step_pass(&pass);
            at = first + (int64_t)pass.rows * MEMORY_ROW;
        }
    }
}
