#include "solver/surge/loss.h"

#include "models/each_width.h"

#include <math.h>
#include <string.h>

/* BLOCK: losses looked up at a time. */
enum { STEPS_PER_OCTAVE_BITS = 3, MANTISSA_BITS = 52, PROBES = 8, BLOCK = 32 };

/* Velocities the table spans, m/s: below it water creeps and the law is a straight line, above it
 * the law goes on quadratically. */
static const double slowest = 1e-4;
static const double fastest = 100.0;

/* Laws whose resistance varies less than this over the whole table are quadratic. */
static const double quadratic_tolerance = 1e-13;

/* The leading bits of a positive double: exponent and the first bits of its mantissa, so that
 * equal keys are an eighth of an octave. */
static int64_t key_of(double size)
{
    int64_t bits;
    memcpy(&bits, &size, sizeof bits);
    return bits >> (MANTISSA_BITS - STEPS_PER_OCTAVE_BITS);
}

/* Smallest number of a key. */
static double size_of(int64_t key)
{
    int64_t bits = key << (MANTISSA_BITS - STEPS_PER_OCTAVE_BITS);
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

/* r of F = r Q|Q| if the law is that and nothing else, else -1. */
static double quadratic_resistance(const struct loss_law *law)
{
    double resistance = -1.0;
    for (int i = 0; i <= PROBES; i++) {
        double flow = law->area * slowest * pow(fastest / slowest, (double)i / PROBES);
        double here = reach_drop(law, flow).head / (flow * flow);
        if (resistance < 0.0) {
            resistance = here;
        } else if (fabs(here - resistance) > quadratic_tolerance * resistance) {
            return -1.0;
        }
    }
    return resistance;
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
    double here = loss_at(loss, difference).head;
    if (here == 0.0 || drop.head == 0.0) {
        return;
    }
    double scale = drop.head / here;
    for (int i = 0; i < 4 * (loss->count + 1); i++) {
        loss->cubics[i] *= scale;
    }
}

bool loss_init(struct loss *loss, const struct loss_law *law, struct arena *arena,
               struct failure *failure)
{
    *loss = (struct loss){.kind = LOSS_NONE};
    double resistance = quadratic_resistance(law);
    if (resistance == 0.0) {
        return true;
    }
    if (resistance > 0.0) {
        loss->kind = LOSS_QUADRATIC;
        loss->curvature = resistance / (law->impedance * law->impedance);
        return true;
    }
    loss->kind = LOSS_TABLE;
    double unit = 2.0 * law->impedance * law->area;
    loss->first_key = key_of(unit * slowest);
    loss->count = (int)(key_of(unit * fastest) - loss->first_key) + 1;
    loss->cubics = arena_take(arena, 4 * ((size_t)loss->count + 1), sizeof *loss->cubics);
    if (loss->cubics == NULL) {
        return fail_memory(failure, "friction tables");
    }
    fill_table(loss, law);
    meet_steady(loss, law);
    return true;
}

static struct drop quadratic(double curvature, double size)
{
    double x = curvature * size;
    double root = sqrt(1.0 + x);
    double divisor = 1.0 + root;
    return (struct drop){.head = x <= loss_series_end ? loss_series(size, x)
                                                      : x * size / (divisor * divisor),
                         .slope = x / (root * divisor)};
}

static inline double table_head(const struct loss *loss, double size)
{
    int64_t key = key_of(size);
    int64_t i = key - loss->first_key;
    if (i >= loss->count) {
        return quadratic(loss->curvature, size).head;
    }
    const double *cubic = loss->cubics + (i < 0 ? 0 : 4 * (i + 1));
    double x = size - (i < 0 ? 0.0 : size_of(key));
    return cubic[0] + x * (cubic[1] + x * (cubic[2] + x * cubic[3]));
}

static struct drop table(const struct loss *loss, double size)
{
    int64_t i = key_of(size) - loss->first_key;
    if (i >= loss->count) {
        return quadratic(loss->curvature, size);
    }
    double x = i < 0 ? size : size - size_of(loss->first_key + i);
    const double *cubic = i < 0 ? loss->cubics : loss->cubics + 4 * (i + 1);
    return (struct drop){
        .head = cubic[0] + x * (cubic[1] + x * (cubic[2] + x * cubic[3])),
        .slope = cubic[1] + x * (2.0 * cubic[2] + x * 3.0 * cubic[3]),
    };
}

struct drop loss_at(const struct loss *loss, double difference)
{
    struct drop drop = {0.0, 0.0};
    double size = fabs(difference);
    if (loss->kind == LOSS_QUADRATIC) {
        drop = quadratic(loss->curvature, size);
    } else if (loss->kind == LOSS_TABLE) {
        drop = table(loss, size);
    }
    if (difference < 0.0) {
        drop.head = -drop.head;
    }
    return drop;
}

EACH_WIDTH
static void quadratic_row(double curvature, int count, const double *restrict difference,
                          double *restrict lost)
{
    for (int i = 0; i < count; i++) {
        double x = curvature * fabs(difference[i]);
        double divisor = 1.0 + sqrt(1.0 + x);
        double closed = x * difference[i] / (divisor * divisor);
        double series = loss_series(difference[i], x);
        lost[i] = x <= loss_series_end ? series : closed;
    }
}

/* Leading bits in which any of the differences is not as the first. */
EACH_WIDTH
static uint64_t find_spread(int count, const double *restrict difference)
{
    uint64_t spread = 0;
    uint64_t first = loss_key(difference[0]);
    for (int i = 0; i < count; i++) {
        spread |= loss_key(difference[i]) ^ first;
    }
    return spread;
}

EACH_WIDTH
static void evaluate_interval(const struct loss_interval *interval, int count,
                              const double *restrict difference, double *restrict lost)
{
    const struct loss_interval here = *interval;
    for (int i = 0; i < count; i++) {
        double x = fabs(difference[i]) - here.start;
        double head = here.cubic[0] + x * (here.cubic[1] + x * (here.cubic[2] + x * here.cubic[3]));
        lost[i] = copysign(head, difference[i]);
    }
}

bool loss_interval_at(const struct loss *loss, double size, struct loss_interval *interval)
{
    int64_t i = key_of(size) - loss->first_key;
    if (i >= loss->count) {
        return false;
    }
    interval->start = i < 0 ? 0.0 : size_of(loss->first_key + i);
    memcpy(interval->cubic, i < 0 ? loss->cubics : loss->cubics + 4 * (i + 1),
           sizeof interval->cubic);
    return true;
}

/* Looked up one by one: machines gather vectors from a table no faster. */
static void table_row(const struct loss *table, int count, const double difference[], double lost[])
{
    struct loss_interval interval;
    if (find_spread(count, difference) == 0 &&
        loss_interval_at(table, fabs(difference[0]), &interval)) {
        evaluate_interval(&interval, count, difference, lost);
        return;
    }
    for (int i = 0; i < count; i++) {
        lost[i] = copysign(table_head(table, fabs(difference[i])), difference[i]);
    }
}

void loss_row(const struct loss *loss, int count, const double difference[], double lost[])
{
    if (loss->kind == LOSS_QUADRATIC) {
        quadratic_row(loss->curvature, count, difference, lost);
        return;
    }
    for (int i = 0; i < count; i += BLOCK) {
        int here = count - i < BLOCK ? count - i : BLOCK;
        if (loss->kind == LOSS_NONE) {
            memset(lost + i, 0, (size_t)here * sizeof *lost);
        } else {
            table_row(loss, here, difference + i, lost + i);
        }
    }
}
