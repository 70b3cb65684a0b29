/* The search for sets of valves: other ways of it and other numbers of workers find the same, and
 * what it leaves out or open is told. */
#include "io/results/choose_sheet.h"
#include "solver/choose/measure.h"
#include "tests/io/two_lifts.h"

#include <criterion/criterion.h>
#include <math.h>
#ifdef _OPENMP
#include <omp.h>
#endif

static struct choose choose_with(struct reading *reading, struct search_effort effort,
                                 bool without_surge)
{
    struct choose result = {0};
    struct failure failure = {0};
    const struct choose_options options = {
        .rule = choose_rule_default, .effort = effort, .without_surge = without_surge};
    cr_assert(choose_run(reading->site_count, reading->sites, &options, &result, reading->arena,
                         &failure),
              "%s", failure.message);
    return result;
}

/* All numbers of both sets bit for bit, and the same valves. */
static void expect_same_set(const struct valve_set *one, const struct valve_set *other)
{
    cr_assert_eq(one->place_count, other->place_count);
    cr_expect_eq(memcmp(&one->handicap, &other->handicap, sizeof(double)), 0);
    cr_expect_eq(memcmp(&one->flow_lost, &other->flow_lost, sizeof(double)), 0);
    cr_expect_eq(one->failed_count, other->failed_count);
    cr_expect_eq(one->trip_count, other->trip_count);
    cr_expect_eq(one->rank, other->rank);
    cr_expect_eq(memcmp(&one->handicap_band, &other->handicap_band, sizeof(double)), 0);
    for (int i = 0; i < one->place_count; i++) {
        const struct measures *a = &one->places[i].measures;
        const struct measures *b = &other->places[i].measures;
        cr_expect_str_eq(one->picks[i]->type, other->picks[i]->type);
        cr_expect_eq(one->picks[i]->valve.bore, other->picks[i]->valve.bore);
        cr_expect_eq(memcmp(&a->flow, &b->flow, sizeof(double)), 0);
        cr_expect_eq(memcmp(&a->slam_head, &b->slam_head, sizeof(double)), 0);
        cr_expect_eq(memcmp(&a->lowest_margin, &b->lowest_margin, sizeof(double)), 0);
    }
}

static void expect_same_choice(const struct choose *one, const struct choose *other)
{
    cr_assert_eq(one->set_count, other->set_count);
    for (int i = 0; i < one->set_count; i++) {
        expect_same_set(&one->sets[i], &other->sets[i]);
    }
}

/* Where some good sets are sought first and the last of them is the mark, the first sets are the
 * same as where all are solved at once; the mark only spares work. */
Test(choose_search, mark_changes_no_set)
{
    struct reading reading;
    char words[200];
    snprintf(words, sizeof words, "%s  valves: [foot, first]\n", envelope_words);
    read_case(&reading, "10", "0", words);
    const struct choose plain = choose_with(&reading, (struct search_effort){0}, true);
    const struct choose marked =
        choose_with(&reading, (struct search_effort){.solved_at_once = 1}, true);
    cr_expect_eq(plain.tally.by_fixed, 0.0);
    cr_expect_gt(marked.tally.by_fixed + marked.tally.by_steady, 0.0, "the mark dropped none");
    expect_same_choice(&plain, &marked);
    arena_free(reading.arena);
}

/* Where there are too many, the count left out and the least handicap they can have are told: no
 * set that was solved has less dirt and service than that. */
Test(choose_search, too_many_sets_are_left_out_and_told)
{
    struct reading reading;
    read_case(&reading, "10", "0", "choose: {valves: [foot, first, second]}\n");
    const struct choose choose =
        choose_with(&reading, (struct search_effort){.sets_most = 20}, true);
    const struct search_tally *tally = &choose.tally;
    cr_assert_gt(tally->after_alone, 20.0);
    cr_expect_eq(tally->by_count, tally->after_alone - 20.0);
    cr_expect(isfinite(tally->least_left));
    for (int i = 0; i < choose.set_count; i++) {
        double fixed = 0.0;
        for (int k = 0; k < choose.place_count; k++) {
            fixed += choose.sets[i].picks[k]->fixed;
        }
        cr_expect_leq(fixed, tally->least_left + 1e-12);
    }
    arena_free(reading.arena);
}

#ifdef _OPENMP
/* One worker or two: the same bits in every set and in every row of every place. */
Test(choose_search, number_of_threads_changes_no_bit)
{
    static const char words[] = "choose: {valves: [first, second], duration: 0.3 s, "
                                "pumps: as stated, levels: {sump: -1 m}}\n";
    struct reading reading;
    struct choose found[2];
    read_case(&reading, "10", "0", words);
    for (int i = 0; i < 2; i++) {
        omp_set_num_threads(i + 1);
        found[i] = choose_with(&reading, (struct search_effort){0}, false);
    }
    expect_same_choice(&found[0], &found[1]);
    for (int i = 0; i < found[0].place_count; i++) {
        const struct choose_place *one = &found[0].places[i];
        const struct choose_place *other = &found[1].places[i];
        cr_assert_eq(one->candidate_count, other->candidate_count);
        for (int k = 0; k < one->candidate_count; k++) {
            const struct candidate *a = &one->candidates[k];
            const struct candidate *b = &other->candidates[k];
            cr_expect_str_eq(a->type, b->type);
            cr_expect_eq(memcmp(&a->handicap, &b->handicap, sizeof(double)), 0);
            cr_expect_eq(memcmp(&a->measures.slam_head, &b->measures.slam_head, sizeof(double)), 0);
        }
    }
    arena_free(reading.arena);
}
#endif

/* A step four times finer, of which the error is at most a quarter, stays within the band of each
 * valve of the best set; and the handicap's band is their sum, by hand. */
static void expect_bands_hold(const struct choose *choose)
{
    const struct valve_set *best = &choose->sets[0];
    struct failure failure = {0};
    struct measures finer[CHOOSE_PLACES_MOST];
    int places[CHOOSE_PLACES_MOST];
    double sum = 0.0;
    for (int i = 0; i < choose->place_count; i++) {
        places[i] = choose->places[i].valve;
    }
    struct workbench *bench =
        workbench_new(&choose->envelope, choose->place_count, places, &failure);
    cr_assert(bench, "%s", failure.message);
    cr_assert_gt(choose->band_runs, 0);
    for (int i = 0; i < choose->place_count; i++) {
        const struct set_place *place = &best->places[i];
        cr_assert_neq(place->slam_at, NETWORK_NONE);
        cr_assert(measure_surge(bench, place->slam_at, 4, best->picks, finer, &failure));
        cr_expect_gt(place->slam_band, 0.0);
        cr_expect_leq(fabs(finer[i].slam_head - place->measures.slam_head), place->slam_band);
        sum += 100.0 * choose_rule_default.slam_weight * place->slam_band /
               place->measures.allowed_head;
    }
    cr_expect_float_eq(best->handicap_band, sum, 1e-12 * sum);
    workbench_free(bench);
}

static struct valve_set banded(int rank, double handicap, double band)
{
    return (struct valve_set){.rank = rank, .handicap = handicap, .handicap_band = band};
}

/* Plain arithmetic: 1.5 apart within 1 + 1, not within 0.7 + 0.7; an unknown band opens nothing. */
Test(choose_search, ranks_within_their_bands_are_told_as_open)
{
    struct valve_set sets[] = {banded(1, 20.0, 1.0), banded(2, 21.5, 1.0), banded(3, 23.0, 0.7),
                               banded(0, 20.0, 9.0)};
    const struct choose choose = {.set_count = 4, .sets = sets};
    char text[200];
    choose_open_ranks(&choose, sizeof text, text);
    cr_expect_str_eq(text, "1 and 2, 2 and 3");
    sets[0].handicap_band = sets[1].handicap_band = 0.7;
    choose_open_ranks(&choose, sizeof text, text);
    cr_expect_str_eq(text, "");
    sets[0].handicap_band = (double)NAN;
    cr_expect_not(valve_set_is_near(&sets[0], &sets[1]));
}

/* A row that was not run through every surge case is never ranked, and stands behind those that
 * were; one that fails stands behind both. */
Test(choose_search, only_what_was_run_through_every_case_is_ranked)
{
    struct reading reading;
    read_case(&reading, "10", "-1.8",
              "choose: {valves: [first, second], duration: 1.5 s, finalists: 1}\n");
    const struct choose choose = choose_on(&reading, false);
    expect_bands_hold(&choose);
    int open = 0;
    for (int i = 0; i < choose.place_count; i++) {
        const struct choose_place *place = &choose.places[i];
        int last = 0;
        for (int k = 0; k < place->candidate_count; k++) {
            const struct candidate *row = &place->candidates[k];
            const int group = row->failed_count > 0 ? 2 : row->is_open ? 1 : 0;
            cr_expect_geq(group, last);
            last = group;
            open += group == 1;
            cr_expect_eq(row->rank > 0, group == 0);
            cr_expect(group != 0 || row->trip_count == choose.envelope.trip_count);
        }
        cr_expect_eq(place->accepted_count + place->open_count <= place->candidate_count, true);
    }
    cr_expect_gt(open, 0, "nothing was left open: the test tests nothing");
    arena_free(reading.arena);
}
