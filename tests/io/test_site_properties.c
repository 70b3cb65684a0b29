/* What must hold of any site, whatever its numbers: two ways to write the same site give the same
 * flows, and a site that is a scaled or turned image of another gives the image of its flows.
 * Random sites of three tanks, two points and five runs, read from text as a person would write it.
 *     site_properties: 40 sites in ctest; PROPERTY_SITES in the environment asks for others.
 * The laws are exact (symmetry of the equations; affinity and Froude's law follow from heads that
 * go with the square of the flow), so tolerances are those of the solver's residuals alone. */
#include "io/door/door.h"
#include "solver/filling/filling.h"
#include "solver/surge/surge.h"
#include "tests/io/random_site_text.h"

#include <criterion/criterion.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* Of the largest flow; residuals of 1e-11 m over the least slopes drawn here. */
static const double ROUNDING = 1e-7;

struct answer {
    double flow[RUNS];
    double largest;
};

struct bench {
    struct arena *arena;
    struct units *units;
    struct site *site;
    struct steady steady;
};

static void bench_solve(struct bench *bench, const struct world *world)
{
    static struct page page;
    struct faults faults;
    struct failure failure = {0};
    say_world(&page, world);
    bench->arena = arena_new();
    bench->units = bench->units ? bench->units : units_new(&failure);
    faults_init(&faults, bench->arena);
    const struct tree *root = tree_read("site", page.text, page.used, bench->arena, &faults);
    if (!read_site_tree("site", page.text, root, bench->units, NULL, bench->arena, &bench->site,
                        &faults)) {
        cr_assert_fail("%s\n%s", faults_first(&faults)->message, page.text);
    }
    struct steady_solver *solver = steady_solver_new(bench->site->network, &failure);
    cr_assert(solver && steady_init(&bench->steady, bench->site->network, bench->arena, &failure));
    cr_assert(steady_solve(solver, bench->site->network, &bench->site->water, &steady_defaults,
                           &bench->steady, &failure));
    cr_assert_eq(bench->steady.ending, STEADY_CONVERGED, "%s\n%s",
                 steady_ending_text(bench->steady.ending), page.text);
    steady_solver_free(solver);
}

/* Flow of each run in the direction of the tables above, m3/s. */
static struct answer flows_of(struct bench *bench, const struct world *world)
{
    struct answer answer = {.largest = 0};
    bench_solve(bench, world);
    const struct network *network = bench->site->network;
    for (int run = 0; run < RUNS; run++) {
        char name[20];
        (void)snprintf(name, sizeof name, "pipe%d", run);
        for (int i = 0; i < network->link_count; i++) {
            if (strcmp(network->links[i].name, name) == 0) {
                answer.flow[run] = bench->steady.flow[i] * (world->is_turned ? -1 : 1);
            }
        }
        answer.largest = fmax(answer.largest, fabs(answer.flow[run]));
    }
    arena_free(bench->arena);
    return answer;
}

static void expect_same(uint64_t seed, const char *what, const struct answer *one,
                        const struct answer *other, double factor)
{
    for (int run = 0; run < RUNS; run++) {
        const double gap = fabs(other->flow[run] - factor * one->flow[run]);
        cr_expect_leq(gap, ROUNDING * fabs(factor) * one->largest,
                      "seed %d, %s: run %d %.12g, not %.12g", (int)seed, what, run,
                      other->flow[run], factor * one->flow[run]);
    }
}

static int site_count(void)
{
    const char *asked = getenv("PROPERTY_SITES");
    const int count = asked ? (int)strtol(asked, NULL, 10) : 0;
    return count > 0 ? count : SHORT_RUNS ? 8 : 40;
}

/* Calls `check` with each random site. */
static void each_site(void (*check)(struct bench *bench, uint64_t seed, struct world world,
                                    const struct answer *plain))
{
    struct bench bench = {0};
    const int count = site_count();
    for (uint64_t seed = 1; seed <= (uint64_t)count; seed++) {
        const struct world world = random_world(seed);
        const struct answer plain = flows_of(&bench, &world);
        cr_assert_gt(plain.largest, 0);
        check(&bench, seed, world, &plain);
    }
    units_free(bench.units);
}

static void check_writing(struct bench *bench, uint64_t seed, struct world world,
                          const struct answer *plain)
{
    struct world other = world;
    other.in_other_units = true;
    struct answer answer = flows_of(bench, &other);
    expect_same(seed, "other units", plain, &answer, 1);
    other = world;
    other.has_other_names = true;
    answer = flows_of(bench, &other);
    for (int run = 0; run < RUNS; run++) {
        cr_expect_eq(answer.flow[run], plain->flow[run], "a name changes a digit");
    }
    other.is_backward = true;
    answer = flows_of(bench, &other);
    expect_same(seed, "other names and order", plain, &answer, 1);
}

Test(site_properties, units_names_and_order_do_not_matter)
{
    each_site(check_writing);
}

/* With levels below a plane instead of above it, every flow turns. Also when only the runs are
 * written from their other ends. Valves that know a direction are left out. */
static void check_mirror(struct bench *bench, uint64_t seed, struct world world,
                         const struct answer *plain)
{
    struct world other = world;
    other.has_flap = false;
    const struct answer free = flows_of(bench, &other);
    (void)plain;
    other.is_turned = true;
    struct answer answer = flows_of(bench, &other);
    expect_same(seed, "runs turned", &free, &answer, 1);
    other.is_turned = false;
    other = world_mirrored(other);
    answer = flows_of(bench, &other);
    expect_same(seed, "mirrored", &free, &answer, -1);
}

Test(site_properties, flows_turn_when_the_site_is_mirrored)
{
    each_site(check_mirror);
}

static void check_additions(struct bench *bench, uint64_t seed, struct world world,
                            const struct answer *plain)
{
    struct world other = world;
    other.has_dead_leg = true;
    struct answer answer = flows_of(bench, &other);
    expect_same(seed, "dead leg", plain, &answer, 1);
    other = world;
    other.is_split = true;
    answer = flows_of(bench, &other);
    expect_same(seed, "split pipe", plain, &answer, 1);
    other = world;
    other.raised = 37.5;
    answer = flows_of(bench, &other);
    expect_same(seed, "all raised", plain, &answer, 1);
}

Test(site_properties, dead_legs_cuts_and_datum_change_nothing)
{
    each_site(check_additions);
}

/* Of one tank raised, the outflow does not fall and no other tank gives more (monotone networks).
 */
static void check_head(struct bench *bench, uint64_t seed, struct world world,
                       const struct answer *plain)
{
    struct world other = world;
    other.level[0] += 1;
    const struct answer answer = flows_of(bench, &other);
    const double room = ROUNDING * fmax(plain->largest, answer.largest);
    cr_expect_geq(answer.flow[0], plain->flow[0] - room, "seed %d", (int)seed);
    cr_expect_geq(answer.flow[2], plain->flow[2] - room, "seed %d", (int)seed);
    cr_expect_geq(answer.flow[3] + answer.flow[4], plain->flow[3] + plain->flow[4] - room,
                  "seed %d", (int)seed);
}

Test(site_properties, more_head_is_not_less_flow)
{
    each_site(check_head);
}

/* Lengths and heads times n, factor of friction and K as they were: flows times n to the 2.5
 * (Froude's law; any textbook on hydraulic models). */
static void check_scale(struct bench *bench, uint64_t seed, struct world world,
                        const struct answer *plain)
{
    struct world other = world;
    (void)plain;
    other.has_flap = false;
    other.has_factor = true;
    const struct answer small = flows_of(bench, &other);
    other.scale = 3;
    const struct answer large = flows_of(bench, &other);
    expect_same(seed, "three times as large", &small, &large, pow(3, 2.5));
}

Test(site_properties, flows_follow_froudes_law)
{
    each_site(check_scale);
}

/* Speed times n, nothing to lift, losses that go with the square of the flow: flows times n
 * (affinity laws; Karassik, Pump Handbook). */
static void check_speed(struct bench *bench, uint64_t seed, struct world world,
                        const struct answer *plain)
{
    struct world other = world;
    (void)plain;
    other.has_flap = false;
    other.has_factor = true;
    for (int i = 0; i < TANKS; i++) {
        other.level[i] = 20;
    }
    for (int i = 0; i < POINTS; i++) {
        other.draw[i] = 0;
    }
    other.speed = 2900;
    const struct answer full = flows_of(bench, &other);
    cr_expect_gt(full.flow[0], 0);
    other.speed = 2900 * 0.6;
    const struct answer slow = flows_of(bench, &other);
    expect_same(seed, "pump at 0.6 of its speed", &full, &slow, 0.6);
}

Test(site_properties, flows_follow_the_affinity_laws)
{
    each_site(check_speed);
}

/* --- surge --- */

static void run_surge(struct bench *bench, const struct world *world, struct surge *surge)
{
    struct failure failure = {0};
    bench_solve(bench, world);
    cr_assert(surge_run_plan(bench->site, bench->site->network, &bench->steady, &surge_defaults,
                             surge, bench->arena, &failure),
              "%s", failure.message);
    cr_assert_eq(surge->ending, SURGE_DONE);
}

/* Highest and lowest head at the two points, above the datum. */
static void point_ends(const struct bench *bench, const struct world *world,
                       const struct surge *surge, double ends[4])
{
    for (int i = 0; i < POINTS; i++) {
        const int point = network_find_point(bench->site->network, end_name(world, TANKS + i));
        *ends++ = surge->head_min[point];
        *ends++ = surge->head_max[point];
    }
}

Test(site_properties, surge_without_an_event_is_still)
{
    struct bench bench = {0};
    for (uint64_t seed = 1; seed <= (SHORT_RUNS ? 2 : 6); seed++) {
        struct surge surge;
        struct world world = random_world(seed);
        world.more = "surge: {duration: 2 s, reaches: 2}\n";
        run_surge(&bench, &world, &surge);
        for (int i = 0; i < bench.site->network->point_count; i++) {
            cr_expect_leq(surge.head_max[i] - surge.head_min[i], 1e-8, "seed %d: %g m at '%s'",
                          (int)seed, surge.head_max[i] - surge.head_min[i],
                          bench.site->network->points[i].name);
        }
        cr_expect_leq(fabs(surge.mass_residual), 1e-10);
        arena_free(bench.arena);
    }
    units_free(bench.units);
}

/* Time goes with the root of the scale: a valve shut in 0.3 s, or three times as large in 0.52 s.
 */
Test(site_properties, surge_follows_froudes_law_and_cuts_change_little)
{
    struct bench bench = {0};
    for (uint64_t seed = 1; seed <= (SHORT_RUNS ? 1 : 4); seed++) {
        double ends[3][4];
        char larger[200];
        struct surge surge;
        struct world world = random_world(seed);
        world.has_flap = false;
        world.has_factor = true;
        world.more = "surge: {duration: 2 s, reaches: 4, events: [{at: 0.1 s, set: gate, to: 0, "
                     "over: 0.3 s}]}\n";
        run_surge(&bench, &world, &surge);
        point_ends(&bench, &world, &surge, ends[0]);
        arena_free(bench.arena);
        world.is_split = true;
        run_surge(&bench, &world, &surge);
        point_ends(&bench, &world, &surge, ends[1]);
        arena_free(bench.arena);
        world.is_split = false;
        world.scale = 3;
        (void)snprintf(larger, sizeof larger,
                       "surge: {duration: %.17g s, reaches: 4, events: [{at: %.17g s, set: gate, "
                       "to: 0, over: %.17g s}]}\n",
                       2 * sqrt(3), 0.1 * sqrt(3), 0.3 * sqrt(3));
        world.more = larger;
        run_surge(&bench, &world, &surge);
        point_ends(&bench, &world, &surge, ends[2]);
        arena_free(bench.arena);
        for (int i = 0; i < 4; i++) {
            const double swing = ends[0][i | 1] - ends[0][i & 2];
            cr_expect_leq(fabs(ends[1][i] - ends[0][i]), 0.05 * swing + 1e-6,
                          "seed %d: split %g, not %g m", (int)seed, ends[1][i], ends[0][i]);
            cr_expect_leq(fabs(ends[2][i] - 3 * ends[0][i]), 3e-3 * swing + 1e-6,
                          "seed %d: scaled %g, not %g m", (int)seed, ends[2][i], 3 * ends[0][i]);
        }
    }
    units_free(bench.units);
}

/* Extremes of the image against those of the site: head' = offset + sign x head. */
static void expect_image(struct bench *bench, uint64_t seed, const char *what, struct world image,
                         const double ends[4], const double law[2], double room)
{
    struct surge surge;
    double found[4];
    run_surge(bench, &image, &surge);
    point_ends(bench, &image, &surge, found);
    arena_free(bench->arena);
    for (int i = 0; i < 4; i++) {
        const double wanted = law[0] + law[1] * ends[law[1] < 0 ? i ^ 1 : i];
        cr_expect_leq(fabs(found[i] - wanted), room, "seed %d, %s: %.12g, not %.12g m", (int)seed,
                      what, found[i], wanted);
    }
}

/* The same waves whatever the units, names, order, direction of writing and datum; and mirrored
 * where levels are. Round-off of some hundred steps. */
Test(site_properties, surge_has_the_images_of_its_site)
{
    static const double same[2] = {0, 1};
    static const double up[2] = {37.5, 1};
    static const double down[2] = {40, -1};
    struct bench bench = {0};
    for (uint64_t seed = 1; seed <= (SHORT_RUNS ? 1 : 4); seed++) {
        double ends[4];
        struct surge surge;
        struct world world = random_world(seed);
        world.has_flap = false;
        world.more = "surge: {duration: 2 s, reaches: 4, events: [{at: 0.1 s, set: gate, to: 0, "
                     "over: 0.3 s}]}\n";
        run_surge(&bench, &world, &surge);
        point_ends(&bench, &world, &surge, ends);
        arena_free(bench.arena);
        struct world image = world;
        image.has_other_names = true;
        expect_image(&bench, seed, "other names", image, ends, same, 0);
        image.is_backward = true;
        expect_image(&bench, seed, "other order", image, ends, same, 1e-8);
        image = world;
        image.in_other_units = true;
        expect_image(&bench, seed, "other units", image, ends, same, 1e-8);
        image = world;
        image.is_turned = true;
        expect_image(&bench, seed, "runs turned", image, ends, same, 1e-8);
        image = world;
        image.raised = 37.5;
        expect_image(&bench, seed, "all raised", image, ends, up, 1e-8);
        expect_image(&bench, seed, "mirrored", world_mirrored(world), ends, down, 1e-8);
    }
    units_free(bench.units);
}

/* --- hours --- */

/* Levels after an hour, m. */
static void levels_of(struct bench *bench, const struct world *world, double level[TANKS])
{
    struct failure failure = {0};
    struct filling filling;
    bench_solve(bench, world);
    cr_assert(filling_run(bench->site, &filling_defaults, &filling, bench->arena, &failure), "%s",
              failure.message);
    cr_assert_eq(filling.ending, FILLING_DONE);
    cr_expect_leq(fabs(filling.residual), 1e-9 * filling.moved);
    for (int i = 0; i < TANKS; i++) {
        const int tank = network_find_tank(bench->site->network, end_name(world, i));
        level[i] = filling.tanks[tank].level_end;
    }
    arena_free(bench->arena);
}

static void expect_levels(struct bench *bench, uint64_t seed, const char *what, struct world image,
                          const double level[TANKS], const double law[2], double room)
{
    double found[TANKS];
    levels_of(bench, &image, found);
    for (int i = 0; i < TANKS; i++) {
        cr_expect_leq(fabs(found[i] - law[0] - law[1] * level[i]), room,
                      "seed %d, %s: %.12g, not %.12g m", (int)seed, what, found[i],
                      law[0] + law[1] * level[i]);
    }
}

/* Room: ten times the integrator's accuracy of 1e-7 on levels of 40 m. */
Test(site_properties, levels_over_an_hour_have_the_images_of_their_site)
{
    static const double same[2] = {0, 1};
    static const double up[2] = {37.5, 1};
    static const double down[2] = {40, -1};
    static const double room = 4e-5;
    struct bench bench = {0};
    for (uint64_t seed = 1; seed <= (SHORT_RUNS ? 1 : 4); seed++) {
        double level[TANKS];
        struct world world = random_world(seed);
        world.is_moving = true;
        world.more = "filling: {duration: 1 h}\n";
        levels_of(&bench, &world, level);
        cr_expect_gt(fabs(level[0] - world.level[0]), 0.01, "seed %d: nothing moves", (int)seed);
        struct world image = world;
        image.has_other_names = true;
        expect_levels(&bench, seed, "other names", image, level, same, 0);
        image.is_backward = true;
        expect_levels(&bench, seed, "other order", image, level, same, room);
        image = world;
        image.in_other_units = true;
        expect_levels(&bench, seed, "other units", image, level, same, room);
        image = world;
        image.has_dead_leg = image.is_split = true;
        expect_levels(&bench, seed, "dead leg and cut", image, level, same, room);
        image = world;
        image.raised = 37.5;
        expect_levels(&bench, seed, "all raised", image, level, up, room);
        if (!world.has_flap) {
            expect_levels(&bench, seed, "mirrored", world_mirrored(world), level, down, room);
        }
    }
    units_free(bench.units);
}
