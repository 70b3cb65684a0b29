/* A random site of three tanks, two points and five runs, and the ways in which the tests write it
 * down: in other units, with other names, turned, mirrored, scaled, cut. */
#ifndef TESTS_IO_RANDOM_SITE_H
#define TESTS_IO_RANDOM_SITE_H

#include "tests/solver/random_numbers.h"

#include <criterion/criterion.h>
#include <stdarg.h>
#include <stdio.h>

enum { TANKS = 3, POINTS = 2, RUNS = 5, ENDS = TANKS + POINTS, TEXT_ROOM = 6000 };

/* A site, and how it is written down. */
struct world {
    double level[TANKS]; /* m */
    double draw[POINTS]; /* L/s */
    double length[RUNS]; /* m */
    double bore[RUNS];   /* mm */
    double loss[RUNS];   /* K of a fitting in each */
    double scale;        /* of lengths and heads; flows go with its power 2.5 */
    bool has_flap;       /* a non-return valve in run 1 */
    bool has_riser;      /* a non-return valve in run 0, behind its pump */
    bool has_factor;     /* Darcy's factor 0.02 instead of a roughness */
    bool in_other_units;
    bool has_other_names;
    bool is_backward;  /* sections and runs from the last to the first */
    bool is_turned;    /* each run written from its end to its start */
    bool has_dead_leg; /* on point 0 */
    bool is_split;     /* the pipe of run 0 in two halves */
    bool is_moving;    /* tanks have walls, and levels that change */
    double raised;     /* m, everything */
    double speed;      /* rpm of a pump in run 0; 0: none */
    const char *more;  /* sections surge or filling, or "" */
};

struct page {
    char text[TEXT_ROOM];
    size_t used;
};

static const int run_from[RUNS] = {0, 3, 4, 3, 4};
static const int run_to[RUNS] = {3, 4, 1, 2, 2};

__attribute__((format(printf, 2, 3))) static inline void say(struct page *page, const char *form,
                                                             ...)
{
    va_list values;
    va_start(values, form);
    const int length =
        vsnprintf(page->text + page->used, sizeof page->text - page->used, form, values);
    va_end(values);
    page->used += (size_t)length;
    cr_assert_lt(page->used, sizeof page->text);
}

static inline struct world random_world(uint64_t seed)
{
    struct random random;
    struct world world = {.scale = 1, .more = ""};
    random_seed(&random, seed);
    for (int i = 0; i < TANKS; i++) {
        world.level[i] = random_even(&random, 0, 40);
    }
    for (int i = 0; i < POINTS; i++) {
        world.draw[i] = random_pick(&random, 2) ? random_even(&random, -2, 2) : 0;
    }
    for (int i = 0; i < RUNS; i++) {
        world.length[i] = random_spread(&random, 2, 500);
        world.bore[i] = random_spread(&random, 20, 150);
        world.loss[i] = random_spread(&random, 0.1, 20);
    }
    world.has_flap = random_pick(&random, 2);
    return world;
}

/* Levels below a plane instead of above it, and water fed in instead of drawn. */
static inline struct world world_mirrored(struct world world)
{
    for (int i = 0; i < TANKS; i++) {
        world.level[i] = 40 - world.level[i];
    }
    for (int i = 0; i < POINTS; i++) {
        world.draw[i] = -world.draw[i];
    }
    return world;
}

#endif
