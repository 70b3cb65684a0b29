/* Large networks for measurements: points on a square grid, joined by a random tree of grid
 * neighbours and by further neighbours up to the wanted number of links (1.2 a point is usual in
 * supply networks, 2 is the full grid); one tank in 2000 points, draws at two thirds of them, one
 * of the further links in 20 a non-return valve where wanted. Points are numbered row by row and
 * links listed by the points they start from, as somebody would who goes along the streets; or the
 * links stand in random order, as in a table sorted by something else. */
#ifndef TESTS_BENCH_MADE_NETWORK_H
#define TESTS_BENCH_MADE_NETWORK_H

#include "models/network.h"
#include "models/non_return.h"
#include "models/pipe.h"
#include "tests/solver/random_numbers.h"

struct made_network {
    struct network network;
    struct pipe *pipes; /* [link_count], also where a link is a valve */
    struct non_return valve;
    bool has_valves;
    struct random random;
    int *parent;
    int side;
};

enum made_options { MADE_WITH_VALVES = 1, MADE_SHUFFLED = 2 };

extern const struct water made_water;

/* The same numbers give the same network; memory is not given back but by the end of the program.
 */
void made_network_init(struct made_network *made, int points, double density, uint64_t seed,
                       enum made_options options);

#endif
