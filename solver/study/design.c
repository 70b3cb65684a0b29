#include "solver/study/design.h"

#include "solver/study/sobol.h"

#include <math.h>

static int level_count(const struct design *design, int input)
{
    return spread_level_count(&design->spreads[input], design->levels);
}

int design_count(const struct design *design)
{
    int64_t count = 1;
    for (int i = 0; i < design->input_count && count <= DESIGN_VARIANT_MAX; i++) {
        if (design->kind == DESIGN_GRID) {
            count *= level_count(design, i);
        } else if (design->kind == DESIGN_ONE_AT_A_TIME) {
            count += level_count(design, i);
        }
    }
    if (design->kind == DESIGN_LATIN_HYPERCUBE || design->kind == DESIGN_SOBOL) {
        count = design->samples;
    } else if (design->kind == DESIGN_IMPORTANCE) {
        count = (int64_t)design->samples * (design->input_count + 2);
    }
    return count <= DESIGN_VARIANT_MAX ? (int)count : -1;
}

/* The last input changes fastest. */
static void fill_grid(const struct design *design, int count, double *coordinates)
{
    const int inputs = design->input_count;
    for (int row = 0; row < count; row++) {
        int rest = row;
        for (int i = inputs - 1; i >= 0; i--) {
            const int levels = level_count(design, i);
            coordinates[(int64_t)row * inputs + i] =
                spread_level(&design->spreads[i], rest % levels, levels);
            rest /= levels;
        }
    }
}

static void fill_one_at_a_time(const struct design *design, int count, double *coordinates)
{
    const int inputs = design->input_count;
    for (int64_t i = 0; i < (int64_t)count * inputs; i++) {
        coordinates[i] = (double)NAN;
    }
    int row = 1; /* the first is the case as it stands */
    for (int i = 0; i < inputs; i++) {
        const int levels = level_count(design, i);
        for (int level = 0; level < levels; level++, row++) {
            coordinates[(int64_t)row * inputs + i] =
                spread_level(&design->spreads[i], level, levels);
        }
    }
}

/* Each of `count` equal parts of every input is hit once, the parts paired by chance. */
static bool fill_latin(const struct design *design, int count, double *coordinates,
                       struct arena *arena)
{
    struct random random;
    int *part = arena_take(arena, (size_t)count, sizeof *part);
    if (!part) {
        return false;
    }
    random_init(&random, design->seed);
    for (int i = 0; i < design->input_count; i++) {
        for (int row = 0; row < count; row++) {
            const int at = (int)random_below(&random, (uint64_t)row + 1);
            part[row] = part[at];
            part[at] = row;
        }
        for (int row = 0; row < count; row++) {
            const double share = (part[row] + random_share(&random)) / count;
            coordinates[(int64_t)row * design->input_count + i] =
                spread_value(&design->spreads[i], share);
        }
    }
    return true;
}

static void fill_sobol(const struct design *design, int count, double *coordinates)
{
    struct sobol sobol;
    struct random random;
    random_init(&random, design->seed);
    sobol_init(&sobol, design->input_count, &random);
    for (int row = 0; row < count; row++) {
        for (int i = 0; i < design->input_count; i++) {
            coordinates[(int64_t)row * design->input_count + i] =
                spread_value(&design->spreads[i], sobol_share(&sobol, (uint32_t)row, i));
        }
    }
}

static void fill_importance(const struct design *design, double *coordinates)
{
    const int inputs = design->input_count;
    struct sobol sobol;
    struct random random;
    random_init(&random, design->seed);
    sobol_init(&sobol, 2 * inputs, &random);
    for (int sample = 0; sample < design->samples; sample++) {
        double *rows = coordinates + (int64_t)sample * (inputs + 2) * inputs;
        for (int i = 0; i < inputs; i++) {
            const double a =
                spread_value(&design->spreads[i], sobol_share(&sobol, (uint32_t)sample, i));
            const double b = spread_value(&design->spreads[i],
                                          sobol_share(&sobol, (uint32_t)sample, inputs + i));
            for (int row = 0; row < inputs + 2; row++) {
                rows[row * inputs + i] = row == 1 || row == i + 2 ? b : a;
            }
        }
    }
}

double *design_make(const struct design *design, struct arena *arena, struct failure *failure)
{
    const int count = design_count(design);
    double *coordinates =
        count < 0 ? NULL
                  : arena_take(arena, (size_t)count * (size_t)design->input_count, sizeof(double));
    bool is_good = coordinates != NULL;
    switch (design->kind) {
    case DESIGN_GRID:
        if (is_good) {
            fill_grid(design, count, coordinates);
        }
        break;
    case DESIGN_ONE_AT_A_TIME:
        if (is_good) {
            fill_one_at_a_time(design, count, coordinates);
        }
        break;
    case DESIGN_LATIN_HYPERCUBE:
        is_good = is_good && fill_latin(design, count, coordinates, arena);
        break;
    case DESIGN_SOBOL:
        if (is_good) {
            fill_sobol(design, count, coordinates);
        }
        break;
    case DESIGN_IMPORTANCE:
        if (is_good) {
            fill_importance(design, coordinates);
        }
        break;
    }
    if (!is_good) {
        (void)fail_memory(failure, "the variants of the study");
        return NULL;
    }
    return coordinates;
}
