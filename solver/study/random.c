#include "solver/study/random.h"

static uint64_t splitmix(uint64_t *state)
{
    *state += 0x9e3779b97f4a7c15U;
    uint64_t mixed = *state;
    mixed = (mixed ^ (mixed >> 30)) * 0xbf58476d1ce4e5b9U;
    mixed = (mixed ^ (mixed >> 27)) * 0x94d049bb133111ebU;
    return mixed ^ (mixed >> 31);
}

static uint64_t rotate(uint64_t bits, int by)
{
    return (bits << by) | (bits >> (64 - by));
}

void random_init(struct random *random, uint64_t seed)
{
    for (int i = 0; i < 4; i++) {
        random->state[i] = splitmix(&seed);
    }
}

uint64_t random_next(struct random *random)
{
    uint64_t *s = random->state;
    const uint64_t result = rotate(s[1] * 5, 7) * 9;
    const uint64_t shifted = s[1] << 17;
    s[2] ^= s[0];
    s[3] ^= s[1];
    s[1] ^= s[2];
    s[0] ^= s[3];
    s[2] ^= shifted;
    s[3] = rotate(s[3], 45);
    return result;
}

/* The middle of one of 2^52 equal parts of (0, 1). */
double random_share(struct random *random)
{
    return ((double)(random_next(random) >> 12) + 0.5) * 0x1p-52;
}

/* The first part of the range that does not divide evenly is thrown away. */
uint64_t random_below(struct random *random, uint64_t count)
{
    const uint64_t uneven = (0U - count) % count;
    uint64_t bits = random_next(random);
    while (bits < uneven) {
        bits = random_next(random);
    }
    return bits % count;
}
