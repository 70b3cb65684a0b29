/* Error bands: the observed order where theory gives one, and random sites whose bands must hold
 * the answer of a much finer grid (own runs: no outside source is needed to compare grids): pipes
 * whose taps are moved, and pumps that lose their power behind valves of all kinds.
 * BAND_SITES in the environment: so many sites for each precision, and the share is told; see
 * scripts/property. */
#include "models/circle.h"
#include "models/fitting.h"
#include "solver/surge/precision.h"
#include "tests/solver/laboratory.h"
#include "tests/solver/surge_rig_lift.h"

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
    struct lift lift; /* its rig; pump and valve where water is lifted */
    struct rig_valve taps[2];
    struct fitting bend;
};

static int add_random_pipe(struct rig *rig, uint64_t *seed, int from, int to, double length)
{
    double bore = between(seed, 0.04, 0.12);
    int link =
        rig_add_pipe(rig, from, to, length, circle_area(bore), between(seed, 250.0, 1200.0), 0.0);
    rig->pipes[link].friction.roughness = between(seed, 0.0, 2e-4);
    rig->links[link].element = &pipe_element;
    return link;
}

/* A tank feeds, through a row of pipes with a branch here and a bend there, one or two taps to the
 * air, one of which is shut or opened in some time. */
static void make_taps(struct random_site *site, uint64_t *seed)
{
    struct rig *rig = &site->lift.rig;
    rig_open(rig, between(seed, 3.0, 10.0));
    int tank = rig_add_tank(rig, between(seed, 20.0, 60.0));
    int air = rig_add_tank(rig, 0.0);
    int middle = rig_add_point(rig, 10.0);
    int end = rig_add_point(rig, 10.0);
    add_random_pipe(rig, seed, tank, middle, between(seed, 20.0, 300.0));
    add_random_pipe(rig, seed, middle, end, between(seed, 20.0, 300.0));
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
        add_random_pipe(rig, seed, middle, branch, between(seed, 20.0, 300.0));
        rig_add_link(rig, branch, air, 0.004, &rig_valve_element, &site->taps[1], 0.0);
    }
    int tap = rig_add_link(rig, last, air, 0.004, &rig_valve_element, &site->taps[0], 0.0);
    double closing = draw(seed) < 0.3 ? 0.0 : between(seed, 0.02, 2.0);
    rig_add_event(rig, SURGE_EVENT_SET, 0.1, tap, draw(seed) < 0.7 ? 0.0 : 0.3, closing);
}

/* A pump loses its power and a valve of any kind behind it shuts: sump, suction pipe, pump, valve,
 * short pipe or none, one or two mains, tank. */
static void make_lift(struct random_site *site, uint64_t *seed)
{
    struct lift *lift = &site->lift;
    struct rig *rig = &lift->rig;
    int kind = (int)(draw(seed) * non_return_type_count());
    lift_open(lift, non_return_type_at(kind)->name, between(seed, 3.0, 8.0));
    lift->pump.inertia *= between(seed, 0.5, 4.0);
    int sump = rig_add_tank(rig, 0.0);
    int inlet = rig_add_point(rig, 0.0);
    int outlet = rig_add_point(rig, 0.0);
    int main = rig_add_point(rig, 0.0);
    int tank = rig_add_tank(rig, between(seed, 6.0, 18.0));
    add_random_pipe(rig, seed, sump, inlet, between(seed, 0.5, 8.0));
    int pump = rig_add_link(rig, inlet, outlet, 0.002, &pump_element, &lift->unit, 0.0);
    rig->valve = (struct valve_place){.pump_link = pump};
    rig->valve.link =
        rig_add_link(rig, outlet, main, circle_area(0.05), &non_return_element, &lift->valve, 0.0);
    rig->site.valves = &rig->valve;
    rig->site.valve_count = 1;
    for (int more = draw(seed) < 0.7 ? 1 : 0; more >= 0 && draw(seed) < 0.7; more--) {
        int next = rig_add_point(rig, 0.0);
        double length = more == 1 ? between(seed, 0.2, 10.0) : between(seed, 20.0, 200.0);
        add_random_pipe(rig, seed, main, next, length);
        main = next;
    }
    add_random_pipe(rig, seed, main, tank, between(seed, 20.0, 200.0));
    rig_add_event(rig, SURGE_EVENT_STOP, 0.1, pump, 0.0, 0.0);
}

/* Reported values, and those whose band holds the finer grid's. */
struct share {
    int count;
    int held;
};

static bool add_value(struct share *share, double coarse, double band, double fine)
{
    bool is_held = fabs(coarse - fine) <= band + 1e-9;
    share->count++;
    share->held += is_held;
    return is_held;
}

enum { HEADS, REVERSE, SLAM, FIRST_REVERSE, FIRST_SLAM, VALUE_KINDS };

static void add_valve(struct share shares[VALUE_KINDS], const struct surge_valve *coarse,
                      const struct surge_valve *fine)
{
    if (!coarse->has_shut || !fine->has_shut) {
        return;
    }
    add_value(&shares[REVERSE], coarse->reverse_velocity, coarse->reverse_velocity_band,
              fine->reverse_velocity);
    add_value(&shares[SLAM], coarse->slam_head, coarse->slam_head_band, fine->slam_head);
    add_value(&shares[FIRST_REVERSE], coarse->first_reverse_velocity,
              coarse->first_reverse_velocity_band, fine->first_reverse_velocity);
    add_value(&shares[FIRST_SLAM], coarse->first_slam_head, coarse->first_slam_head_band,
              fine->first_slam_head);
}

static void count_held(struct rig *rig, enum precision precision, int refinement,
                       struct share shares[VALUE_KINDS])
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
            add_value(&shares[HEADS], coarse.head_max[i], coarse.head_max_band[i],
                      fine.head_max[i]);
            add_value(&shares[HEADS], coarse.head_min[i], coarse.head_min_band[i],
                      fine.head_min[i]);
        }
    }
    for (int i = 0; i < coarse.valve_count; i++) {
        add_valve(shares, &coarse.valves[i], &fine.valves[i]);
    }
}

typedef void (*make_site)(struct random_site *site, uint64_t *seed);

static void check_bands(make_site make, enum precision precision, int sites, uint64_t seed)
{
    static const char *const names[VALUE_KINDS] = {"peaks and troughs", "reverse velocities",
                                                   "slams", "first reverse velocities",
                                                   "first slams"};
    struct share shares[VALUE_KINDS] = {{0}};
    const char *wanted = getenv("BAND_SITES");
    sites = wanted ? atoi(wanted) : sites;
    cr_assert_gt(sites, 0, "BAND_SITES: a whole number above 0 is expected");
    for (int i = 0; i < sites; i++) {
        struct random_site site;
        make(&site, &seed);
        rig_solve_start(&site.lift.rig);
        site.lift.rig.options.series_limit = 100;
        count_held(&site.lift.rig, precision, wanted ? 12 : 8, shares);
        rig_close(&site.lift.rig);
    }
    for (int k = 0; k < VALUE_KINDS; k++) {
        const struct share *share = &shares[k];
        if (wanted && share->count > 0) {
            printf("%d %s, %d grids: %d of %d %s within their band, %.1f %%\n", sites,
                   make == make_lift ? "lifts" : "sites", precision == PRECISION_NORMAL ? 2 : 3,
                   share->held, share->count, names[k], 100.0 * share->held / share->count);
            fflush(stdout);
        }
        /* Of few values one may lie outside by chance. */
        cr_expect(share->held >= 0.95 * share->count - (wanted ? 0 : 1), "%s: %d of %d", names[k],
                  share->held, share->count);
    }
}

Test(surge_precision, bands_of_two_grids_hold_the_finer_answer)
{
    check_bands(make_taps, PRECISION_NORMAL, SHORT_RUNS ? 1 : 12, 1);
}

Test(surge_precision, bands_of_three_grids_hold_the_finer_answer)
{
    check_bands(make_taps, PRECISION_FINE, SHORT_RUNS ? 1 : 4, 2);
}

Test(surge_precision, bands_of_two_grids_hold_behind_a_pump_that_stops)
{
    check_bands(make_lift, PRECISION_NORMAL, SHORT_RUNS ? 1 : 5, 3);
}

Test(surge_precision, bands_of_three_grids_hold_behind_a_pump_that_stops)
{
    check_bands(make_lift, PRECISION_FINE, SHORT_RUNS ? 1 : 2, 4);
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
