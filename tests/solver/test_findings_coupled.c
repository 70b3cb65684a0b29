/* Findings on laws that are no monotone graph; the networks are constructed. */
#include "models/pump_curve.h"
#include "models/site.h"
#include "solver/findings/findings.h"
#include "tests/solver/coupled_kit.h"

static struct kit kit;
static struct regulator regulator;
static struct findings findings;

static void solve_and_look(void)
{
    struct failure failure;
    kit_solve(&kit);
    const struct site site = {.network = &kit.network, .water = kit_water};
    findings_init(&findings, kit.arena);
    cr_assert(findings_steady(&site, &kit.answer, &findings, &failure), "%s", failure.message);
}

static const struct finding *find(const char *rule, int which)
{
    for (int i = 0; i < findings.count; i++) {
        if (strcmp(findings.items[i].rule, rule) == 0 && which-- == 0) {
            return &findings.items[i];
        }
    }
    return NULL;
}

/* 100 m, pipe 1e4, regulator, pipe 1e4, 0 m. */
static void put_regulator(double most_behind, double least_before)
{
    kit_init(&kit);
    const int upper = kit_held(&kit, 100);
    const int before = kit_free(&kit, 0);
    const int behind = kit_free(&kit, 0);
    const int lower = kit_held(&kit, 0);
    regulator = kit_regulator(most_behind, least_before);
    kit_link(&kit, upper, before, kit_resistance(1e4));
    kit_put(&kit, before, behind, &regulator_element, &regulator);
    kit_link(&kit, behind, lower, kit_resistance(1e4));
    solve_and_look();
}

Test(findings_coupled, regulator_that_lacks_head_is_told)
{
    put_regulator(80, -HUGE_VAL);
    const struct finding *found = find("regulator open", 0);
    cr_assert(found);
    cr_assert_float_eq(found->value, 1e4 * 100 / 2.01e4, 1e-9);
    cr_assert_float_eq(found->limit, 80, 1e-12);
    kit_clear(&kit);
}

Test(findings_coupled, regulator_that_cannot_sustain_is_told)
{
    put_regulator(HUGE_VAL, 120);
    const struct finding *found = find("regulator shut", 0);
    cr_assert(found);
    cr_assert_float_eq(found->value, 100, 1e-9);
    kit_clear(&kit);
}

/* A tank 30 m up behind a regulator that allows 20 m: nothing can pass, and it says why. */
Test(findings_coupled, regulator_that_the_other_side_holds_shut_is_told)
{
    kit_init(&kit);
    const int upper = kit_held(&kit, 100);
    const int before = kit_free(&kit, 0);
    const int behind = kit_free(&kit, 0);
    const int lower = kit_held(&kit, 30);
    regulator = kit_regulator(20, -HUGE_VAL);
    kit_link(&kit, upper, before, kit_resistance(1e4));
    kit_put(&kit, before, behind, &regulator_element, &regulator);
    kit_link(&kit, behind, lower, kit_resistance(1e4));
    solve_and_look();
    const struct finding *found = find("regulator shut", 0);
    cr_assert(found);
    cr_assert_eq(found->level, FINDING_NOTE);
    cr_assert_float_eq(found->value, 30, 1e-9);
    cr_assert_float_eq(found->limit, 20, 1e-12);
    kit_clear(&kit);
}

Test(findings_coupled, regulator_that_holds_its_head_is_not_spoken_of)
{
    put_regulator(25, -HUGE_VAL);
    cr_assert_null(find("regulator open", 0));
    cr_assert_null(find("regulator shut", 0));
    kit_clear(&kit);
}

/* A pump of six points, 20 m at no flow, 22 m at 2 L/s, against a tank at 21 m: it may stand still
 * behind its valve, or run on the falling part. */
Test(findings_coupled, several_duty_points_are_told)
{
    static const double head[] = {20, 21.5, 22, 20, 15, 8};
    static struct pump_curve curve;
    static struct pump pump = {.name = "lift", .speed = 2900.0 / 60, .count = 6};
    struct failure failure;
    for (int i = 0; i < 6; i++) {
        pump.flow[i] = i * 1e-3;
        pump.head[i] = head[i];
    }
    cr_assert(pump_curve_split(&pump, &curve, &failure), "%s", failure.message);
    cr_assert(pump_init(&pump, &kit_water, &failure), "%s", failure.message);
    const struct pump_unit unit = {.pump = &pump, .speed = 1, .is_running = true};
    kit_init(&kit);
    const int sump = kit_held(&kit, 0);
    const int tank = kit_held(&kit, 21);
    const int behind = kit_free(&kit, 0);
    kit_put(&kit, sump, behind, &rising_pump_element, &unit);
    kit_link(&kit, behind, tank, kit_valve(0, 1e4));
    solve_and_look();
    cr_assert_gt(kit.answer.flow[0], 2e-3);
    cr_assert(find("two duty points", 1));
    cr_assert_null(find("unstable duty point", 0));
    /* An answer that stands where the rising part crosses: it cannot stay there. */
    const double near = find("two duty points", 0)->value;
    const double other = find("two duty points", 1)->value;
    kit.answer.flow[0] = fmax(near, other);
    cr_assert(kit.answer.flow[0] > 1e-4 && kit.answer.flow[0] < 2e-3);
    const struct site site = {.network = &kit.network, .water = kit_water};
    findings_init(&findings, kit.arena);
    cr_assert(findings_steady(&site, &kit.answer, &findings, &failure), "%s", failure.message);
    const struct finding *found = find("unstable duty point", 0);
    cr_assert(found);
    cr_assert_eq(found->level, FINDING_FAILED);
    cr_assert_float_eq(found->value, fmax(near, other), 1e-12);
    kit_clear(&kit);
}
