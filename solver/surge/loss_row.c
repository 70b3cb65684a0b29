#include "solver/surge/loss_row.h"

#include "models/each_width.h"
#include "solver/surge/four.h"

#include <math.h>
#include <string.h>

/* Differences looked up at a time: whole fours. */
enum { BLOCK = 32 };

EACH_WIDTH
static void quadratic_row(const struct loss *loss, int count, const double *restrict difference,
                          double *restrict lost)
{
    const struct loss here = *loss;
    for (int i = 0; i < count; i++) {
        double size = fabs(difference[i]);
        double x = here.curvature * size;
        double divisor = 1.0 + sqrt(1.0 + x);
        double closed = x * difference[i] / (divisor * divisor);
        double series = loss_sum(here.series, LOSS_TERMS, difference[i]);
        lost[i] = size <= here.series_end ? series : closed;
    }
}

/* Where differences lie in a table. */
struct places {
    _Alignas(64) double start[BLOCK]; /* m, of each one's interval */
    int64_t cubic[BLOCK];             /* its place among the cubics */
};

/* Finds them; false: some lie beyond the table's end. Behind `count`, up to a whole four, those of
 * rest. */
EACH_WIDTH
static bool find_places(int64_t first_key, int64_t intervals, int count,
                        const double *restrict difference, struct places *restrict places)
{
    int64_t beyond = 0;
    for (int i = 0; i < count; i++) {
        double size = fabs(difference[i]);
        uint64_t bits;
        memcpy(&bits, &size, sizeof bits);
        int64_t found = (int64_t)(bits >> LOSS_KEY_SHIFT) - first_key;
        int64_t is_inside = found < 0 ? 0 : -1; /* all its bits */
        uint64_t start = bits >> LOSS_KEY_SHIFT << LOSS_KEY_SHIFT & (uint64_t)is_inside;
        memcpy(&places->start[i], &start, sizeof start);
        places->cubic[i] = (found + 1) & is_inside;
        beyond |= intervals - 1 - found;
    }
    for (int i = count; i % FOUR != 0; i++) {
        places->start[i] = 0.0;
        places->cubic[i] = 0;
    }
    return beyond >= 0;
}

/* Reads four cubics, each a line of the table, and turns them, so that one kind of coefficient
 * stands in each of `by`: less than to gather them number by number. */
EACH_BODY
static void read_cubics(const double *cubics, const int64_t place[FOUR], four by[FOUR])
{
    four line[FOUR];
    four_load(cubics + FOUR * place[0], &line[0]);
    four_load(cubics + FOUR * place[1], &line[1]);
    four_load(cubics + FOUR * place[2], &line[2]);
    four_load(cubics + FOUR * place[3], &line[3]);
    four_turn(line, by);
}

/* G of four differences, or ratio (d - G(d)). */
EACH_BODY
static void find_four(bool is_driven, double ratio, const double *cubics,
                      const struct places *places, int i, const double difference[FOUR],
                      double wanted[FOUR])
{
    four by[FOUR];
    four d;
    four start;
    four size;
    four_load(difference, &d);
    four_load(&places->start[i], &start);
    read_cubics(cubics, &places->cubic[i], by);
    if (is_driven) {
        by[0] = ratio * (start - by[0]);
        by[1] = ratio * (1.0 - by[1]);
        by[2] = -ratio * by[2];
        by[3] = -ratio * by[3];
    }
    size = d;
    four_size(&size);
    const four x = size - start;
    four found = by[0] + x * (by[1] + x * (by[2] + x * by[3]));
    four_sign(&d, &found);
    four_store(wanted, &found);
}

EACH_BODY
static void find_all(bool is_driven, double ratio, const double *cubics,
                     const struct places *places, int count, const double difference[],
                     double wanted[])
{
    int i = 0;
    for (; i + FOUR <= count; i += FOUR) {
        find_four(is_driven, ratio, cubics, places, i, difference + i, wanted + i);
    }
    if (i < count) {
        double last[FOUR] = {0.0};
        double found[FOUR];
        memcpy(last, difference + i, (size_t)(count - i) * sizeof *last);
        find_four(is_driven, ratio, cubics, places, i, last, found);
        memcpy(wanted + i, found, (size_t)(count - i) * sizeof *wanted);
    }
}

EACH_WIDTH
static void find_lost(const double *cubics, const struct places *places, int count,
                      const double difference[], double lost[])
{
    find_all(false, 0.0, cubics, places, count, difference, lost);
}

EACH_WIDTH
static void find_driven(double ratio, const double *cubics, const struct places *places, int count,
                        const double difference[], double driven[])
{
    find_all(true, ratio, cubics, places, count, difference, driven);
}

static void table_row(const struct loss *table, int count, const double difference[], double lost[])
{
    struct places places;
    if (!find_places(table->first_key, table->count, count, difference, &places)) {
        for (int i = 0; i < count; i++) {
            lost[i] = loss_at(table, difference[i]).head;
        }
        return;
    }
    find_lost(table->cubics, &places, count, difference, lost);
}

static int block_of(int left)
{
    return left < BLOCK ? left : BLOCK;
}

void loss_row(const struct loss *loss, int count, const double difference[], double lost[])
{
    if (loss->kind == LOSS_QUADRATIC) {
        quadratic_row(loss, count, difference, lost);
        return;
    }
    for (int i = 0; i < count; i += BLOCK) {
        const int here = block_of(count - i);
        if (loss->kind == LOSS_NONE) {
            memset(lost + i, 0, (size_t)here * sizeof *lost);
        } else {
            table_row(loss, here, difference + i, lost + i);
        }
    }
}

bool loss_driven_row(const struct loss *table, double ratio, int count, const double difference[],
                     double driven[])
{
    struct places places;
    for (int i = 0; i < count; i += BLOCK) {
        const int here = block_of(count - i);
        if (!find_places(table->first_key, table->count, here, difference + i, &places)) {
            return false;
        }
        find_driven(ratio, table->cubics, &places, here, difference + i, driven + i);
    }
    return true;
}
