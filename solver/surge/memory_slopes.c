#include "solver/surge/memory_slopes.h"

#include "solver/surge/four.h"
#include "solver/surge/limits.h"
#include "solver/surge/memory.h"
#include "solver/surge/slopes.h"

#include <math.h>
#include <stddef.h>

/* Rounding of one sum or product, as a share of it, and how many of them a step has that are as
 * large as p - m, on the safe side. */
static const double rounding = 1.15e-16;
static const double roundings = 32.0;

static const struct bounds none = {(double)INFINITY, -(double)INFINITY};

/* Nodes looked at together. */
enum { CHUNK = 256 };

/* Bounds of the slopes of so many numbers, a multiple of FOUR, each to the next one, place by
 * place. */
EACH_WIDTH
static void find_places(int count, const double *restrict value, double *restrict least,
                        double *restrict most)
{
    four low;
    four high;
    four_fill((double)INFINITY, &low);
    four_fill(-(double)INFINITY, &high);
    for (int i = 0; i < count; i += FOUR) {
        const four next = *(const four_anywhere *)(value + i + 1);
        const four slope = next - *(const four_anywhere *)(value + i);
        four_lower(&slope, &low);
        four_raise(&slope, &high);
    }
    four_store(least, &low);
    four_store(most, &high);
}

/* v - M of some nodes, term being share times v. */
EACH_WIDTH
static void take_away(int count, double per_share, const double *restrict term,
                      const double *restrict right, const double *restrict left,
                      double *restrict away)
{
    for (int i = 0; i < count; i++) {
        away[i] = term[i] * per_share - 0.5 * (right[i] + left[i]);
    }
}

static struct bounds join(struct bounds one, struct bounds other)
{
    return (struct bounds){fmin(one.least, other.least), fmax(one.most, other.most)};
}

/* Bounds of the slopes of so many numbers, each to the next one. */
static struct bounds find_slopes(int count, const double *value)
{
    const int whole = count / FOUR * FOUR;
    double slope[FOUR];
    double least[FOUR];
    double most[FOUR];
    find_places(whole, value, least, most);
    for (int i = whole; i < count; i++) {
        slope[i - whole] = value[i + 1] - value[i];
    }
    const struct bounds all = {sweep_bounds(FOUR, least).least, sweep_bounds(FOUR, most).most};
    return join(all, sweep_bounds(count - whole, slope));
}

/* The largest |v - M| of so many nodes. */
static double find_away(int count, double per_share, const double *term, const double *right,
                        const double *left)
{
    double away[CHUNK];
    struct bounds all = none;
    for (int i = 0; i < count; i += CHUNK) {
        const int here = count - i < CHUNK ? count - i : CHUNK;
        take_away(here, per_share, term + i, right + i, left + i, away);
        all = join(all, sweep_bounds(here, away));
    }
    return fmax(all.most, -all.least);
}

/* By how much slopes of m are above those of p, or below them. */
static double rise_of(const struct memory_slopes *slopes)
{
    return slopes->left.least - slopes->right.most;
}

static double fall_of(const struct memory_slopes *slopes)
{
    return slopes->right.least - slopes->left.most;
}

struct memory_slopes_law memory_slopes_law_of(const struct kernel_pipe *pipe, int steps)
{
    const struct memory *memory = pipe->memory;
    const struct bounds between = limits_differences(pipe);
    const double total = memory->friction.total;
    const double largest =
        fmax(fmax(pipe->most_right, -pipe->least_right), fmax(pipe->most_left, -pipe->least_left));
    const double remembered =
        memory->friction.count > 0 ? total * fmax(memory->flow.most, -memory->flow.least) : 0.0;
    const double size = fmax(between.most, -between.least) + remembered;
    double pushed = 0.0;
    for (int k = 0; k < memory->wall.count; k++) {
        pushed += memory->wall.push[k];
    }
    return (struct memory_slopes_law){
        .steps = steps,
        .change = 1.001 * loss_steepest(&pipe->loss, size) +
                  (1.0 - pipe->impedance / memory_impedance(pipe)) + total / pipe->impedance +
                  2.0 * memory->wall.total,
        .given = memory->wall.total + pushed,
        .rounding = roundings * rounding * steps * largest,
    };
}

void memory_slopes_find(const struct kernel *kernel, const struct kernel_pipe *pipe, int node,
                        int count, struct memory_slopes *slopes)
{
    const struct memory *memory = pipe->memory;
    const double *right = row_right(kernel) + pipe->first + node;
    const double *left = row_left(kernel) + pipe->first + node;
    *slopes = (struct memory_slopes){.right = none, .left = none, .kept = none};
    if (count <= 0) {
        return;
    }
    slopes->right = find_slopes(count, right);
    slopes->left = find_slopes(count, left);
    if (fmax(rise_of(slopes), fall_of(slopes)) < slopes_allowed(1)) {
        return;
    }
    for (int k = 0; k < memory->friction.count; k++) {
        const struct bounds term = find_slopes(count, memory->flows + k * memory->stride + node);
        slopes->lagging += fmax(term.most, -term.least);
    }
    for (int k = 0; k < memory->wall.count; k++) {
        const double *term = memory->heads + k * memory->stride + node;
        const double per_share = 1.0 / memory->wall.share[k];
        const struct bounds kept = find_slopes(count, term);
        slopes->kept =
            join(slopes->kept, (struct bounds){kept.least * per_share, kept.most * per_share});
        slopes->away = fmax(slopes->away, find_away(count + 1, per_share, term, right, left));
    }
}

unsigned memory_slopes_ways(int pieces, const struct memory_slopes piece[],
                            const struct memory_slopes_law *law)
{
    struct memory_slopes all = piece[0];
    for (int i = 1; i < pieces; i++) {
        all.right = join(all.right, piece[i].right);
        all.left = join(all.left, piece[i].left);
        all.kept = join(all.kept, piece[i].kept);
        all.lagging = fmax(all.lagging, piece[i].lagging);
        all.away = fmax(all.away, piece[i].away);
    }
    const double n = law->steps;
    const double q = n * law->change;
    if (!(q <= 0.25)) {
        return 0;
    }
    const struct bounds hull = join(all.kept, join(all.right, all.left));
    const double width = (hull.most - hull.least + 4.0 * n * all.lagging) / (1.0 - 2.0 * q);
    const double changed = 2.0 * (q * width + 2.0 * n * all.lagging) +
                           4.0 * law->given * 1.3 * (all.away + 0.5 * n * width) +
                           4.0 * law->rounding; /* two values make a slope, two slopes a rise */
    return (rise_of(&all) - changed >= slopes_allowed(law->steps) ? MEMORY_RISES : 0U) |
           (fall_of(&all) - changed >= slopes_allowed(law->steps) ? MEMORY_FALLS : 0U);
}
