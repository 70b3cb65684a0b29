/* One pass over the nodes of a pipe with a memory, by stretches that stay in the nearest cache:
 * first what the steady law takes, then heads and wall, then what friction remembers. Each of these
 * is a plain loop whose nodes do not wait for each other. */
#include "models/each_width.h"
#include "solver/surge/memory.h"

#include <math.h>
#include <string.h>

/* Nodes of a stretch; and of those that are thought to be in one interval of a table. */
enum { STRETCH = 256, GLANCE = 64 };

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
    double *restrict lagging;
    double *flows;
    double *heads;
    double per_flow; /* m2/s, 1/(2 B'), B' the impedance with which the loss is made */
    int64_t cavity;  /* first of the kernel's cavities that may be in it */
};

/* What one loop over a stretch finds for the next. */
struct found {
    double lost[STRETCH];  /* m, by the steady law; where friction lags nothing */
    double flow[STRETCH];  /* m3/s; where friction lags */
    double head[STRETCH];  /* m; where walls creep and a node's head is told */
    double given[STRETCH]; /* m, to the wall; where it creeps */
};

/* The interval of a table that the nodes just passed were in, turned round if their differences
 * were below 0. */
struct spot {
    uint64_t bits; /* of one of these differences */
    struct loss_interval interval;
};

/* The bits that are the same for all numbers of one interval: sign, exponent and three more. */
static const uint64_t key_bits = UINT64_MAX << 49;

/* --- the steady law --- */

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

/* p - m at a node of a pass, and what friction remembers. */
EACH_BODY
static double rest_at(const struct pass *pass, bool lags, int i)
{
    double difference = pass->right[i] - pass->left[i];
    return lags ? difference + pass->lagging[i] : difference;
}

/* Finds losses or flows of `count` nodes from `at` as if all were alike; 0 if they are. */
EACH_BODY
static uint64_t glance(const struct pass *pass, int at, int count, bool lags, enum loss_kind kind,
                       const struct spot *spot, struct found *found)
{
    const struct loss loss = pass->pipe->loss;
    const struct spot here = *spot;
    const double per_flow = pass->per_flow;
    uint64_t spread = 0;
    EACH_PLACE
    for (int i = at; i < at + count; i++) {
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

/* Losses or flows of the whole pass. */
EACH_BODY
static void look(const struct pass *pass, bool lags, enum loss_kind kind, struct spot *spot,
                 struct found *found)
{
    const struct loss *loss = &pass->pipe->loss;
    for (int at = 0; at < pass->count; at += GLANCE) {
        const int count = pass->count - at < GLANCE ? pass->count - at : GLANCE;
        if (kind == LOSS_TABLE) {
            go_to(loss, rest_at(pass, lags, at), spot);
        }
        if ((count == GLANCE ? glance(pass, at, GLANCE, lags, kind, spot, found)
                             : glance(pass, at, count, lags, kind, spot, found)) != 0) {
            lose_apart(pass, lags, at, count, found);
        }
    }
}

EACH_BODY
static void lose(const struct pass *pass, bool lags, struct spot *spot, struct found *found)
{
    const enum loss_kind kind = pass->pipe->loss.kind;
    if (kind == LOSS_QUADRATIC) {
        look(pass, lags, LOSS_QUADRATIC, spot, found);
    } else if (kind == LOSS_TABLE) {
        look(pass, lags, LOSS_TABLE, spot, found);
    } else {
        look(pass, lags, LOSS_NONE, spot, found);
    }
}

/* --- terms --- */

/* What a loop needs of them. */
struct terms {
    double fade[FADING_TERMS];
    double push[FADING_TERMS];
    int64_t stride;
    double *term;
};

EACH_BODY
static struct terms terms_of(const struct fading *fading, int count)
{
    struct terms terms = {.stride = 0};
    for (int k = 0; k < count; k++) {
        terms.fade[k] = fading->fade[k];
        terms.push[k] = fading->push[k];
    }
    return terms;
}

EACH_BODY
static double term_at(const struct terms *terms, int k, int i)
{
    return terms->term[k * terms->stride + i];
}

/* The sum of so many terms of a wall at a node. They stand one by one: compilers make no vectors of
 * a loop in a loop. */
EACH_BODY
static double sum_at(const struct terms *terms, int count, int i)
{
    _Static_assert(WALL_CREEP_MAX == 6, "one line for each");
    double sum = term_at(terms, 0, i);
    sum = count > 1 ? sum + term_at(terms, 1, i) : sum;
    sum = count > 2 ? sum + term_at(terms, 2, i) : sum;
    sum = count > 3 ? sum + term_at(terms, 3, i) : sum;
    sum = count > 4 ? sum + term_at(terms, 4, i) : sum;
    return count > 5 ? sum + term_at(terms, 5, i) : sum;
}

/* A term fades and takes the value. */
EACH_BODY
static double fade_on(const struct terms *terms, int k, double value, int i)
{
    double *term = terms->term + k * terms->stride + i;
    *term = terms->fade[k] * *term + terms->push[k] * value;
    return *term;
}

/* All terms at a node; their sum. */
EACH_BODY
static double fade_all(const struct terms *terms, int count, double value, int i)
{
    double sum = fade_on(terms, 0, value, i);
    sum = count > 1 ? sum + fade_on(terms, 1, value, i) : sum;
    sum = count > 2 ? sum + fade_on(terms, 2, value, i) : sum;
    sum = count > 3 ? sum + fade_on(terms, 3, value, i) : sum;
    sum = count > 4 ? sum + fade_on(terms, 4, value, i) : sum;
    sum = count > 5 ? sum + fade_on(terms, 5, value, i) : sum;
    sum = count > 6 ? sum + fade_on(terms, 6, value, i) : sum;
    return count > 7 ? sum + fade_on(terms, 7, value, i) : sum;
}

/* --- heads, and the wall --- */

EACH_BODY
static void note(const struct pass *pass, double head, int i)
{
    pass->highest[i] = head > pass->highest[i] ? head : pass->highest[i];
    pass->lowest[i] = head < pass->lowest[i] ? head : pass->lowest[i];
}

/* Notes heads, and the wall takes them; with quasi-steady friction both are taken from the waves.
 * `is_told`: heads and what is given have been found. */
EACH_BODY
static void give(const struct pass *pass, bool lags, bool is_told, int parts, struct found *found)
{
    const struct memory *memory = pass->pipe->memory;
    const double stiffness = memory->stiffness;
    struct terms terms = terms_of(&memory->wall, parts);
    terms.stride = memory->stride;
    terms.term = pass->heads;
    EACH_PLACE
    for (int i = 0; i < pass->count; i++) {
        double mean = 0.5 * (pass->right[i] + pass->left[i]);
        double head = is_told ? found->head[i] : (mean + sum_at(&terms, parts, i)) * stiffness;
        double given = is_told ? found->given[i] : 2.0 * (mean - head);
        note(pass, head, i);
        if (lags) {
            found->given[i] = given;
        } else {
            pass->right[i] -= found->lost[i] + given;
            pass->left[i] += found->lost[i] - given;
        }
        (void)fade_all(&terms, parts, head, i);
    }
}

EACH_BODY
static void give_all(const struct pass *pass, bool lags, bool is_told, struct found *found)
{
    switch (pass->pipe->memory->wall.count) {
    case 1:
        give(pass, lags, is_told, 1, found);
        break;
    case 2:
        give(pass, lags, is_told, 2, found);
        break;
    case 3:
        give(pass, lags, is_told, 3, found);
        break;
    case 4:
        give(pass, lags, is_told, 4, found);
        break;
    case 5:
        give(pass, lags, is_told, 5, found);
        break;
    default:
        give(pass, lags, is_told, WALL_CREEP_MAX, found);
        break;
    }
}

/* --- friction that lags --- */

/* Takes friction and what the wall takes, and notes heads unless the wall has. */
EACH_BODY
static void lag(const struct pass *pass, bool gives, int count, struct found *found)
{
    const struct memory *memory = pass->pipe->memory;
    const double twice_impedance = 2.0 * pass->pipe->impedance;
    struct terms terms = terms_of(&memory->friction, count);
    terms.stride = memory->stride;
    terms.term = pass->flows;
    EACH_PLACE
    for (int i = 0; i < pass->count; i++) {
        double flow = found->flow[i];
        double lost = pass->right[i] - pass->left[i] - twice_impedance * flow;
        double given = gives ? found->given[i] : 0.0;
        if (!gives) {
            note(pass, 0.5 * (pass->right[i] + pass->left[i]), i);
        }
        pass->right[i] -= lost + given;
        pass->left[i] += lost - given;
        pass->lagging[i] = fade_all(&terms, count, flow, i);
    }
}

EACH_BODY
static void lag_all(const struct pass *pass, bool gives, struct found *found)
{
    switch (pass->pipe->memory->friction.count) {
    case 5:
        lag(pass, gives, 5, found);
        break;
    case 6:
        lag(pass, gives, 6, found);
        break;
    case 7:
        lag(pass, gives, 7, found);
        break;
    default:
        lag(pass, gives, FADING_TERMS, found);
        break;
    }
}

/* --- nodes that hold gas or a cavity --- */

/* Extremes as they were before heads were noted. */
struct kept {
    double highest[STRETCH];
    double lowest[STRETCH];
};

static void keep(const struct pass *pass, struct kept *kept)
{
    memcpy(kept->highest, pass->highest, (size_t)pass->count * sizeof(double));
    memcpy(kept->lowest, pass->lowest, (size_t)pass->count * sizeof(double));
}

/* In a pipe with gas the true heads are others. */
static void mend(const struct pass *pass, const struct kept *kept)
{
    const double *head = pass->kernel->head + pass->pipe->first + pass->node;
    for (int i = 0; i < pass->count; i++) {
        pass->highest[i] = fmax(kept->highest[i], head[i]);
        pass->lowest[i] = fmin(kept->lowest[i], head[i]);
    }
}

static void tell_node(const struct pass *pass, int i, double head, struct found *found)
{
    found->head[i] = head;
    found->given[i] = 2.0 * (memory_mean(pass->pipe, pass->node + i, head) - head);
}

/* Finds all heads and what is given to the wall: the true heads where they are not what the two
 * values say. Cavities stand in the order of nodes; what is noted of their extremes the kernel
 * mends. */
static void tell(struct pass *pass, struct found *found)
{
    const struct kernel *kernel = pass->kernel;
    const struct kernel_pipe *pipe = pass->pipe;
    const int64_t first = pipe->first + pass->node;
    for (int i = 0; i < pass->count; i++) {
        double mean = 0.5 * (pass->right[i] + pass->left[i]);
        found->head[i] = memory_head(pipe, pass->node + i, mean);
        found->given[i] = 2.0 * (mean - found->head[i]);
        if (pipe->gas > 0.0) {
            tell_node(pass, i, kernel->head[first + i], found);
        }
    }
    int64_t j = pass->cavity;
    for (; j < kernel->cavity_count && kernel->cavities[j].node < first + pass->count; j++) {
        int64_t i = kernel->cavities[j].node - first;
        if (i >= 0) {
            tell_node(pass, (int)i, kernel->cavities[j].head, found);
        }
    }
    pass->cavity = j;
}

/* --- all of it --- */

EACH_BODY
static void step_one(struct pass *pass, bool lags, bool gives, struct spot *spot)
{
    struct found found;
    struct kept kept;
    const bool has_gas = pass->pipe->gas > 0.0;
    const bool is_mended = lags && has_gas && !gives;
    lose(pass, lags, spot, &found);
    if (gives && (has_gas || pass->kernel->cavity_count > 0)) {
        tell(pass, &found);
        give_all(pass, lags, true, &found);
    } else if (gives) {
        give_all(pass, lags, false, &found);
    }
    if (is_mended) {
        keep(pass, &kept);
    }
    if (lags) {
        lag_all(pass, gives, &found);
    }
    if (is_mended) {
        mend(pass, &kept);
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

void memory_step(const struct kernel *kernel, const struct kernel_pipe *pipe, int64_t node,
                 int64_t count)
{
    const struct memory *memory = pipe->memory;
    const bool lags = memory->friction.count > 0;
    const bool gives = memory->wall.count > 0;
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
        pass.lagging = lags ? memory->lagging + at : NULL;
        pass.flows = lags ? memory->flows + at : NULL;
        pass.heads = memory->heads + at;
        if (!lags) {
            step_giving(&pass, &spot);
        } else if (gives) {
            step_both(&pass, &spot);
        } else {
            step_lagging(&pass, &spot);
        }
    }
}
