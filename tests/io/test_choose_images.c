/* A choice of valves holds whatever the way in which its site is written: the same sets with the
 * same figures in other units, under other names and in other order, and where all of the site lies
 * higher; without surge also with a dead leg and a pipe cut in two.
 * Random sites (tests/io/random_site.h) with a pump, a non-return valve behind it and another in a
 * branch, two waters and two levels. Symmetry of the equations: exact but for round-off.
 *     choose_images: a site or two in ctest; PROPERTY_SITES in the environment asks for others. */
#include "io/door/door.h"
#include "io/door/read_choose.h"
#include "solver/choose/choose.h"
#include "tests/io/random_site_text.h"

#include <criterion/criterion.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

/* Of the values that people look at: residuals of 1e-11 m, some hundred steps of surge. */
static const double ROUNDING = 1e-6;

struct chosen {
    struct arena *arena;
    const struct site *site;
    struct choose choose;
    int run[2]; /* run of the place of that number */
};

static struct chosen choose_of(const struct world *world, bool without_surge)
{
    static struct page page;
    struct chosen chosen = {.arena = arena_new()};
    struct site *site = NULL;
    struct faults faults;
    struct failure failure = {0};
    const struct envelope_site *sites = NULL;
    const struct choose_options options = {.rule = choose_rule_default,
                                           .without_surge = without_surge};
    say_world(&page, world);
    faults_init(&faults, chosen.arena);
    const char *kept = arena_text(chosen.arena, page.text);
    const bool is_read = read_site_text("site", kept, strlen(kept), chosen.arena, &site, &faults);
    const int site_count = is_read ? read_choose_sites(site, chosen.arena, &sites, &faults) : -1;
    cr_assert_gt(site_count, 0, "%s\n%s", faults_first(&faults)->message, page.text);
    cr_assert(choose_run(site_count, sites, &options, &chosen.choose, chosen.arena, &failure),
              "%s\n%s", failure.message, page.text);
    chosen.site = site;
    cr_assert_eq(chosen.choose.place_count, 2);
    for (int i = 0; i < 2; i++) {
        const int link = site->valves[chosen.choose.places[i].valve].link;
        const char *name = site->network->links[link].name;
        chosen.run[i] = strcmp(name, valve_name(world, 0)) == 0 ? 0 : 1;
        cr_assert_str_eq(name, valve_name(world, chosen.run[i]));
    }
    return chosen;
}

/* 0: not asked for, as in ctest. */
static int sites_asked(void)
{
    const char *asked = getenv("PROPERTY_SITES");
    return asked ? (int)strtol(asked, NULL, 10) : 0;
}

/* Levels in question one metre either side of where the tank stands; temperatures and times in
 * degrees and seconds or in other units (0 degC = 273.15 K exactly, ISO 80000-5). */
static void say_choice(const struct world *world, size_t room, char words[room])
{
    const double foot = world->in_other_units ? 0.3048 : 1.0;
    const double level = world->level[1] + world->raised;
    (void)snprintf(words, room,
                   "surge: {duration: 2 s, reaches: 2}\n"
                   "choose:\n  temperature: %s\n  levels: {%s: %.17g %.17g %s}\n  duration: %s\n",
                   world->in_other_units ? "277.15 298.15 K" : "4 25 degC", end_name(world, 1),
                   (level - 1) / foot, (level + 1) / foot, world->in_other_units ? "ft" : "m",
                   sites_asked() <= 0      ? "0.5 s"
                   : world->in_other_units ? "1600 ms"
                                           : "1.6 s");
}

static struct chosen choose_world(struct world world, bool without_surge)
{
    char words[400];
    say_choice(&world, sizeof words, words);
    world.more = words;
    return choose_of(&world, without_surge);
}

/* Both unknown, or alike within `room`. */
static bool is_near(double one, double other, double room)
{
    return isfinite(one) && isfinite(other) ? fabs(one - other) <= room
                                            : !isfinite(one) == !isfinite(other);
}

static const struct candidate *pick_of(const struct chosen *chosen, const struct valve_set *set,
                                       int run)
{
    return set->picks[chosen->run[0] == run ? 0 : 1];
}

static const struct set_place *place_of(const struct chosen *chosen, const struct valve_set *set,
                                        int run)
{
    return &set->places[chosen->run[0] == run ? 0 : 1];
}

static bool has_same_picks(const struct chosen *one, const struct valve_set *a,
                           const struct chosen *other, const struct valve_set *b)
{
    bool is_same = true;
    for (int run = 0; run < 2; run++) {
        const struct candidate *left = pick_of(one, a, run);
        const struct candidate *right = pick_of(other, b, run);
        is_same = is_same && strcmp(left->type, right->type) == 0 &&
                  is_near(left->valve.bore, right->valve.bore, 1e-9) &&
                  left->is_present == right->is_present;
    }
    return is_same;
}

/* The same valves stand at this rank; or else two sets are so near that round-off orders them. */
static void expect_set(const char *what, const struct chosen *one, const struct valve_set *a,
                       const struct chosen *other, const struct valve_set *b)
{
    const double room = ROUNDING * (1 + fabs(a->handicap));
    cr_expect_eq(a->failed_count, b->failed_count, "%s: %d failures, not %d", what, b->failed_count,
                 a->failed_count);
    cr_expect_eq(a->trip_count, b->trip_count, "%s: %d trips, not %d", what, b->trip_count,
                 a->trip_count);
    cr_expect(is_near(a->handicap, b->handicap, room), "%s: handicap %.12g, not %.12g", what,
              b->handicap, a->handicap);
    if (!has_same_picks(one, a, other, b)) {
        return;
    }
    cr_expect(is_near(a->handicap_band, b->handicap_band, 10 * room), "%s: band %.12g, not %.12g",
              what, b->handicap_band, a->handicap_band);
    for (int run = 0; run < 2; run++) {
        const struct measures *left = &place_of(one, a, run)->measures;
        const struct measures *right = &place_of(other, b, run)->measures;
        cr_expect(is_near(left->flow, right->flow, ROUNDING * 1e-2),
                  "%s: flow %.12g, not %.12g m3/s", what, right->flow, left->flow);
        cr_expect(is_near(left->slam_head, right->slam_head, 10 * ROUNDING),
                  "%s: slam %.12g, not %.12g m", what, right->slam_head, left->slam_head);
        cr_expect(is_near(left->back_head, right->back_head, ROUNDING),
                  "%s: back head %.12g, not %.12g m", what, right->back_head, left->back_head);
    }
}

static const struct candidate *find_row(const struct choose_place *place,
                                        const struct candidate *wanted)
{
    for (int i = 0; i < place->candidate_count; i++) {
        const struct candidate *row = &place->candidates[i];
        if (strcmp(wanted->type, row->type) == 0 && wanted->is_present == row->is_present &&
            is_near(wanted->valve.bore, row->valve.bore, 1e-9)) {
            return row;
        }
    }
    return NULL;
}

/* Rows of a place, wherever they stand: all that was judged in every case. */
static void expect_rows(const char *what, int trips, const struct choose_place *one,
                        const struct choose_place *other)
{
    cr_assert_eq(one->candidate_count, other->candidate_count, "%s", what);
    cr_expect_eq(one->accepted_count, other->accepted_count, "%s: %d rows ranked, not %d", what,
                 other->accepted_count, one->accepted_count);
    for (int i = 0; i < one->candidate_count; i++) {
        const struct candidate *a = &one->candidates[i];
        const struct candidate *b = find_row(other, a);
        cr_assert(b, "%s: no row for %s", what, a->type);
        const bool is_whole = a->trip_count == trips && b->trip_count == trips;
        cr_expect(!is_whole ||
                      is_near(a->handicap, b->handicap, ROUNDING * (1 + fabs(a->handicap))),
                  "%s, %s: %.12g, not %.12g", what, a->type, b->handicap, a->handicap);
        for (int r = 0; r < (is_whole ? REQUIREMENT_COUNT : REQUIREMENT_SLAM); r++) {
            cr_expect_eq(a->judgements[r].verdict, b->judgements[r].verdict, "%s, %s: %s", what,
                         a->type, requirement_name((enum requirement)r));
        }
    }
}

/* The valves that stand there now. How many surge cases they go through hangs on whether they are
 * among the best; where they are level with the last of these, the order of the places says it. */
static void expect_present(const char *what, const struct chosen *one, const struct chosen *other)
{
    const struct valve_set *a = &one->choose.present;
    const struct valve_set *b = &other->choose.present;
    const struct valve_set *last = &one->choose.sets[one->choose.set_count - 1];
    const int trips = one->choose.envelope.trip_count;
    if (a->trip_count == trips && b->trip_count == trips) {
        expect_set(what, one, a, other, b);
    } else {
        const double room = ROUNDING * (1 + last->handicap);
        cr_expect(a->failed_count + b->failed_count > 0 ||
                      fmin(a->handicap, b->handicap) >= last->handicap - room,
                  "%s: the present valves are the better ones and were left out", what);
    }
}

static void expect_image(uint64_t seed, const char *kind, const struct chosen *plain,
                         const struct world *image, bool without_surge)
{
    char what[80];
    const struct chosen found = choose_world(*image, without_surge);
    (void)snprintf(what, sizeof what, "seed %d, %s%s", (int)seed, kind,
                   without_surge ? ", without surge" : "");
    cr_assert_eq(plain->choose.set_count, found.choose.set_count, "%s: %d sets, not %d", what,
                 found.choose.set_count, plain->choose.set_count);
    for (int i = 0; i < plain->choose.set_count; i++) {
        expect_set(what, plain, &plain->choose.sets[i], &found, &found.choose.sets[i]);
    }
    expect_present(what, plain, &found);
    for (int run = 0; run < 2; run++) {
        expect_rows(what, plain->choose.envelope.trip_count,
                    &plain->choose.places[plain->run[0] == run ? 0 : 1],
                    &found.choose.places[found.run[0] == run ? 0 : 1]);
    }
    arena_free(found.arena);
}

static struct world choice_world(uint64_t seed)
{
    struct world world = random_world(seed);
    world.speed = 2900;
    world.has_riser = world.has_flap = true;
    world.is_moving = true; /* levels change only within walls */
    for (int i = 0; i < TANKS; i++) {
        world.level[i] = i == 0 ? 0.1 * world.level[i] : 6 + 0.2 * world.level[i];
    }
    for (int i = 0; i < RUNS; i++) {
        world.bore[i] = fmin(fmax(world.bore[i], 45), 70); /* as wide as the pump and its valve */
        world.length[i] = fmin(world.length[i], 15);       /* waves come back while a run lasts */
    }
    return world;
}

static void check_one_by_one(uint64_t seed, const struct world *world)
{
    const struct chosen plain = choose_world(*world, false);
    struct world image = *world;
    image.has_other_names = image.is_backward = true;
    expect_image(seed, "other names and order", &plain, &image, false);
    image = *world;
    image.in_other_units = true;
    expect_image(seed, "other units", &plain, &image, false);
    image = *world;
    image.raised = 37.5;
    expect_image(seed, "all raised", &plain, &image, false);
    arena_free(plain.arena);
}

Test(choose_images, units_names_order_and_datum_change_no_choice)
{
    const int asked = sites_asked();
    for (uint64_t seed = 1; seed <= (uint64_t)asked; seed++) {
        const struct world world = choice_world(seed);
        check_one_by_one(seed, &world);
    }
    if (asked <= 0) {
        const struct world world = choice_world(2); /* some of its sets are suitable */
        const struct chosen plain = choose_world(world, false);
        struct world image = world;
        image.has_other_names = image.is_backward = image.in_other_units = true;
        image.raised = 37.5;
        expect_image(2, "all at once", &plain, &image, false);
        arena_free(plain.arena);
    }
}

Test(choose_images, dead_legs_and_cuts_change_no_choice_without_surge)
{
    const int count = sites_asked() > 0 ? sites_asked() : SHORT_RUNS ? 1 : 2;
    for (uint64_t seed = 1; seed <= (uint64_t)count; seed++) {
        const struct world world = choice_world(seed);
        const struct chosen plain = choose_world(world, true);
        struct world image = world;
        image.has_dead_leg = true;
        image.is_split = true;
        expect_image(seed, "dead leg and cut", &plain, &image, true);
        arena_free(plain.arena);
    }
}
