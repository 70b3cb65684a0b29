#include "solver/surge/memory_pass.h"

#include "models/each_width.h"
#include "solver/surge/loss_row.h"
#include "solver/surge/memory.h"
#include "solver/surge/sweep.h"

#include <math.h>
#include <stddef.h>
#include <string.h>

/* Nodes that are thought to be in one interval of a table. */
enum { GLANCE = 64 };

/* Of nodes that are not alike, m: 2 B Q; where friction does not lag, what it takes. */
struct found {
    _Alignas(64) double apart[GLANCE];
};

/* Some nodes of a pass, from `at` on, and where their waves stand before the step. */
struct part {
    int at;
    int count;
    const double *right;
    const double *left;
};

/* How losses are got. */
enum way { WAY_NONE, WAY_SERIES, WAY_INTERVAL, WAY_FOUND };

/* What a pipe has; where its heads are told, losses are found. */
struct kind {
    bool lags;
    bool gives;
    bool is_told;
    bool notes;
    enum way way;
};

/* The bits that are the same for all numbers of one interval: sign, exponent and three more. */
static const uint64_t key_bits = UINT64_MAX << LOSS_KEY_SHIFT;

EACH_BODY
static uint64_t bits_of(double number)
{
    uint64_t bits;
    memcpy(&bits, &number, sizeof bits);
    return bits;
}

/* What friction takes by a way that finds it from the difference alone. */
EACH_BODY
static double lose(enum way way, const struct loss *loss, const struct loss_interval *interval,
                   double rest)
{
    if (way == WAY_SERIES) {
        return loss_sum(loss->series, LOSS_TERMS, rest);
    }
    return way == WAY_INTERVAL ? loss_in_interval(interval, rest) : 0.0;
}

/* By a way that finds it from p - m + R alone 2 B Q, or what friction takes where it does not lag.
 */
EACH_BODY
static double move(struct kind kind, const struct loss *loss, const struct loss_interval *interval,
                   double ratio, double rest)
{
    double moved = lose(kind.way, loss, interval, rest);
    return kind.lags && kind.way != WAY_INTERVAL ? (rest - moved) * ratio : moved;
}

EACH_BODY
static void note(bool notes, double head, double *highest, double *lowest)
{
    if (notes) {
        *highest = head > *highest ? head : *highest;
        *lowest = head < *lowest ? head : *lowest;
    }
}

/* Bits by which the way does not hold for this difference; `key` is of the interval. */
EACH_BODY
static uint64_t miss(enum way way, const struct loss *loss, uint64_t key, double rest)
{
    if (way == WAY_SERIES) {
        return !(fabs(rest) <= loss->series_end);
    }
    return way == WAY_INTERVAL ? bits_of(rest) ^ key : 0;
}

/* Whether a way holds, by the bits of all differences. */
EACH_BODY
static bool holds(enum way way, uint64_t spread)
{
    return (way == WAY_INTERVAL ? spread & key_bits : spread) == 0;
}

/* --- waves --- */

/* Takes some nodes; whether the way holds for all of them.
 *
 * What friction leaves goes on as `along` and `against`; a wall that creeps turns both about the
 * head: p' = 2 H - against, m' = 2 H - along, which without creep are along and against. */
EACH_BODY
static bool take(const struct memory_pass *pass, const struct part *part, int count,
                 struct kind kind, const struct found *found)
{
    const struct memory *memory = pass->pipe->memory;
    const struct memory_spot *spot = &memory->spot;
    const struct loss_interval interval = kind.lags ? spot->driven : spot->interval;
    const struct loss loss = pass->pipe->loss;
    const uint64_t key = spot->bits;
    const double ratio = memory_driven_share(pass->pipe);
    const double stiffness = memory->stiffness;
    const int64_t node = pass->node + part->at;
    double *const to_right = pass->right + part->at;
    double *const to_left = pass->left + part->at;
    double *const highest = pass->highest + part->at;
    double *const lowest = pass->lowest + part->at;
    double *const to_driven = kind.lags ? pass->driven + part->at : NULL;
    double *const to_taken = kind.gives ? pass->taken + part->at : NULL;
    const double *const lagging = kind.lags ? memory->lagging + node : NULL;
    const double *const strain = kind.gives ? memory->strain + node : NULL;
    uint64_t spread = 0;
    EACH_PLACE
    for (int i = 0; i < count; i++) {
        double right = part->right[i];
        double left = part->left[i];
        double rest = right - left;
        double along;
        double against;
        double head = 0.5 * (right + left);
        rest = kind.lags ? rest + lagging[i] : rest;
        spread |= miss(kind.way, &loss, key, rest);
        double moved =
            kind.way == WAY_FOUND ? found->apart[i] : move(kind, &loss, &interval, ratio, rest);
        along = kind.lags ? left + moved : right - moved;
        against = kind.lags ? right - moved : left + moved;
        if (kind.lags) {
            to_driven[i] = moved;
        }
        if (kind.gives) {
            head = kind.is_told ? pass->head[part->at + i] : (head + strain[i]) * stiffness;
            double turn = kind.is_told ? pass->turn[part->at + i] : 2.0 * head;
            to_taken[i] = head;
            to_right[i] = turn - against;
            to_left[i] = turn - along;
        } else {
            to_right[i] = along;
            to_left[i] = against;
        }
        note(kind.notes, head, &highest[i], &lowest[i]);
    }
    return holds(kind.way, spread);
}

/* p - m at a node, and what friction remembers. */
EACH_BODY
static double rest_at(const struct memory_pass *pass, bool lags, const struct part *part, int i)
{
    double difference = part->right[i] - part->left[i];
    return lags ? difference + pass->pipe->memory->lagging[pass->node + part->at + i] : difference;
}

/* The interval in which a difference is; if it is beyond the table's end nothing is done. */
static void go_to(const struct kernel_pipe *pipe, double difference, struct memory_spot *spot)
{
    struct loss_interval interval[2];
    if (((bits_of(difference) ^ spot->bits) & key_bits) != 0 &&
        loss_intervals(&pipe->loss, difference, difference, interval) == 1) {
        spot->bits = bits_of(difference);
        spot->interval = interval[0];
        spot->driven = loss_driven_in(&interval[0], memory_driven_share(pipe));
    }
}

/* p - m, and what friction remembers; NULL: nothing. */
EACH_WIDTH
static void find_rests(int count, const double *restrict right, const double *restrict left,
                       const double *restrict lagging, double *restrict rest)
{
    for (int i = 0; i < count; i++) {
        rest[i] = right[i] - left[i];
    }
    for (int i = 0; lagging != NULL && i < count; i++) {
        rest[i] += lagging[i];
    }
}

/* 2 B Q of nodes that are not alike, by a table. */
static void drive_apart(const struct kernel_pipe *pipe, int count, const double rest[],
                        double driven[])
{
    if (loss_driven_row(&pipe->loss, memory_driven_share(pipe), count, rest, driven)) {
        return;
    }
    for (int i = 0; i < count; i++) {
        driven[i] = memory_driven(pipe, rest[i]);
    }
}

/* What friction does to nodes that are not alike. */
static void find_apart(const struct memory_pass *pass, bool lags, const struct part *part,
                       struct found *found)
{
    double rest[GLANCE];
    const struct kernel_pipe *pipe = pass->pipe;
    find_rests(part->count, part->right, part->left,
               lags ? pipe->memory->lagging + pass->node + part->at : NULL, rest);
    if (pipe->loss.kind == LOSS_TABLE && lags) {
        drive_apart(pipe, part->count, rest, found->apart);
        return;
    }
    loss_row(&pipe->loss, part->count, rest, found->apart);
    const double share = memory_driven_share(pipe);
    for (int i = 0; lags && i < part->count; i++) {
        found->apart[i] = (rest[i] - found->apart[i]) * share;
    }
}

/* Some nodes by one way; whether it holds. */
EACH_BODY
static bool take_by(const struct memory_pass *pass, const struct part *part, struct kind kind,
                    enum way way, struct found *found)
{
    kind.way = way;
    return part->count == GLANCE ? take(pass, part, GLANCE, kind, found)
                                 : take(pass, part, part->count, kind, found);
}

/* Whether the way holds for the last of these nodes: a look that spares the others where not. */
EACH_BODY
static bool can_take_last(const struct memory_pass *pass, const struct part *part, bool lags,
                          enum way way)
{
    const double rest = rest_at(pass, lags, part, part->count - 1);
    return holds(way, miss(way, &pass->pipe->loss, pass->pipe->memory->spot.bits, rest));
}

/* Whether the way holds for all these nodes. */
EACH_BODY
static bool can_take(const struct memory_pass *pass, const struct part *part, int count, bool lags,
                     enum way way)
{
    const struct part here = *part;
    const struct loss loss = pass->pipe->loss;
    const uint64_t key = pass->pipe->memory->spot.bits;
    uint64_t spread = 0;
    EACH_PLACE
    for (int i = 0; i < count; i++) {
        spread |= miss(way, &loss, key, rest_at(pass, lags, &here, i));
    }
    return holds(way, spread);
}

/* The same of nodes in place, which cannot be taken again. */
EACH_BODY
static bool take_in_place(const struct memory_pass *pass, const struct part *part, struct kind kind,
                          enum way way, struct found *found)
{
    const bool can = way == WAY_NONE ||
                     (part->count == GLANCE ? can_take(pass, part, GLANCE, kind.lags, way)
                                            : can_take(pass, part, part->count, kind.lags, way));
    return can && take_by(pass, part, kind, way, found);
}

/* Up to so many nodes from `at` on. */
static struct part part_of(const struct memory_pass *pass, int at, int most)
{
    const int left = pass->count - at;
    const bool is_in_place = pass->from_right == NULL;
    return (struct part){.at = at,
                         .count = left < most ? left : most,
                         .right = (is_in_place ? pass->right : pass->from_right) + at,
                         .left = (is_in_place ? pass->left : pass->from_left) + at};
}

/* All nodes by one way, and those apart for which it does not hold: at once where nodes were alike
 * before, else by glances. */
EACH_BODY
static void take_all(struct memory_pass *pass, struct kind kind, enum way way, struct found *found)
{
    struct memory_spot *spot = &pass->pipe->memory->spot;
    const bool is_in_place = pass->from_right == NULL;
    bool is_for_all = true;
    if (way == WAY_INTERVAL && spot->is_for_all && !is_in_place) {
        const struct part all = part_of(pass, 0, pass->count);
        if (take_by(pass, &all, kind, way, found)) {
            return;
        }
    }
    for (int at = 0; at < pass->count; at += GLANCE) {
        const uint64_t before = spot->bits;
        const struct part part = part_of(pass, at, GLANCE);
        if (way == WAY_INTERVAL) {
            go_to(pass->pipe, rest_at(pass, kind.lags, &part, 0), spot);
            is_for_all = is_for_all && (at == 0 || spot->bits == before);
        }
        if (way == WAY_FOUND || !can_take_last(pass, &part, kind.lags, way) ||
            !(is_in_place ? take_in_place(pass, &part, kind, way, found)
                          : take_by(pass, &part, kind, way, found))) {
            find_apart(pass, kind.lags, &part, found);
            (void)take_by(pass, &part, kind, WAY_FOUND, found);
            is_for_all = false;
        }
    }
    spot->is_for_all = is_for_all;
}

EACH_BODY
static void take_waves(struct memory_pass *pass, struct kind kind, struct found *found)
{
    const enum loss_kind loss = pass->pipe->loss.kind;
    if (kind.gives && pass->turn != NULL) {
        kind.is_told = true;
        take_all(pass, kind, WAY_FOUND, found);
    } else if (loss == LOSS_QUADRATIC) {
        take_all(pass, kind, WAY_SERIES, found);
    } else if (loss == LOSS_TABLE) {
        take_all(pass, kind, WAY_INTERVAL, found);
    } else {
        take_all(pass, kind, WAY_NONE, found);
    }
}

#define TAKE(name, lags_, gives_, notes_)                                                          \
    EACH_WIDTH                                                                                     \
    static void name(struct memory_pass *pass, struct found *found)                                \
    {                                                                                              \
        take_waves(pass, (struct kind){.lags = lags_, .gives = gives_, .notes = notes_}, found);   \
    }

TAKE(take_lagging, true, false, false)
TAKE(take_giving, false, true, false)
TAKE(take_both, true, true, false)
TAKE(note_and_take_lagging, true, false, true)
TAKE(note_and_take_giving, false, true, true)
TAKE(note_and_take_both, true, true, true)

/* Notes heads of some nodes of a pass that is not in place. */
static void note_some(const struct memory_pass *pass, bool gives, int from, int count)
{
    if (gives) {
        sweep_note_known(count, pass->taken + from, pass->highest + from, pass->lowest + from);
    } else {
        sweep_note_means(count, pass->from_right + from, pass->from_left + from,
                         pass->highest + from, pass->lowest + from);
    }
}

/* --- terms --- */

/* The terms of some nodes, from the first node on. */
struct row_of_terms {
    int nodes;
    int64_t stride;
    double *term;
    double *sum;
};

struct terms {
    double fade[FADING_TERMS];
    double push[FADING_TERMS];
    int64_t stride;
    double *term;
};

/* A term fades and takes the value. */
EACH_BODY
static double fade_on(const struct terms *terms, int k, double value, int i)
{
    double *term = terms->term + k * terms->stride + i;
    *term = terms->fade[k] * *term + terms->push[k] * value;
    return *term;
}

/* So many terms at all nodes, and their sums. The terms stand one by one: compilers make no
 * vectors of a loop in a loop. */
EACH_BODY
static void fade_all(const struct fading *fading, double scale, int count,
                     const struct row_of_terms *row, const double *value)
{
    _Static_assert(FADING_TERMS == 8, "one line for each");
    struct terms terms;
    terms.stride = row->stride;
    terms.term = row->term;
    double *const sums = row->sum;
    const int nodes = row->nodes;
    for (int k = 0; k < count; k++) {
        terms.fade[k] = fading->fade[k];
        terms.push[k] = fading->push[k] * scale;
    }
    EACH_PLACE
    for (int i = 0; i < nodes; i++) {
        double now = value[i];
        double sum = fade_on(&terms, 0, now, i);
        sum = count > 1 ? sum + fade_on(&terms, 1, now, i) : sum;
        sum = count > 2 ? sum + fade_on(&terms, 2, now, i) : sum;
        sum = count > 3 ? sum + fade_on(&terms, 3, now, i) : sum;
        sum = count > 4 ? sum + fade_on(&terms, 4, now, i) : sum;
        sum = count > 5 ? sum + fade_on(&terms, 5, now, i) : sum;
        sum = count > 6 ? sum + fade_on(&terms, 6, now, i) : sum;
        sum = count > 7 ? sum + fade_on(&terms, 7, now, i) : sum;
        sums[i] = sum;
    }
}

EACH_WIDTH
static void remember(const struct fading *fading, double scale, const struct row_of_terms *row,
                     const double *value)
{
    switch (fading->count) {
    case 1:
        fade_all(fading, scale, 1, row, value);
        break;
    case 2:
        fade_all(fading, scale, 2, row, value);
        break;
    case 3:
        fade_all(fading, scale, 3, row, value);
        break;
    case 4:
        fade_all(fading, scale, 4, row, value);
        break;
    case 5:
        fade_all(fading, scale, 5, row, value);
        break;
    case 6:
        fade_all(fading, scale, 6, row, value);
        break;
    case 7:
        fade_all(fading, scale, 7, row, value);
        break;
    default:
        fade_all(fading, scale, FADING_TERMS, row, value);
        break;
    }
}

/* --- both --- */

void memory_pass_take(struct memory_pass *pass)
{
    const struct memory *memory = pass->pipe->memory;
    const bool lags = memory->friction.count > 0;
    const bool gives = memory->wall.count > 0;
    typedef void form(struct memory_pass * pass, struct found * found);
    static form *const forms[2][3] = {
        {note_and_take_lagging, note_and_take_giving, note_and_take_both},
        {take_lagging, take_giving, take_both}};
    struct found found;
    forms[pass->is_partial][lags && gives ? 2 : gives](pass, &found);
    if (pass->is_partial) {
        note_some(pass, gives, 0, pass->first);
        note_some(pass, gives, pass->count - pass->last, pass->last);
    }
    if (lags) {
        const struct row_of_terms row = {pass->count, memory->stride, memory->flows + pass->node,
                                         memory->lagging + pass->node};
        remember(&memory->friction, 0.5 / pass->pipe->impedance, &row, pass->driven);
    }
    if (gives) {
        const struct row_of_terms row = {pass->count, memory->stride, memory->heads + pass->node,
                                         memory->strain + pass->node};
        remember(&memory->wall, 1.0, &row, pass->taken);
    }
}
