/* Limit kit: each number of an element within the limits that its check promises, taken one by one:
 * on a limit, a hair to either side of it, infinite, and no number at all. */
#ifndef TESTS_MODELS_LIMIT_KIT_H
#define TESTS_MODELS_LIMIT_KIT_H

#include <criterion/criterion.h>
#include <math.h>
#include <stdbool.h>
#include <stddef.h>
#include <string.h>

enum limit_ends { LIMIT_OPEN, LIMIT_LEAST_IN, LIMIT_MOST_IN, LIMIT_BOTH_IN };

struct limit {
    size_t at; /* offsetof the number */
    double least;
    double most; /* HUGE_VAL: any finite number */
    enum limit_ends ends;
};

typedef bool (*limit_accepts)(const void *data);

enum { LIMIT_SIZE_MAX = 8192 };

static inline bool limit_with(limit_accepts accepts, const void *good, size_t size, size_t at,
                              double value)
{
    _Alignas(16) unsigned char copy[LIMIT_SIZE_MAX];
    cr_assert(size <= sizeof copy && at + sizeof value <= size);
    memcpy(copy, good, size);
    memcpy(copy + at, &value, sizeof value);
    return accepts(copy);
}

/* `good`, `size` bytes, is accepted; with each number in turn at and about its limits it is
 * accepted or refused as they say. */
static inline void limits_hold(limit_accepts accepts, const void *good, size_t size,
                               const struct limit limits[], size_t count)
{
    cr_assert(accepts(good));
    for (size_t i = 0; i < count; i++) {
        const struct limit *limit = &limits[i];
        const bool least_in = limit->ends == LIMIT_LEAST_IN || limit->ends == LIMIT_BOTH_IN;
        const bool most_in = limit->ends == LIMIT_MOST_IN || limit->ends == LIMIT_BOTH_IN;
        const struct {
            double value;
            bool is_good;
        } tries[] = {{(double)NAN, false},
                     {(double)INFINITY, false},
                     {-(double)INFINITY, false},
                     {limit->least, isfinite(limit->least) && least_in},
                     {nextafter(limit->least, -HUGE_VAL), false},
                     {nextafter(limit->least, HUGE_VAL), true},
                     {limit->most, isfinite(limit->most) && most_in},
                     {nextafter(limit->most, -HUGE_VAL), true},
                     {nextafter(limit->most, HUGE_VAL), false}};
        for (size_t k = 0; k < sizeof tries / sizeof tries[0]; k++) {
            cr_expect_eq(limit_with(accepts, good, size, limit->at, tries[k].value),
                         tries[k].is_good, "number at %zu: %.17g", limit->at, tries[k].value);
        }
    }
}

#endif
