/* Random: whole numbers that look like chance and are the same for the same seed on every machine.
 * xoshiro256** 1.0, its state filled by splitmix64 (Blackman & Vigna, Scrambled linear pseudorandom
 * number generators, ACM TOMS 47, 2021). */
#ifndef SOLVER_STUDY_RANDOM_H
#define SOLVER_STUDY_RANDOM_H

#include <stdint.h>

struct random {
    uint64_t state[4];
};

void random_init(struct random *random, uint64_t seed);

/* The next 64 bits. */
uint64_t random_next(struct random *random);

/* Evenly in (0, 1): never 0, never 1. */
double random_share(struct random *random);

/* Evenly among 0 .. count - 1, count > 0. */
uint64_t random_below(struct random *random, uint64_t count);

#endif
