#include "models/friction_many.h"

#include "models/circle.h"
#include "models/each_width.h"

#include <math.h>
#include <stdint.h>
#include <string.h>

/* In comparisons, not calls, as this is asked of every pipe of a network. */
static double between(double value, double low, double high)
{
    const double raised = value > low ? value : low;
    return raised < high ? raised : high;
}

bool friction_digest_make(const struct friction *friction, double viscosity, double gravity,
                          struct friction_digest *digest)
{
    const bool is_rough = !(friction->factor > 0.0) && !(friction->hazen_williams > 0.0);
    const double bore = friction->bore;
    const double area = circle_area(bore);
    const double scale = friction->length / (2.0 * gravity * bore * area * area);
    const double relative = between(friction->roughness / bore, 0.0, FRICTION_LARGEST_ROUGHNESS);
    *digest = (struct friction_digest){.scale = is_rough ? scale : 0.0,
                                       .reynolds = bore / (viscosity * area),
                                       .roughness = relative / 3.7};
    return is_rough;
}

/* x = 2^power (1 + rest) of a normal number above 0, 1 + rest between sqrt 1/2 and sqrt 2. */
struct split {
    double power;
    double rest;
};

static EACH_BODY struct split split(double x)
{
    static const uint64_t one = 0x3ff0000000000000U;
    static const uint64_t root_half = 0x3fe6a09e667f3bcdU; /* the double sqrt 1/2 */
    static const uint64_t fraction = 0x000fffffffffffffU;
    static const uint64_t two_52 = 0x4330000000000000U; /* the double 2^52: an integer as double */
    uint64_t bits;
    memcpy(&bits, &x, sizeof bits);
    bits += one - root_half;
    const uint64_t exponent = (bits >> 52) | two_52;
    const uint64_t rest = (bits & fraction) + root_half;
    double k;
    double m;
    memcpy(&k, &exponent, sizeof k);
    memcpy(&m, &rest, sizeof m);
    return (struct split){k - (4503599627370496.0 + 1023.0), m - 1.0};
}

static const double ln_2_high = 6.93147180369123816490e-01; /* with 21 zero bits at its end */
static const double ln_2_low = 1.90821492927058770002e-10;

/* Natural logarithm without branches, to about one unit of the last place, s = f/(2 + f):
 *     ln(1 + f) = 2 artanh s = f - (f^2/2 - s (f^2/2 + s^2 P)), s^2 P = 2 (s^2/3 + s^4/5 + ...),
 * with P the polynomial in s^2 that misses the series by 3.1e-16 at most (through it at Chebyshev's
 * seven points up to the greatest s^2, 0.0295; computed with 50 digits). */
static EACH_BODY double logarithm(double x)
{
    const struct split parts = split(x);
    const double k = parts.power;
    const double f = parts.rest;
    const double s = f / (2.0 + f);
    const double z = s * s;
    /* in pairs of terms, then fours: the machine works at several at once */
    const double z2 = z * z;
    const double low = (0.66666666666666696862 + z * 0.3999999999989950449) +
                       z2 * (0.28571428625975484921 + z * 0.22222211134795079855);
    const double high =
        0.1818288912526172208 + z * 0.15331721600556041269 + z2 * 0.1461644968504340586;
    const double series = low + z2 * z2 * high;
    const double half = 0.5 * f * f;
    return k * ln_2_high - ((half - (s * (half + z * series) + k * ln_2_low)) - f);
}

/* The same within 1.4e-4: f times the polynomial through ln(1 + f)/f at Chebyshev's four points
 * (computed). */
static EACH_BODY double rough_logarithm(double x)
{
    const struct split parts = split(x);
    const double f = parts.rest;
    const double f2 = f * f;
    const double low = 0.999731068 - 0.502323656 * f;
    const double high = 0.353632072 - 0.223625632 * f;
    return parts.power * ln_2_high + f * (low + f2 * high);
}

/* Change of F = ln(10)/2 / sqrt f by one step of friction.c's method, with `within` = a/c + F and
 * `inverse` = 1/(within + 1). */
static EACH_BODY double improve(double within, double inverse, double residual)
{
    const double step = residual * inverse;
    return step * within * (1.0 - 0.5 * step * inverse);
}

/* The work goes in blocks, in short loops, so that several turns of each are under way at once,
 * that hold either sums or choices: a compiler makes vectors of each, but not of a choice between
 * sums.
 */
enum { BLOCK = 128 };

struct block {
    double reynolds[BLOCK];
    double held[BLOCK];    /* the same, where it is turbulent; its start elsewhere */
    double c[BLOCK];       /* 2.51 / Reynolds number, in the scale of F */
    double ratio[BLOCK];   /* a/c in Colebrook's logarithm of a + c F */
    double root[BLOCK];    /* F = ln(10)/2 / sqrt f */
    double log[BLOCK];     /* of a + c F */
    double share[BLOCK];   /* of the slope of the factor: 1/(a/c + F + 1) */
    double factor[BLOCK];  /* turbulent, then the one that counts */
    double growth[BLOCK];  /* tangent/chord */
    double bridge[BLOCK];  /* the factor between both laws, see friction.c */
    double bending[BLOCK]; /* tangent/chord of it, times the factor */
    double laminar[BLOCK]; /* s/m2, head per flow */
    double chord[BLOCK];   /* s/m2, the same of the other laws */
    double tangent[BLOCK]; /* s/m2 */
};

/* Returns how many are not turbulent. */
EACH_WIDTH
static int find_reynolds(int count, const struct friction_digest *restrict digest,
                         const double *restrict flow, struct block *restrict block)
{
    int others = 0;
    for (int i = 0; i < count; i++) {
        block->reynolds[i] = fabs(flow[i]) * digest[i].reynolds;
    }
    for (int i = 0; i < count; i++) {
        const double reynolds = block->reynolds[i];
        block->held[i] = reynolds >= FRICTION_TURBULENT_START ? reynolds : FRICTION_TURBULENT_START;
        others += reynolds >= FRICTION_TURBULENT_START ? 0 : 1;
    }
    return others;
}

/* Colebrook's F from FRICTION_TURBULENT_START on. The start is at most ln(25/8) off, and four
 * orders better after a step; so the first one may make do with a rough logarithm. */
EACH_WIDTH
static void find_roots(int count, const struct friction_digest *restrict digest,
                       struct block *restrict block)
{
    const double scale = 2.51 / FRICTION_HALF_LN_10;
    for (int i = 0; i < count; i++) {
        block->c[i] = scale / block->held[i];
        block->ratio[i] = digest[i].roughness * block->held[i] * (1.0 / scale);
    }
    for (int i = 0; i < count; i++) {
        const double root = -rough_logarithm(block->c[i] * (block->ratio[i] + 8.0));
        block->root[i] = root;
        block->share[i] = 1.0 / (block->ratio[i] + root + 1.0);
    }
    for (int i = 0; i < count; i++) {
        const double within = block->ratio[i] + block->root[i];
        block->log[i] = rough_logarithm(block->c[i] * within);
    }
    for (int i = 0; i < count; i++) {
        const double root = block->root[i];
        const double residual = root + block->log[i];
        const double better = root - improve(block->ratio[i] + root, block->share[i], residual);
        block->root[i] = better;
        block->share[i] = 1.0 / (block->ratio[i] + better + 1.0);
    }
    for (int i = 0; i < count; i++) {
        const double within = block->ratio[i] + block->root[i];
        block->log[i] = logarithm(block->c[i] * within);
    }
    for (int i = 0; i < count; i++) {
        const double root = block->root[i];
        const double inverse = block->share[i];
        const double change = improve(block->ratio[i] + root, inverse, root + block->log[i]);
        const double moved = inverse * change; /* 1e-5 at most: two terms of a series will do */
        block->root[i] = root - change;
        block->share[i] = inverse * (1.0 + moved * (1.0 + moved));
    }
}

/* Friction factors, and how much steeper than the chord the law is. */
EACH_WIDTH
static void find_factors(int count, struct block *restrict block)
{
    for (int i = 0; i < count; i++) {
        const double share = FRICTION_HALF_LN_10 / block->root[i];
        block->factor[i] = share * share;
        block->growth[i] = 2.0 - 2.0 * block->share[i];
    }
}

/* The same between both laws, where `factor` is that of the turbulent start, and laminar. */
EACH_WIDTH
static void find_others(int count, const struct friction_digest *restrict digest,
                        struct block *restrict block)
{
    const double width = FRICTION_TURBULENT_START - FRICTION_LAMINAR_END;
    const double from = 64.0 / FRICTION_LAMINAR_END;
    const double from_slope = -from / FRICTION_LAMINAR_END * width;
    for (int i = 0; i < count; i++) {
        const double factor = block->factor[i];
        const double to_slope =
            -2.0 * factor * block->share[i] * (width / FRICTION_TURBULENT_START);
        const double x = (block->reynolds[i] - FRICTION_LAMINAR_END) * (1.0 / width);
        const double c2 = 3.0 * (factor - from) - 2.0 * from_slope - to_slope;
        const double c3 = 2.0 * (from - factor) + from_slope + to_slope;
        const double slope = (from_slope + x * (2.0 * c2 + x * 3.0 * c3)) * (1.0 / width);
        block->bridge[i] = from + x * (from_slope + x * (c2 + x * c3));
        block->bending[i] = 2.0 * block->bridge[i] + block->reynolds[i] * slope;
        block->laminar[i] = digest[i].scale * 64.0 / digest[i].reynolds;
    }
}

EACH_WIDTH
static void find_lines(int count, const struct friction_digest *restrict digest,
                       const double *restrict flow, struct block *restrict block)
{
    for (int i = 0; i < count; i++) {
        const double chord = digest[i].scale * fabs(flow[i]);
        block->chord[i] = chord * block->factor[i];
        block->tangent[i] = block->chord[i] * block->growth[i];
        block->bridge[i] *= chord;
        block->bending[i] *= chord;
    }
}

EACH_WIDTH
static void choose_lines(int count, struct block *restrict block)
{
    for (int i = 0; i < count; i++) {
        const double reynolds = block->reynolds[i];
        const bool is_turbulent = reynolds >= FRICTION_TURBULENT_START;
        const bool is_laminar = reynolds <= FRICTION_LAMINAR_END;
        const double laminar = block->laminar[i];
        const double chord = block->chord[i];
        const double tangent = block->tangent[i];
        const double bridge = block->bridge[i];
        const double bending = block->bending[i];
        const double low = is_laminar ? laminar : bridge;
        const double low_slope = is_laminar ? laminar : bending;
        block->chord[i] = is_turbulent ? chord : low;
        block->tangent[i] = is_turbulent ? tangent : low_slope;
    }
}

void friction_many_drops(int count, const struct friction_digest digest[count],
                         const double flow[count], double head[count], double slope[count])
{
    struct block block;
    for (int at = 0; at < count; at += BLOCK) {
        const int some = count - at < BLOCK ? count - at : BLOCK;
        const int others = find_reynolds(some, digest + at, flow + at, &block);
        find_roots(some, digest + at, &block);
        find_factors(some, &block);
        if (others > 0) {
            find_others(some, digest + at, &block);
        }
        find_lines(some, digest + at, flow + at, &block);
        if (others > 0) {
            choose_lines(some, &block);
        }
        for (int i = 0; i < some; i++) {
            head[at + i] = block.chord[i] * flow[at + i];
            slope[at + i] = block.tangent[i];
        }
    }
}
