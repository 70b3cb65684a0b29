#include "solver/surge/loss.h"

#include <math.h>
#include <string.h>

enum { PROBES = 8 };

/* Velocities the table spans, m/s: below it water creeps and the law is a straight line, above it
 * the law goes on quadratically. */
static const double slowest = 1e-4;
static const double fastest = 100.0;

/* Laws whose resistance varies less than this over the whole table are quadratic. */
static const double quadratic_tolerance = 1e-13;

/* So near to a straight line, as a share of the loss, the law is one. */
static const double line_tolerance = 1e-12;

/* The leading bits of a positive double: exponent and the first bits of its mantissa, so that
 * equal keys are an eighth of an octave. */
static int64_t key_of(double size)
{
    int64_t bits;
    memcpy(&bits, &size, sizeof bits);
    return bits >> LOSS_KEY_SHIFT;
}

/* Smallest number of a key. */
static double size_of(int64_t key)
{
    int64_t bits = key << LOSS_KEY_SHIFT;
    double size;
    memcpy(&size, &bits, sizeof size);
    return size;
}

static struct drop reach_drop(const struct loss_law *law, double flow)
{
    struct drop drop = law->element->drop(law->data, law->water, flow);
    drop.head /= law->reaches;
    drop.slope /= law->reaches;
    return drop;
}

/* F and dF/dQ at the flow where 2 B Q + F(Q) = d > 0: Newton kept inside a bracket. */
static struct drop solve_reach(const struct loss_law *law, double difference)
{
    double low = 0.0;
    double high = difference / (2.0 * law->impedance);
    double flow = high;
    struct drop drop = reach_drop(law, flow);
    for (int i = 0; i < 100; i++) {
        double excess = 2.0 * law->impedance * flow + drop.head - difference;
        if (fabs(excess) <= 4e-16 * difference) {
            break;
        }
        if (excess > 0.0) {
            high = flow;
        } else {
            low = flow;
        }
        double next = flow - excess / (2.0 * law->impedance + drop.slope);
        if (!(next > low && next < high)) {
            next = 0.5 * (low + high);
        }
        if (next == flow) {
            break;
        }
        flow = next;
        drop = reach_drop(law, flow);
    }
    return drop;
}

/* Whether the law is F = r Q|Q| and nothing else, and r, of one reach. */
static bool is_quadratic(const struct loss_law *law, double *resistance)
{
    for (int i = 0; i <= PROBES; i++) {
        double flow = law->area * slowest * pow(fastest / slowest, (double)i / PROBES);
        double here = reach_drop(law, flow).head / (flow * flow);
        *resistance = i == 0 ? here : *resistance;
        if (fabs(here - *resistance) > quadratic_tolerance * *resistance) {
            return false;
        }
    }
    return true;
}

static bool is_on_line(const struct loss_law *law, double slope, double difference)
{
    const double head = solve_reach(law, difference).head;
    return fabs(head - slope * difference) <= line_tolerance * head;
}

/* The first interval that is not on the straight line from rest, as all laminar flow is. */
static int64_t end_of_line(const struct loss_law *law, int64_t first, int64_t last)
{
    const double slope = solve_reach(law, size_of(first)).head / size_of(first);
    int64_t key = first;
    while (key < last && is_on_line(law, slope, 0.5 * (size_of(key) + size_of(key + 1))) &&
           is_on_line(law, slope, size_of(key + 1))) {
        key++;
    }
    return key;
}

/* Cubics with the law's value and slope at the joints (Hermite). */
static void fill_table(struct loss *loss, const struct loss_law *law)
{
    double size = size_of(loss->first_key);
    struct drop here = solve_reach(law, size);
    double slope = here.slope / (2.0 * law->impedance + here.slope);
    loss->cubics[1] = here.head / size;
    for (int i = 0; i < loss->count; i++) {
        double next_size = size_of(loss->first_key + i + 1);
        struct drop next = solve_reach(law, next_size);
        double next_slope = next.slope / (2.0 * law->impedance + next.slope);
        double width = next_size - size;
        double chord = (next.head - here.head) / width;
        double *cubic = loss->cubics + 4 * ((size_t)i + 1);
        cubic[0] = here.head;
        cubic[1] = slope;
        cubic[2] = (3.0 * chord - 2.0 * slope - next_slope) / width;
        cubic[3] = (slope + next_slope - 2.0 * chord) / (width * width);
        size = next_size;
        here = next;
        slope = next_slope;
    }
    double x = 0.5 * (size - here.head); /* B Q at the end; F = curvature x^2 beyond */
    loss->curvature = here.head / (x * x);
}

/* Scales the table to be exact at the steady flow. */
static void meet_steady(struct loss *loss, const struct loss_law *law)
{
    struct drop drop = reach_drop(law, law->steady_flow);
    double difference = 2.0 * law->impedance * law->steady_flow + drop.head;
    double scale = drop.head / loss_at(loss, difference).head;
    for (int i = 0; isnormal(scale) && i < 4 * (loss->count + 1); i++) { /* not at rest */
        loss->cubics[i] *= scale;
    }
}

/* The steepest slope of a cubic from 0 to `width`. */
static double steepest_of(const double cubic[4], double width)
{
    const double at_end = cubic[1] + width * (2.0 * cubic[2] + width * 3.0 * cubic[3]);
    const double turn = -cubic[2] / (3.0 * cubic[3]);
    double steepest = fmax(fabs(cubic[1]), fabs(at_end));
    if (turn > 0.0 && turn < width) {
        steepest = fmax(steepest, fabs(cubic[1] + turn * cubic[2]));
    }
    return steepest;
}

static void find_steepest(struct loss *loss)
{
    loss->steepest[0] = fabs(loss->cubics[1]);
    for (int i = 0; i < loss->count; i++) {
        const int64_t key = loss->first_key + i;
        loss->steepest[i + 1] =
            fmax(loss->steepest[i], steepest_of(loss->cubics + 4 * (ptrdiff_t)(i + 1),
                                                size_of(key + 1) - size_of(key)));
    }
}

/* (1 + sqrt(1 + x))^-2 = (1 - x/2 + 5/16 x^2 - 7/32 x^3 + 21/128 x^4 - ...)/4 for x up to `end`:
 * the first term left out, e x^n, is at most 2 e (end/4)^n off the polynomial of lower degree that
 * Chebyshev's of degree n gives for it (Abramowitz & Stegun, 22.3). */
static void choose_series(struct loss *loss, const struct loss_law *law)
{
    static const double ordinary = 20.0; /* m/s, more than water is ever let run */
    static const double ends[] = {1.0e-5, 8.0e-4, 1.0 / 160.0};
    double most = 2.0 * law->impedance * law->area * ordinary * loss->curvature;
    loss->terms = most <= ends[0] ? 2 : most <= ends[1] ? 3 : 4;
    double end = ends[loss->terms - 2];
    double plain[LOSS_TERMS] = {1.0, -1.0 / 2.0, 5.0 / 16.0, -7.0 / 32.0};
    if (loss->terms == 2) { /* x^2 by end x - end^2/8 */
        plain[0] -= 5.0 / 16.0 * end * end / 8.0;
        plain[1] += 5.0 / 16.0 * end;
    } else if (loss->terms == 3) { /* x^3 by (48 end x^2 - 18 end^2 x + end^3)/32 */
        plain[0] -= 7.0 / 32.0 * end * end * end / 32.0;
        plain[1] += 7.0 / 32.0 * 18.0 / 32.0 * end * end;
        plain[2] -= 7.0 / 32.0 * 48.0 / 32.0 * end;
    } else { /* x^4 by (256 end x^3 - 160 end^2 x^2 + 32 end^3 x - end^4)/128 */
        plain[0] -= 21.0 / 128.0 * end * end * end * end / 128.0;
        plain[1] += 21.0 / 128.0 * 32.0 / 128.0 * end * end * end;
        plain[2] -= 21.0 / 128.0 * 160.0 / 128.0 * end * end;
        plain[3] += 21.0 / 128.0 * 256.0 / 128.0 * end;
    }
    double power = 0.25 * loss->curvature;
    for (int i = 0; i < loss->terms; i++) {
        loss->series[i] = plain[i] * power;
        power *= loss->curvature;
    }
    loss->series_end = end / loss->curvature;
}

bool loss_init(struct loss *loss, const struct loss_law *law, struct arena *arena,
               struct failure *failure)
{
    *loss = (struct loss){.kind = LOSS_NONE};
    double resistance = 0.0;
    if (is_quadratic(law, &resistance)) {
        if (resistance > 0.0) {
            loss->kind = LOSS_QUADRATIC;
            loss->curvature = resistance / (law->impedance * law->impedance);
            choose_series(loss, law);
        }
        return true;
    }
    loss->kind = LOSS_TABLE;
    loss->series_end = -(double)INFINITY; /* beyond the table the closed form */
    double unit = 2.0 * law->impedance * law->area;
    const int64_t last_key = key_of(unit * fastest);
    loss->first_key = end_of_line(law, key_of(unit * slowest), last_key);
    loss->count = (int)(last_key - loss->first_key) + 1;
    loss->cubics = arena_take(arena, 4 * ((size_t)loss->count + 1), sizeof *loss->cubics);
    loss->steepest = arena_take(arena, (size_t)loss->count + 1, sizeof *loss->steepest);
    if (loss->cubics == NULL || loss->steepest == NULL) {
        return fail_memory(failure, "friction tables");
    }
    fill_table(loss, law);
    meet_steady(loss, law);
    find_steepest(loss);
    return true;
}

static struct drop quadratic(const struct loss *loss, double size)
{
    double x = loss->curvature * size;
    double root = sqrt(1.0 + x);
    double divisor = 1.0 + root;
    return (struct drop){.head = size <= loss->series_end ? loss_sum(loss->series, LOSS_TERMS, size)
                                                          : x * size / (divisor * divisor),
                         .slope = x / (root * divisor)};
}

bool loss_interval_at(const struct loss *loss, double size, struct loss_interval *interval)
{
    int64_t i = key_of(size) - loss->first_key;
    if (i >= loss->count) {
        return false;
    }
    interval->start = i < 0 ? 0.0 : size_of(loss->first_key + i);
    interval->end = size_of(i < 0 ? loss->first_key : loss->first_key + i + 1);
    memcpy(interval->cubic, i < 0 ? loss->cubics : loss->cubics + 4 * (i + 1),
           sizeof interval->cubic);
    return true;
}

struct loss_interval loss_driven_in(const struct loss_interval *lost, double ratio)
{
    return (struct loss_interval){
        .start = lost->start,
        .cubic = {ratio * (lost->start - lost->cubic[0]), ratio * (1.0 - lost->cubic[1]),
                  -ratio * lost->cubic[2], -ratio * lost->cubic[3]},
        .end = lost->end,
    };
}

static struct drop table(const struct loss *loss, double size)
{
    const int64_t i = key_of(size) - loss->first_key;
    if (i >= loss->count) {
        return quadratic(loss, size);
    }
    const double *cubic = i < 0 ? loss->cubics : loss->cubics + 4 * (i + 1);
    const double x = i < 0 ? size : size - size_of(loss->first_key + i);
    return (struct drop){
        .head = loss_cubic(cubic, x),
        .slope = cubic[1] + x * (2.0 * cubic[2] + x * 3.0 * cubic[3]),
    };
}

struct drop loss_at(const struct loss *loss, double difference)
{
    struct drop drop = {0.0, 0.0};
    double size = fabs(difference);
    if (loss->kind == LOSS_QUADRATIC) {
        drop = quadratic(loss, size);
    } else if (loss->kind == LOSS_TABLE) {
        drop = table(loss, size);
    }
    if (difference < 0.0) {
        drop.head = -drop.head;
    }
    return drop;
}

double loss_steepest(const struct loss *loss, double size)
{
    if (loss->kind != LOSS_TABLE) {
        return loss_at(loss, size).slope; /* it grows with d */
    }
    const int64_t i = key_of(size) - loss->first_key;
    return i >= loss->count ? (double)INFINITY : loss->steepest[i < 0 ? 0 : i + 1];
}

static void turn_round(struct loss_interval *interval)
{
    interval->start = -interval->start;
    interval->cubic[0] = -interval->cubic[0];
    interval->cubic[2] = -interval->cubic[2];
}

int loss_few_intervals(const struct loss *loss, double least, double most, int room,
                       struct loss_interval interval[])
{
    const double small = least >= 0.0 ? least : -most;
    const double large = least >= 0.0 ? most : -least;
    if (!(least <= most)) {
        return 0; /* there are none, or no numbers */
    }
    if (least < 0.0 && most > 0.0) {
        /* The line through rest is the same on both sides. */
        const double size = fmax(most, -least);
        return key_of(size) < loss->first_key && loss_interval_at(loss, size, &interval[0]);
    }
    const int64_t first = key_of(small) < loss->first_key ? loss->first_key - 1 : key_of(small);
    const int64_t last = key_of(large) < loss->first_key ? loss->first_key - 1 : key_of(large);
    if (last - first >= room || last - loss->first_key >= loss->count) {
        return 0;
    }
    const int count = (int)(last - first) + 1;
    for (int i = 0; i < count; i++) {
        (void)loss_interval_at(loss, i == 0 ? small : interval[i - 1].end, &interval[i]);
    }
    for (int i = 0; i < count && least < 0.0; i++) {
        turn_round(&interval[i]);
    }
    return count;
}

int loss_intervals(const struct loss *loss, double least, double most,
                   struct loss_interval interval[2])
{
    return loss_few_intervals(loss, least, most, 2, interval);
}

int loss_near_intervals(const struct loss *loss, double least, double most, struct loss_near *near)
{
    if (near->count > 0 && least >= near->least && most <= near->most) {
        return near->count;
    }
    near->count = loss_intervals(loss, least, most, near->interval);
    if (near->count > 0) {
        const double start = fabs(near->interval[0].start);
        const double end = nextafter(near->interval[near->count - 1].end, 0.0);
        const bool is_below = least < 0.0;
        const bool is_line = near->count == 1 && start == 0.0;
        near->least = is_below || is_line ? -end : start;
        near->most = is_below && !is_line ? -start : end;
    }
    return near->count;
}
