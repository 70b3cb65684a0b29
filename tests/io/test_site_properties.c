/* What must hold of any site, whatever its numbers: two ways to write the same site give the same
 * flows, and a site that is a scaled or turned image of another gives the image of its flows.
 * Random sites of three tanks, two points and five runs, read from text as a person would write it.
 *     site_properties: 40 sites in ctest; PROPERTY_SITES in the environment asks for others.
 * The laws are exact (symmetry of the equations; affinity and Froude's law follow from heads that
 * go with the square of the flow), so tolerances are those of the solver's residuals alone. */
#include "io/door/door.h"
#include "solver/surge/surge.h"
#include "tests/solver/random_numbers.h"

#include <criterion/criterion.h>
#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { TANKS = 3, POINTS = 2, RUNS = 5, ENDS = TANKS + POINTS, TEXT_ROOM = 6000 };

/* Of the largest flow; residuals of 1e-11 m over the least slopes drawn here. */
static const double ROUNDING = 1e-7;

/* A site, and how it is written down. */
struct world {
    double level[TANKS]; /* m */
    double draw[POINTS]; /* L/s */
    double length[RUNS]; /* m */
    double bore[RUNS];   /* mm */
    double loss[RUNS];   /* K of a fitting in each */
    double scale;        /* of lengths and heads; flows go with its power 2.5 */
    bool has_flap;       /* a non-return valve in run 1 */
    bool has_factor;     /* Darcy's factor 0.02 instead of a roughness */
    bool in_other_units;
    bool has_other_names;
    bool is_backward;  /* sections and runs from the last to the first */
    bool is_turned;    /* each run written from its end to its start */
    bool has_dead_leg; /* on point 0 */
    bool is_split;     /* the pipe of run 0 in two halves */
    double raised;     /* m, everything */
    const char *surge; /* its section, or "" */
};

struct page {
    char text[TEXT_ROOM];
    size_t used;
};

static const int run_from[RUNS] = {0, 3, 4, 3, 4};
static const int run_to[RUNS] = {3, 4, 1, 2, 2};

__attribute__((format(printf, 2, 3))) static void say(struct page *page, const char *form, ...)
{
    va_list values;
    va_start(values, form);
    const int length =
        vsnprintf(page->text + page->used, sizeof page->text - page->used, form, values);
    va_end(values);
    page->used += (size_t)length;
    cr_assert_lt(page->used, sizeof page->text);
}

static struct world random_world(uint64_t seed)
{
    struct random random;
    struct world world = {.scale = 1, .surge = ""};
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

static const char *end_name(const struct world *world, int end)
{
    static const char *const names[2][ENDS] = {{"a", "b", "c", "p", "q"},
                                               {"zulu", "tank of b", "3rd", "K-1", "x y z"}};
    return names[world->has_other_names][end];
}

static void say_length(struct page *page, const struct world *world, const char *key, double metres)
{
    const double foot = 0.3048; /* exactly: NIST SP 811, appendix B */
    if (world->in_other_units) {
        say(page, "%s: %.17g ft", key, metres * world->scale / foot);
    } else {
        say(page, "%s: %.17g m", key, metres * world->scale);
    }
}

static void say_tanks(struct page *page, const struct world *world)
{
    say(page, "tanks:\n");
    for (int i = 0; i < TANKS; i++) {
        const int tank = world->is_backward ? TANKS - 1 - i : i;
        say(page, "  %s: {fixed: yes, ", end_name(world, tank));
        say_length(page, world, "level", world->level[tank] + world->raised);
        say(page, "}\n");
    }
}

static void say_points(struct page *page, const struct world *world)
{
    say(page, "points:\n");
    for (int i = 0; i < POINTS; i++) {
        const double draw = world->draw[i] * pow(world->scale, 2.5);
        say(page, "  %s: {", end_name(world, TANKS + i));
        say_length(page, world, "elevation", -100 + world->raised);
        say(page, world->in_other_units ? ", draw: %.17g m3/h}\n" : ", draw: %.17g L/s}\n",
            world->in_other_units ? draw * 3.6 : draw);
    }
    if (world->has_dead_leg) {
        say(page, "  nowhere: {elevation: -90 m}\n");
    }
}

static void say_pipe(struct page *page, const struct world *world, int run, double length,
                     const char *name)
{
    const double bore = world->bore[run] * world->scale;
    say(page, "      - {pipe: own, name: %s, ", name);
    say_length(page, world, "length", length);
    say(page, world->in_other_units ? ", bore: %.17g cm" : ", bore: %.17g mm",
        world->in_other_units ? bore / 10 : bore);
    say(page, world->has_factor ? ", friction factor: 0.02" : ", roughness: 0.02 mm");
    say(page, ", wave speed: %.17g m/s}\n", 900 * sqrt(world->scale));
}

static void say_run(struct page *page, const struct world *world, int run)
{
    char name[20];
    const int from = world->is_turned ? run_to[run] : run_from[run];
    const int to = world->is_turned ? run_from[run] : run_to[run];
    say(page, "  %s%d:\n    from: %s\n    to: %s\n    parts:\n",
        world->has_other_names ? "way " : "run", run, end_name(world, from), end_name(world, to));
    (void)snprintf(name, sizeof name, "pipe%d", run);
    if (world->is_split && run == 0) {
        say_pipe(page, world, run, world->length[run] / 2, "half");
    }
    say_pipe(page, world, run, world->length[run] * (world->is_split && run == 0 ? 0.5 : 1), name);
    if (run == 1 && world->has_flap) {
        say(page, "      - {non-return: swing flap, name: flap, size: DN50, mounting: level}\n");
    }
    say(page, "      - {loss: %.17g}\n", world->loss[run]);
    if (run == 2) {
        say(page, "      - {valve: gate, name: gate, loss: 0.2}\n");
    }
}

static void say_runs(struct page *page, const struct world *world)
{
    say(page, "runs:\n");
    for (int i = 0; i < RUNS; i++) {
        say_run(page, world, world->is_backward ? RUNS - 1 - i : i);
    }
    if (world->has_dead_leg) {
        say(page, "  leg: {from: %s, to: nowhere, parts: [{pipe: pvc-u 63 pn10, length: 30 m}]}\n",
            end_name(world, TANKS));
    }
}

/* Losses at tanks differ by the direction of a run, so they are switched off. */
static void say_world(struct page *page, const struct world *world)
{
    page->used = 0;
    say(page,
        "site: %s\nwater: {temperature: 15 degC, air pressure: 80 bar}\n"
        "losses: {entry: 0, exit: 0}\n",
        world->has_other_names ? "Other" : "Same");
    if (world->is_backward) {
        say_runs(page, world);
        say_points(page, world);
        say_tanks(page, world);
    } else {
        say_tanks(page, world);
        say_points(page, world);
        say_runs(page, world);
    }
    say(page, "%s", world->surge);
}

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
    if (!read_site_tree("site", page.text, root, bench->units, bench->arena, &bench->site,
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

/* Levels below a plane instead of above it, and water fed in instead of drawn: every flow turns.
 * Also when only the runs are written from their other ends. Valves that know a direction are left
 * out. */
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
    for (int i = 0; i < TANKS; i++) {
        other.level[i] = 40 - world.level[i];
    }
    for (int i = 0; i < POINTS; i++) {
        other.draw[i] = -world.draw[i];
    }
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
        world.surge = "surge: {duration: 2 s, reaches: 2}\n";
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
        world.surge = "surge: {duration: 2 s, reaches: 4, events: [{at: 0.1 s, set: gate, to: 0, "
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
        world.surge = larger;
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
