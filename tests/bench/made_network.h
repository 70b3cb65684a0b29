/* Large networks for measurements: points on a square grid, joined by a random tree of grid
 * neighbours and by further neighbours up to the wanted number of links (1.2 a point is usual in
 * supply networks, 2 is the full grid); one tank in 2000 points, draws at two thirds of them, one
 * of the further links in 20 a non-return valve where wanted. */
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

extern const struct water made_water;

/* The same numbers give the same network; memory is not given back but by the end of the program.
 */
void made_network_init(struct made_network *made, int points, double density, uint64_t seed,
                       bool has_valves);

#endif
