/* Random numbers from a seed (xorshift64*, Vigna 2016), the same on every machine. */
#ifndef TESTS_SOLVER_RANDOM_NUMBERS_H
#define TESTS_SOLVER_RANDOM_NUMBERS_H

#include <math.h>
#include <stdint.h>

struct random {
    uint64_t state;
};

static inline uint64_t random_bits(struct random *random)
{
    random->state ^= random->state >> 12;
    random->state ^= random->state << 25;
    random->state ^= random->state >> 27;
    return random->state * 2685821657736338717ULL;
}

static inline void random_seed(struct random *random, uint64_t seed)
{
    random->state = seed * 0x9E3779B97F4A7C15ULL + 1;
    (void)random_bits(random);
}

/* Even between two ends. */
static inline double random_even(struct random *random, double low, double high)
{
    return low + (high - low) * (double)(random_bits(random) >> 11) * 0x1p-53;
}

/* Even in the logarithm. */
static inline double random_spread(struct random *random, double low, double high)
{
    return exp(random_even(random, log(low), log(high)));
}

/* 0 to count - 1. */
static inline int random_pick(struct random *random, int count)
{
    return (int)(random_bits(random) % (uint64_t)count);
}

#endif
