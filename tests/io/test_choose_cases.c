/* Choice of several valves at once over an envelope: against trying every set, against each case
 * written out by hand, and what energy costs against arithmetic. */
#include "solver/steady/steady.h"
#include "tests/io/two_lifts.h"

#include <criterion/criterion.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* --- the pruned search against every set --- */

struct all {
    struct team team;
    int count;
    struct valve_set *sets;
};

static int compare_sets(const void *left, const void *right)
{
    return valve_set_compare(left, right);
}

/* Every combination of all candidates, refused ones too, each in every case: no bound at all. */
static void try_all(struct reading *reading, const struct choose *choose, struct all *all)
{
    static const struct choose_rule *rule = &choose_rule_default;
    struct failure failure = {0};
    int valves[3];
    const struct candidate *ideal[3];
    struct candidate ideals[3];
    const int places = choose->place_count;
    all->count = 1;
    for (int i = 0; i < places; i++) {
        const int sites = choose->envelope.site_count;
        struct non_return *in_water = arena_take(reading->arena, (size_t)sites, sizeof *in_water);
        valves[i] = choose->places[i].valve;
        for (int k = 0; k < sites; k++) {
            in_water[k] = candidate_reference(&choose->places[i].candidates[0].in_water[k]);
        }
        ideals[i] = (struct candidate){.type = "reference", .in_water = in_water};
        ideal[i] = &ideals[i];
        all->count *= choose->places[i].candidate_count;
    }
    all->team = (struct team){.envelope = &choose->envelope,
                              .rule = rule,
                              .site = reading->site,
                              .place_count = places,
                              .places = valves,
                              .ideal = ideal};
    cr_assert(team_init(&all->team, reading->arena));
    all->sets = arena_take(reading->arena, (size_t)all->count, sizeof *all->sets);
    for (int i = 0; i < all->count; i++) {
        cr_assert(valve_set_take(&all->sets[i], places, reading->arena, &failure));
        for (int k = 0, rest = i; k < places; k++) {
            const struct choose_place *place = &choose->places[k];
            all->sets[i].picks[k] = &place->candidates[rest % place->candidate_count];
            rest /= place->candidate_count;
        }
    }
    cr_assert(team_steady(&all->team, all->count, all->sets, NULL, NULL));
    enum { TRIPS = 64 };
    struct measures found[TRIPS][3];
    struct team_job jobs[TRIPS];
    const int trips = choose->envelope.trip_count;
    cr_assert_leq(trips, TRIPS);
    for (int i = 0; i < all->count; i++) {
        for (int trip = 0; trip < trips; trip++) {
            jobs[trip] = (struct team_job){&all->sets[i], trip, found[trip]};
        }
        cr_assert(team_trips(&all->team, trips, jobs));
    }
    team_clear(&all->team);
    qsort(all->sets, (size_t)all->count, sizeof *all->sets, compare_sets);
}

static void check_against_all(struct reading *reading, bool without_surge)
{
    struct all all = {0};
    const struct choose choose = choose_on(reading, without_surge);
    try_all(reading, &choose, &all);
    cr_assert_eq(choose.set_count, 3);
    cr_assert_eq(choose.tally.all, all.count);
    for (int i = 0; i < choose.set_count; i++) {
        cr_expect_eq(choose.sets[i].handicap, all.sets[i].handicap, "set %d: %.17g, of all %.17g",
                     i, choose.sets[i].handicap, all.sets[i].handicap);
        cr_expect_eq(choose.sets[i].failed_count, all.sets[i].failed_count);
        for (int k = 0; k < choose.place_count; k++) {
            cr_expect_str_eq(choose.sets[i].picks[k]->type, all.sets[i].picks[k]->type);
            cr_expect_eq(choose.sets[i].picks[k]->valve.bore, all.sets[i].picks[k]->valve.bore);
        }
    }
    const struct search_tally *tally = &choose.tally;
    cr_expect_eq(tally->by_fixed + tally->by_count + tally->by_steady + tally->by_surge +
                     tally->judged,
                 tally->after_alone, "sets got lost");
}

/* Two valves in series over waters, levels and pumps: steady cases. */
Test(choose_cases, pruned_search_finds_what_trying_every_set_finds)
{
    struct reading reading;
    char words[200];
    snprintf(words, sizeof words, "%s  valves: [foot, first]\n", envelope_words);
    read_case(&reading, "10", "0", words);
    check_against_all(&reading, true);
    arena_free(reading.arena);
}

/* Two valves in parallel, with surge: minutes under the sanitizers. */
Test(choose_cases, and_with_surge, .disabled = SHORT_RUNS)
{
    struct reading reading;
    read_case(&reading, "10", "0",
              "choose: {valves: [first, second], duration: 0.2 s, pumps: as stated, "
              "levels: {sump: -1 m}}\n");
    check_against_all(&reading, false);
    arena_free(reading.arena);
}

/* What the search learnt of a set in a few surge cases stays known: a place's table begins with the
 * valve of the best set, never with one whose set fell behind. */
Test(choose_cases, places_begin_with_the_best_set)
{
    struct reading reading;
    read_case(&reading, "10", "-1.8",
              "choose: {valves: [foot, first], duration: 1.5 s, finalists: 1}\n");
    const struct choose choose = choose_on(&reading, false);
    cr_expect_gt(choose.tally.by_surge, 0.0);
    for (int i = 0; i < choose.place_count; i++) {
        const struct candidate *first = &choose.places[i].candidates[0];
        cr_expect_str_eq(first->type, choose.sets[0].picks[i]->type);
        cr_expect_eq(first->valve.bore, choose.sets[0].picks[i]->valve.bore);
    }
    arena_free(reading.arena);
}

/* --- the envelope against each case written out --- */

/* The flows through all valves of the site, as the case is written. */
static double flow_of_all(const struct site *site, const struct network *network,
                          struct arena *arena)
{
    struct failure failure = {0};
    struct steady steady;
    double sum = 0.0;
    struct steady_solver *solver = steady_solver_new(network, &failure);
    cr_assert_not_null(solver);
    cr_assert(steady_init(&steady, network, arena, &failure));
    cr_assert(steady_solve(solver, network, &site->water, &steady_defaults, &steady, &failure));
    for (int i = 0; i < site->valve_count; i++) {
        sum += fmax(steady.flow[site->valves[i].link], 0.0);
    }
    steady_solver_free(solver);
    return sum;
}

/* Share lost by the valves the case has, with only the pumps of `runs`, against valves without
 * loss; each water and level is a case of its own. */
static double lost_by_hand(const char *temperature, const char *level, unsigned runs)
{
    struct reading reading;
    struct non_return ideal[3];
    struct pump_unit units[2];
    read_case(&reading, temperature, level, "");
    struct network *network = reading.site->network;
    for (int i = 0; i < 2; i++) {
        const int link = reading.site->pump_places[i].link;
        units[i] = *(const struct pump_unit *)network->links[link].data;
        units[i].is_running = (runs & (1u << i)) != 0;
        network->links[link].data = &units[i];
    }
    const double with = flow_of_all(reading.site, network, reading.arena);
    for (int i = 0; i < 3; i++) {
        struct link *link = &network->links[reading.site->valves[i].link];
        ideal[i] = candidate_reference(link->data);
        link->data = &ideal[i];
    }
    const double without = flow_of_all(reading.site, network, reading.arena);
    arena_free(reading.arena);
    return 1.0 - with / without;
}

Test(choose_cases, worst_case_is_that_of_all_written_out)
{
    static const char *const temperatures[] = {"3", "30"};
    static const char *const levels[] = {"-1.5", "0.8"};
    struct reading reading;
    read_case(&reading, "10", "0", envelope_words);
    const struct choose choose = choose_on(&reading, true);
    cr_assert_eq(choose.envelope.condition_count, 1 + 2 * 2 * 3);
    double worst = lost_by_hand("10", "0", 3);
    char where[80] = "as the case says";
    for (int t = 0; t < 2; t++) {
        for (int l = 0; l < 2; l++) {
            for (unsigned runs = 1; runs <= 3; runs++) {
                static const char *const pumps[] = {"", "lift-1 alone", "lift-2 alone",
                                                    "all pumps"};
                const double lost = lost_by_hand(temperatures[t], levels[l], runs);
                if (lost > worst) {
                    worst = lost;
                    snprintf(where, sizeof where, "%s, %s degC, sump at %s m", pumps[runs],
                             temperatures[t], levels[l]);
                }
            }
        }
    }
    const struct valve_set *present = &choose.present;
    cr_expect_float_eq(present->flow_lost, worst, 1e-9);
    cr_expect_str_eq(choose.envelope.conditions[present->flow_lost_at].name, where);
    arena_free(reading.arena);
}

/* --- energy --- */

/* Two pumps of 600 W at the shaft, motors of 80 %: 1.5 kW. In 4000 h 6000 kWh; at 0.25 a kWh 1500.
 * For the same water another set takes hours in inverse proportion to what it delivers. */
Test(choose_cases, energy_a_year_is_hand_arithmetic)
{
    struct reading reading;
    read_case(&reading, "10", "0", "");
    const struct choose choose = choose_on(&reading, true);
    cr_expect_float_eq(choose.present.energy_year / 3.6e6, 6000.0, 1e-6);
    cr_expect_float_eq(choose.present.cost_year, 1500.0, 1e-6);
    for (int i = 0; i < choose.set_count; i++) {
        const struct valve_set *set = &choose.sets[i];
        cr_expect_float_eq(set->cost_year, 1500.0 * choose.present.delivered / set->delivered,
                           1e-6);
    }
    arena_free(reading.arena);
}

/* --- series and parallel --- */

/* In series both valves of one run pass the same water; in parallel one pump alone passes nothing
 * through the other's valve. Valves not asked for stay as they are. */
Test(choose_cases, only_valves_asked_for_are_changed)
{
    struct reading reading;
    read_case(&reading, "10", "0", "choose: {valves: [second, foot]}\n");
    const struct choose choose = choose_on(&reading, true);
    cr_assert_eq(choose.place_count, 2);
    const struct site *site = reading.site;
    cr_expect_str_eq(site->network->links[site->valves[choose.places[0].valve].link].name, "foot");
    cr_expect_str_eq(site->network->links[site->valves[choose.places[1].valve].link].name,
                     "second");
    for (int i = 0; i < choose.places[1].candidate_count; i++) {
        cr_expect_neq(choose.places[1].candidates[i].measures.flow,
                      choose.places[0].reference.flow);
    }
    arena_free(reading.arena);
}

/* Trips: the case's own; then in each water all pumps, each alone, and each failing by itself. */
Test(choose_cases, trips_are_all_ways_the_power_can_fail)
{
    struct envelope envelope;
    struct failure failure;
    struct reading reading;
    read_case(&reading, "10", "0", envelope_words);
    cr_assert(envelope_init(&envelope, reading.site_count, reading.sites, false, reading.arena,
                            &failure));
    cr_expect_eq(envelope.trip_count, 3 + 4 * 5);
    int singles = 0;
    for (int i = 0; i < envelope.trip_count; i++) {
        const struct trip *trip = &envelope.trips[i];
        singles += trip->plan.event_count == 1;
        for (int k = 0; k < trip->plan.event_count; k++) {
            cr_expect_eq(trip->plan.events[k].kind, SURGE_EVENT_STOP);
            cr_expect_float_eq(trip->plan.events[k].at, 0.1, 0.0);
        }
    }
    cr_expect_eq(singles, 2 + 4 * 4);
    arena_free(reading.arena);
}

/* A section surge that states no event does not say that nothing happens: the power fails, for as
 * long as the section says. */
Test(choose_cases, power_fails_where_the_case_has_no_event)
{
    struct envelope envelope;
    struct failure failure;
    struct reading reading;
    read_case(&reading, "10", "0", "");
    struct site site = *reading.site;
    site.surge.event_count = 0;
    const struct envelope_site alone = {&site, ""};
    cr_assert(envelope_init(&envelope, 1, &alone, false, reading.arena, &failure));
    cr_expect(envelope.plan_is_default);
    cr_expect_eq(envelope.trip_count, 3 + 2);
    for (int i = 0; i < envelope.trip_count; i++) {
        cr_expect_gt(envelope.trips[i].plan.event_count, 0);
        cr_expect_eq(envelope.trips[i].plan.duration, 1.5);
    }
    arena_free(reading.arena);
}
