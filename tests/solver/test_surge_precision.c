/* Error bands: the observed order where theory gives one, and random sites whose bands must hold
 * the answer of a much finer grid (own runs: no outside source is needed to compare grids).
 * BAND_SITES in the environment: so many sites for each precision, and the share is told; see
 * scripts/property. */
#include "models/fitting.h"
#include "solver/surge/precision.h"
#include "tests/solver/laboratory.h"
#include "tests/solver/surge_rig_start.h"

#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>

/* A linear congruential sequence (Knuth, MMIX): 0 to 1, the same on every machine. */
static double draw(uint64_t *seed)
{
    *seed = *seed * 6364136223846793005u + 1442695040888963407u;
    return (double)(*seed >> 11) / 9007199254740992.0;
}

static double between(uint64_t *seed, double low, double high)
{
    return low + (high - low) * draw(seed);
}

struct random_site {
    struct rig rig;
    struct rig_valve taps[2];
    struct fitting bend;
};

static int add_random_pipe(struct random_site *site, uint64_t *seed, int from, int to)
{
    struct rig *rig = &site->rig;
    double bore = between(seed, 0.04, 0.12);
    int link = rig_add_pipe(rig, from, to, between(seed, 20.0, 300.0), 0.785398 * bore * bore,
                            between(seed, 250.0, 1200.0), 0.0);
    rig->pipes[link].friction.roughness = between(seed, 0.0, 2e-4);
    rig->links[link].element = &pipe_element;
    return link;
}

/* A tank feeds, through a row of pipes with a branch here and a bend there, one or two taps to the
 * air, one of which is shut or opened in some time. */
static void make_site(struct random_site *site, uint64_t *seed)
{
    struct rig *rig = &site->rig;
    rig_open(rig, between(seed, 3.0, 10.0));
    int tank = rig_add_tank(rig, between(seed, 20.0, 60.0));
    int air = rig_add_tank(rig, 0.0);
    int middle = rig_add_point(rig, 10.0);
    int end = rig_add_point(rig, 10.0);
    add_random_pipe(site, seed, tank, middle);
    add_random_pipe(site, seed, middle, end);
    site->taps[0].capacity = between(seed, 2e-4, 1.5e-3);
    site->taps[1].capacity = between(seed, 1e-4, 5e-4);
    site->bend = (struct fitting){.area = 0.004, .loss = 2.0, .loss_back = 2.0};
    int last = end;
    if (draw(seed) < 0.5) {
        last = rig_add_point(rig, 10.0);
        rig_add_link(rig, end, last, 0.004, &fitting_element, &site->bend, 0.0);
    }
    if (draw(seed) < 0.7) {
        int branch = rig_add_point(rig, 10.0);
        add_random_pipe(site, seed, middle, branch);
        rig_add_link(rig, branch, air, 0.004, &rig_valve_element, &site->taps[1], 0.0);
    }
    int tap = rig_add_link(rig, last, air, 0.004, &rig_valve_element, &site->taps[0], 0.0);
    double closing = draw(seed) < 0.3 ? 0.0 : between(seed, 0.02, 2.0);
    rig_add_event(rig, SURGE_EVENT_SET, 0.1, tap, draw(seed) < 0.7 ? 0.0 : 0.3, closing);
    rig_solve_start(rig);
    rig->options.series_limit = 100;
}

/* Counts the peaks and troughs at points, and those whose band holds the finer grid's. */
static void count_held(struct rig *rig, enum precision precision, int refinement, int *count,
                       int *held)
{
    struct surge coarse;
    struct surge fine;
    cr_assert(surge_run_precisely(&rig->site, &rig->network, &rig->start, &rig->options, precision,
                                  &coarse, rig->arena, &rig->failure));
    rig->options.refinement = refinement;
    cr_assert(surge_run_plan(&rig->site, &rig->network, &rig->start, &rig->options, &fine,
                             rig->arena, &rig->failure));
    cr_assert_eq(coarse.grid_count, precision == PRECISION_NORMAL ? 2 : 3);
    for (int i = 0; i < rig->network.point_count; i++) {
        if (!rig->points[i].is_held) {
            *count += 2;
            *held += fabs(coarse.head_max[i] - fine.head_max[i]) <= coarse.head_max_band[i] + 1e-9;
            *held += fabs(coarse.head_min[i] - fine.head_min[i]) <= coarse.head_min_band[i] + 1e-9;
        }
    }
}

static void check_bands(enum precision precision, int sites, uint64_t seed)
{
    int count = 0;
    int held = 0;
    const char *wanted = getenv("BAND_SITES");
    sites = wanted ? atoi(wanted) : sites;
    cr_assert_gt(sites, 0, "BAND_SITES: a whole number above 0 is expected");
    for (int i = 0; i < sites; i++) {
        struct random_site site;
        make_site(&site, &seed);
        count_held(&site.rig, precision, 12, &count, &held);
        rig_close(&site.rig);
    }
    if (wanted) {
        printf("%d sites, %d grids: %d of %d peaks and troughs within their band, %.1f %%\n", sites,
               precision == PRECISION_NORMAL ? 2 : 3, held, count, 100.0 * held / count);
        fflush(stdout);
    }
    cr_expect_geq(held, 0.95 * count, "%d of %d", held, count);
}

Test(surge_precision, bands_of_two_grids_hold_the_finer_answer)
{
    check_bands(PRECISION_NORMAL, SHORT_RUNS ? 6 : 30, 1);
}

Test(surge_precision, bands_of_three_grids_hold_the_finer_answer)
{
    check_bands(PRECISION_FINE, SHORT_RUNS ? 2 : 10, 2);
}

/* Flow stopped at once in a pipe with friction: the head at the valve goes on rising until the wave
 * is back, and the last instant before it is one step early: an error of the first order. */
Test(surge_precision, order_is_observed_on_three_grids)
{
    struct rig rig;
    struct rig_valve valve;
    struct laboratory pipe = {200.0, 0.05, 400.0, 1e-6, 1.0, 40.0, 0.0, 0.0, NULL, 16, 4.0};
    struct surge surge;
    laboratory_open(&rig, &pipe, &valve);
    cr_assert(surge_run_precisely(&rig.site, &rig.network, &rig.start, &rig.options, PRECISION_FINE,
                                  &surge, rig.arena, &rig.failure));
    cr_expect_eq(surge.grid_count, 3);
    cr_expect(fabs(surge.order - 1.0) < 0.1, "%g", surge.order);
    cr_expect_not_null(surge.head_max_band);
    cr_assert(surge_run_precisely(&rig.site, &rig.network, &rig.start, &rig.options,
                                  PRECISION_QUICK, &surge, rig.arena, &rig.failure));
    cr_expect_eq(surge.grid_count, 1);
    cr_expect_null(surge.head_max_band);
    rig_close(&rig);
}
