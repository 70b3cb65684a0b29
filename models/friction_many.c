#include "models/friction_many.h"

#include "models/circle.h"
#include "models/each_width.h"

#include <math.h>
#include <stdint.h>
#include <string.h>

bool friction_digest_make(const struct friction *friction, double viscosity, double gravity,
                          struct friction_digest *digest)
{
    const double bore = friction->bore;
    const double area = circle_area(bore);
    const double relative = fmin(fmax(friction->roughness / bore, 0.0), FRICTION_LARGEST_ROUGHNESS);
    *digest = (struct friction_digest){.scale = 0.0, .reynolds = 1.0, .roughness = 0.0};
    if (friction->factor > 0.0 || friction->hazen_williams > 0.0) {
        return false;
    }
    *digest =
        (struct friction_digest){.scale = friction->length / (2.0 * gravity * bore * area * area),
                                 .reynolds = bore / (viscosity * area),
                                 .roughness = relative / 3.7};
    return true;
}

/* Natural logarithm of a normal number above 0, without branches, to about one unit of the last
 * place: x = 2^k (1 + f), 1 + f between sqrt 1/2 and sqrt 2, s = f/(2 + f),
 *     ln(1 + f) = 2 artanh s = f - (f^2/2 - s (f^2/2 + R)), R = 2 (s^2/3 + s^4/5 + ...),
 * the series cut where it falls below round-off (s^2 <= 0.0295). */
static inline double logarithm(double x)
{
    static const uint64_t one = 0x3ff0000000000000U;
    static const uint64_t root_half = 0x3fe6a09e667f3bcdU; /* the double sqrt 1/2 */
    static const uint64_t fraction = 0x000fffffffffffffU;
    static const uint64_t two_52 = 0x4330000000000000U; /* the double 2^52: an integer as double */
    static const double ln_2_high = 6.93147180369123816490e-01; /* with 21 zero bits at its end */
    static const double ln_2_low = 1.90821492927058770002e-10;
    uint64_t bits;
    memcpy(&bits, &x, sizeof bits);
    bits += one - root_half;
    const uint64_t exponent = (bits >> 52) | two_52;
    const uint64_t rest = (bits & fraction) + root_half;
    double k;
    double m;
    memcpy(&k, &exponent, sizeof k);
    memcpy(&m, &rest, sizeof m);
    k -= 4503599627370496.0 + 1023.0;
    const double f = m - 1.0;
    const double s = f / (2.0 + f);
    const double z = s * s;
    /* in pairs of terms, then fours: the machine works at several at once */
    const double z2 = z * z;
    const double z4 = z2 * z2;
    const double low = (2.0 / 3.0 + z * (2.0 / 5.0)) + z2 * (2.0 / 7.0 + z * (2.0 / 9.0));
    const double mid = (2.0 / 11.0 + z * (2.0 / 13.0)) + z2 * (2.0 / 15.0 + z * (2.0 / 17.0));
    const double series = low + z4 * (mid + z4 * (2.0 / 19.0 + z * (2.0 / 21.0)));
    const double half = 0.5 * f * f;
    return k * ln_2_high - ((half - (s * (half + z * series) + k * ln_2_low)) - f);
}

/* ln(now/before) of numbers less than a fifteenth apart, to round-off:
 *     2 artanh s, s = (now - before)/(now + before), s^2 <= 0.0012. */
static inline double logarithm_of_ratio(double now, double before)
{
    const double s = (now - before) / (now + before);
    const double z = s * s;
    const double low = (2.0 / 3.0 + z * (2.0 / 5.0)) + z * z * (2.0 / 7.0 + z * (2.0 / 9.0));
    const double series = low + z * z * (z * z) * (2.0 / 11.0 + z * (2.0 / 13.0));
    return s * (2.0 + z * series);
}

/* One step of friction.c's method for 1/sqrt f, as F = ln(10)/2 / sqrt f; `log_u` = ln(a + c F). */
static inline double improve(double root, double c, double u, double log_u)
{
    const double p = c / u;
    const double slope = 1.0 + p;
    const double residual = root + log_u;
    const double bend = residual * p * p;
    return root - residual * (slope * slope + 0.5 * bend) /
                      (slope * (slope * slope + bend) + residual * bend * p / 3.0);
}

/* The work goes in blocks, in short loops, so that several turns of each are under way at once,
 * that hold either sums or choices: a compiler makes vectors of each, but not of a choice between
 * sums.
 */
enum { BLOCK = 128 };

struct block {
    double reynolds[BLOCK];
    double held[BLOCK];   /* the same, where it is turbulent; its start elsewhere */
    double c[BLOCK];      /* 2.51 / Reynolds number, in the scale of F */
    double root[BLOCK];   /* F = ln(10)/2 / sqrt f */
    double within[BLOCK]; /* a + c F in Colebrook's logarithm */
    double log[BLOCK];    /* of it */
    double factor[BLOCK]; /* turbulent, then the one that counts */
    double slope[BLOCK];  /* of the factor by Reynolds number */
    double bridge[BLOCK]; /* the factor between both laws, see friction.c */
    double bridge_slope[BLOCK];
    double laminar[BLOCK]; /* s/m2, head per flow */
    double chord[BLOCK];   /* s/m2, the same of the other laws */
    double tangent[BLOCK]; /* s/m2 */
};

EACH_WIDTH
static void find_reynolds(int count, const struct friction_digest *restrict digest,
                          const double *restrict flow, struct block *restrict block)
{
    for (int i = 0; i < count; i++) {
        block->reynolds[i] = fabs(flow[i]) * digest[i].reynolds;
    }
    for (int i = 0; i < count; i++) {
        const double reynolds = block->reynolds[i];
        block->held[i] = reynolds >= FRICTION_TURBULENT_START ? reynolds : FRICTION_TURBULENT_START;
    }
}

/* Colebrook's F from FRICTION_TURBULENT_START on. The start is within a tenth, so that the first
 * step moves a + c F by less than a fifteenth; the second needs no whole logarithm any more. */
EACH_WIDTH
static void find_roots(int count, const struct friction_digest *restrict digest,
                       struct block *restrict block)
{
    for (int i = 0; i < count; i++) {
        block->c[i] = 2.51 / FRICTION_HALF_LN_10 / block->held[i];
        block->root[i] = -logarithm(digest[i].roughness + 8.0 * block->c[i]);
        block->within[i] = digest[i].roughness + block->c[i] * block->root[i];
    }
    for (int i = 0; i < count; i++) {
        block->log[i] = logarithm(block->within[i]);
    }
    for (int i = 0; i < count; i++) {
        block->root[i] = improve(block->root[i], block->c[i], block->within[i], block->log[i]);
    }
    for (int i = 0; i < count; i++) {
        const double now = digest[i].roughness + block->c[i] * block->root[i];
        const double log = block->log[i] + logarithm_of_ratio(now, block->within[i]);
        block->root[i] = improve(block->root[i], block->c[i], now, log);
    }
}

/* Friction factors and their slopes by Reynolds number, turbulent and between both laws. */
EACH_WIDTH
static void find_factors(int count, const struct friction_digest *restrict digest,
                         struct block *restrict block)
{
    const double width = FRICTION_TURBULENT_START - FRICTION_LAMINAR_END;
    const double from = 64.0 / FRICTION_LAMINAR_END;
    const double from_slope = -from / FRICTION_LAMINAR_END * width;
    for (int i = 0; i < count; i++) {
        const double c = block->c[i];
        const double share = FRICTION_HALF_LN_10 / block->root[i];
        const double factor = share * share;
        const double u = digest[i].roughness + c * block->root[i];
        block->factor[i] = factor;
        block->slope[i] = -2.0 * factor * c / (block->held[i] * (u + c));
    }
    for (int i = 0; i < count; i++) {
        const double factor = block->factor[i];
        const double to_slope = block->slope[i] * width;
        const double x = (block->reynolds[i] - FRICTION_LAMINAR_END) * (1.0 / width);
        const double c2 = 3.0 * (factor - from) - 2.0 * from_slope - to_slope;
        const double c3 = 2.0 * (from - factor) + from_slope + to_slope;
        block->bridge[i] = from + x * (from_slope + x * (c2 + x * c3));
        block->bridge_slope[i] = (from_slope + x * (2.0 * c2 + x * 3.0 * c3)) * (1.0 / width);
        block->laminar[i] = digest[i].scale * 64.0 / digest[i].reynolds;
    }
}

EACH_WIDTH
static void choose_factors(int count, struct block *restrict block)
{
    for (int i = 0; i < count; i++) {
        const bool is_turbulent = block->reynolds[i] >= FRICTION_TURBULENT_START;
        const double factor = block->factor[i];
        const double slope = block->slope[i];
        const double bridge = block->bridge[i];
        const double bridge_slope = block->bridge_slope[i];
        block->factor[i] = is_turbulent ? factor : bridge;
        block->slope[i] = is_turbulent ? slope : bridge_slope;
    }
}

EACH_WIDTH
static void find_lines(int count, const struct friction_digest *restrict digest,
                       const double *restrict flow, struct block *restrict block)
{
    for (int i = 0; i < count; i++) {
        const double chord = digest[i].scale * fabs(flow[i]);
        block->chord[i] = chord * block->factor[i];
        block->tangent[i] = chord * (2.0 * block->factor[i] + block->reynolds[i] * block->slope[i]);
    }
}

EACH_WIDTH
static void choose_lines(int count, struct block *restrict block)
{
    for (int i = 0; i < count; i++) {
        const bool is_laminar = block->reynolds[i] <= FRICTION_LAMINAR_END;
        const double laminar = block->laminar[i];
        const double chord = block->chord[i];
        const double tangent = block->tangent[i];
        block->chord[i] = is_laminar ? laminar : chord;
        block->tangent[i] = is_laminar ? laminar : tangent;
    }
}

void friction_many_drops(int count, const struct friction_digest digest[count],
                         const double flow[count], double head[count], double slope[count])
{
    struct block block;
    for (int at = 0; at < count; at += BLOCK) {
        const int some = count - at < BLOCK ? count - at : BLOCK;
        find_reynolds(some, digest + at, flow + at, &block);
        find_roots(some, digest + at, &block);
        find_factors(some, digest + at, &block);
        choose_factors(some, &block);
        find_lines(some, digest + at, flow + at, &block);
        choose_lines(some, &block);
        for (int i = 0; i < some; i++) {
            head[at + i] = block.chord[i] * flow[at + i];
            slope[at + i] = block.tangent[i];
        }
    }
}
