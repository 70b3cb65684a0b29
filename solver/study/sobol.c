#include "solver/study/sobol.h"

#include <stdbool.h>

enum { DEGREE_MAX = 8 };

/* Joe & Kuo 2008, rows 1 to 40: the polynomial with all its coefficients as bits, and the first
 * direction numbers m. Row 1 is van der Corput's sequence. */
static const struct {
    uint32_t polynomial;
    uint32_t first[DEGREE_MAX];
} table[SOBOL_DIMENSION_MAX] = {
    /* clang-format off */
    {1, {1}},
    {3, {1}},
    {7, {1, 3}},
    {11, {1, 3, 1}},
    {13, {1, 1, 1}},
    {19, {1, 1, 3, 3}},
    {25, {1, 3, 5, 13}},
    {37, {1, 1, 5, 5, 17}},
    {41, {1, 1, 5, 5, 5}},
    {47, {1, 1, 7, 11, 19}},
    {55, {1, 1, 5, 1, 1}},
    {59, {1, 1, 1, 3, 11}},
    {61, {1, 3, 5, 5, 31}},
    {67, {1, 3, 3, 9, 7, 49}},
    {91, {1, 1, 1, 15, 21, 21}},
    {97, {1, 3, 1, 13, 27, 49}},
    {103, {1, 1, 1, 15, 7, 5}},
    {109, {1, 3, 1, 15, 13, 25}},
    {115, {1, 1, 5, 5, 19, 61}},
    {131, {1, 3, 7, 11, 23, 15, 103}},
    {137, {1, 3, 7, 13, 13, 15, 69}},
    {143, {1, 1, 3, 13, 7, 35, 63}},
    {145, {1, 3, 5, 9, 1, 25, 53}},
    {157, {1, 3, 1, 13, 9, 35, 107}},
    {167, {1, 3, 1, 5, 27, 61, 31}},
    {171, {1, 1, 5, 11, 19, 41, 61}},
    {185, {1, 3, 5, 3, 3, 13, 69}},
    {191, {1, 1, 7, 13, 1, 19, 1}},
    {193, {1, 3, 7, 5, 13, 19, 59}},
    {203, {1, 1, 3, 9, 25, 29, 41}},
    {211, {1, 3, 5, 13, 23, 1, 55}},
    {213, {1, 3, 7, 3, 13, 59, 17}},
    {229, {1, 3, 1, 3, 5, 53, 69}},
    {239, {1, 1, 5, 5, 23, 33, 13}},
    {241, {1, 1, 7, 7, 1, 61, 123}},
    {247, {1, 1, 7, 9, 13, 61, 49}},
    {253, {1, 3, 3, 5, 3, 55, 33}},
    {285, {1, 3, 1, 15, 31, 13, 49, 245}},
    {299, {1, 3, 5, 15, 31, 59, 63, 97}},
    {301, {1, 3, 1, 11, 11, 11, 77, 249}},
    /* clang-format on */
};

static int degree_of(uint32_t polynomial)
{
    int degree = 0;
    while (polynomial >> (degree + 1)) {
        degree++;
    }
    return degree;
}

uint32_t sobol_polynomial(int dimension)
{
    return table[dimension].polynomial;
}

/* m_k = 2 a_1 m_(k-1) ^ 4 a_2 m_(k-2) ^ ... ^ 2^s m_(k-s) ^ m_(k-s), here on v_k = m_k 2^(32-k)
 * (Joe & Kuo 2008, eq. 2). */
static void fill_directions(int dimension, uint32_t direction[SOBOL_BITS])
{
    const uint32_t polynomial = table[dimension].polynomial;
    const int degree = degree_of(polynomial);
    for (int k = 0; k < SOBOL_BITS; k++) {
        if (degree == 0) {
            direction[k] = (uint32_t)1 << (SOBOL_BITS - 1 - k);
        } else if (k < degree) {
            direction[k] = table[dimension].first[k] << (SOBOL_BITS - 1 - k);
        } else {
            uint32_t next = direction[k - degree] ^ (direction[k - degree] >> degree);
            for (int j = 1; j < degree; j++) {
                const bool is_in = (polynomial >> (degree - j)) & 1U;
                next ^= is_in ? direction[k - j] : 0;
            }
            direction[k] = next;
        }
    }
}

void sobol_init(struct sobol *sobol, int dimension_count, struct random *random)
{
    sobol->dimension_count = dimension_count;
    for (int i = 0; i < dimension_count; i++) {
        fill_directions(i, sobol->direction[i]);
        sobol->shift[i] = random ? (uint32_t)(random_next(random) >> 32) : 0;
    }
}

double sobol_share(const struct sobol *sobol, uint32_t index, int dimension)
{
    uint32_t bits = sobol->shift[dimension];
    for (int k = 0; k < SOBOL_BITS && index >> k; k++) {
        bits ^= (index >> k) & 1U ? sobol->direction[dimension][k] : 0;
    }
    return ((double)bits + 0.5) * 0x1p-32;
}
