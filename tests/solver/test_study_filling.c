/* Studies over hours: the measures of a filling run are those worked out by hand from constant
 * flows (constructed), and a run that does not reach its end is a row with a reason. */
#include "solver/study/variant.h"
#include "tests/solver/filling_rig_run.h"

#include <criterion/criterion.h>

/* A sump of 1.5 m2 fed with 2 L/s; a pump of 5 L/s and 1000 W empties it between `on` and 0.4 m, so
 * with 1.0 m it starts after 450 s and runs for 300 s, again and again. */
static void sump_init(struct rig *rig, struct pump_place *place, double on)
{
    static const double all_day[] = {0.0};
    static const double price[] = {1e-7}; /* of a joule */
    rig_init(rig, 9.80665);
    const int sump = rig_tank(rig, tank_shape_upright(1.5, 2.0), 0.0, 0.4);
    rig_feed(rig, sump, 0.002);
    const int pump = rig_pump(rig, sump, 0.005);
    rig_switch(rig, 0, on, 0.4, 1)->is_emptying = true;
    rig->site.filling.tariff = (struct filling_course){.count = 1, .time = all_day, .value = price};
    rig->site.filling.duration = 3000.0;
    *place = (struct pump_place){.link = rig->pump_words[pump].link};
    rig->network.links[place->link].name = "lift";
    rig->site.pump_places = place;
    rig->site.pump_place_count = 1;
}

static struct row solve(const struct site *site, int count, const char *const names[])
{
    struct failure failure = {0};
    struct measure measures[8];
    struct row row;
    struct arena *arena = arena_new();
    struct variant_bench *bench = variant_bench_new(&failure);
    for (int i = 0; i < count; i++) {
        const char *rest = NULL;
        measures[i] =
            (struct measure){.kind = measure_kind_find(names[i], &rest), .name = names[i]};
        cr_assert_not_null(measures[i].kind, "%s", names[i]);
        cr_assert_eq(measures[i].kind->run, STUDY_FILL, "%s", names[i]);
        measures[i].subject = strlen(rest) > 4 ? rest + 4 : NULL; /* " of " */
    }
    cr_assert(variant_solve(bench, site, STUDY_FILL, count, measures, arena, &row, &failure), "%s",
              failure.message);
    variant_bench_free(bench);
    arena_free(arena);
    return row;
}

Test(study_filling, measures_are_those_of_constant_flows)
{
    static const char *const names[] = {
        "starts of lift", "run time of lift",    "pumped of lift",        "energy of all",
        "cost of lift",   "final level of tank", "highest level of tank", "overflow of tank"};
    static const double expected[] = {4, 1200, 6.0, 1.2e6, 0.12, 0.4, 1.0, 0.0};
    struct rig rig;
    struct pump_place place;
    sump_init(&rig, &place, 1.0);
    const struct row row = solve(&rig.site, 8, names);
    cr_assert_eq(row.status, ROW_DONE, "%s", row.reason);
    for (int i = 0; i < 8; i++) {
        cr_expect_float_eq(row.value[i], expected[i], 1e-5 * (1.0 + expected[i]), "%s: %.9g",
                           names[i], row.value[i]);
    }
    rig_clear(&rig);
}

Test(study_filling, chattering_variant_is_a_row_with_its_reason)
{
    static const char *const names[] = {"starts of lift"};
    struct rig rig;
    struct pump_place place;
    sump_init(&rig, &place, 0.4);
    const struct row row = solve(&rig.site, 1, names);
    cr_expect_eq(row.status, ROW_NO_FILLING);
    cr_expect_not_null(strstr(row.reason, "lift"), "%s", row.reason);
    cr_expect(isnan(row.value[0]));
    rig_clear(&rig);
}

Test(study_filling, without_the_run_its_measures_are_not_known)
{
    struct rig rig;
    struct pump_place place;
    const char *rest = NULL;
    sump_init(&rig, &place, 1.0);
    const struct measure_view view = {&rig.site, NULL, NULL, NULL};
    const struct measure measure = {.kind = measure_kind_find("energy of all", &rest),
                                    .name = "energy of all"};
    cr_expect(isnan(measure_value(&measure, &view)));
    rig_clear(&rig);
}
