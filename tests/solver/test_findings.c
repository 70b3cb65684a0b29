/* Findings on a small pumped site: each rule speaks when its limit is passed and is silent before.
 */
#include "solver/findings/findings.h"
#include "solver/findings/inventory.h"
#include "tests/solver/small_site.h"

#include <criterion/criterion.h>

struct looked {
    struct arena *arena;
    struct findings findings;
    struct steady steady;
};

static struct looked look(struct small_site *small)
{
    struct looked looked = {.arena = arena_new()};
    struct failure failure = {0};
    findings_init(&looked.findings, looked.arena);
    cr_assert(steady_init(&looked.steady, &small->network, looked.arena, &failure));
    struct steady_solver *solver = steady_solver_new(&small->network, &failure);
    cr_assert_not_null(solver);
    cr_assert(steady_solve(solver, &small->network, &small->site.water, &steady_defaults,
                           &looked.steady, &failure));
    steady_solver_free(solver);
    cr_assert_eq(looked.steady.ending, STEADY_CONVERGED);
    cr_assert(findings_steady(&small->site, &looked.steady, &looked.findings, &failure));
    return looked;
}

static const struct finding *told(const struct looked *looked, const char *rule,
                                  const char *subject)
{
    for (int i = 0; i < looked->findings.count; i++) {
        const struct finding *finding = &looked->findings.items[i];
        if (strcmp(finding->rule, rule) == 0 && strcmp(finding->subject, subject) == 0) {
            return finding;
        }
    }
    return NULL;
}

Test(findings, sound_site_has_no_limit_exceeded)
{
    struct small_site small;
    small_site_init(&small, "swing flap", 12.0);
    const struct looked looked = look(&small);
    cr_assert_eq(findings_count(&looked.findings, FINDING_FAILED), 0);
    cr_assert_null(told(&looked, "suction margin", "lift"));
    cr_assert_null(told(&looked, "flows at rest", "header"));
    arena_free(looked.arena);
}

Test(findings, pump_too_weak_to_open_the_way_is_named_with_its_valve)
{
    struct small_site small;
    small_site_init(&small, "swing flap", 25.0);
    const struct looked looked = look(&small);
    cr_assert_not_null(told(&looked, "no flow", "lift"));
    arena_free(looked.arena);
}

/* Common practice, no source: fed by water standing 0.8 m above, a DN50 spring cone lets nothing
 * through; a swing flap there opens at next to nothing. */
Test(findings, spring_cone_stays_shut_under_eighty_centimetres)
{
    struct small_site small;
    small_site_init(&small, "spring cone", -0.8);
    small.unit.is_running = false;
    struct looked looked = look(&small);
    cr_assert_float_eq(looked.steady.flow[2], 0.0, 1e-12);
    cr_assert_not_null(told(&looked, "stays shut", "delivery"));
    arena_free(looked.arena);
    small_site_init(&small, "swing flap", -0.8);
    small.unit.is_running = false;
    looked = look(&small);
    cr_assert_gt(looked.steady.flow[2], 1e-4);
    cr_assert_null(told(&looked, "stays shut", "delivery"));
    arena_free(looked.arena);
}

/* NPSH available = (air - vapour pressure)/(rho g) + level - axis - losses before the pump: the
 * definition of ISO 17769-1, worked here beside the program. */
Test(findings, suction_margin_is_the_textbook_sum)
{
    struct small_site small;
    small_site_init(&small, "swing flap", 2.0);
    small.points[1].elevation = small.pump_place.axis = 7.0;
    const struct looked looked = look(&small);
    const struct finding *finding = told(&looked, "suction margin", "lift");
    cr_assert_not_null(finding);
    const double flow = looked.steady.flow[1];
    const double velocity = flow / circle_area(small.pipe.friction.bore);
    const struct water *water = &small.site.water;
    const double air =
        (water->air_pressure - water->vapour_pressure) / (water->density * water->gravity);
    const double loss = 0.5 * velocity * velocity / (2.0 * water->gravity);
    const double margin = air + 0.0 - 7.0 - loss - pump_npsh(&small.pump, flow, 1.0);
    cr_assert_float_eq(finding->value, margin, 1e-9);
    cr_assert_not_null(told(&looked, "suction lift", "lift"));
    cr_assert_not_null(told(&looked, "prime", "lift"));
    arena_free(looked.arena);
}

Test(findings, water_running_back_at_rest_is_told_with_the_time_to_the_brim)
{
    struct small_site small;
    small_site_init(&small, "swing flap", 12.0);
    static struct fitting plain;
    plain = (struct fitting){.area = small.links[2].area, .loss = 2.0, .loss_back = 2.0};
    small.links[2].element = &fitting_element;
    small.links[2].data = &plain;
    small.site.valve_count = 0;
    const struct looked looked = look(&small);
    const struct finding *feeds = told(&looked, "flows at rest", "header");
    cr_assert_not_null(feeds);
    cr_assert_str_eq(feeds->other, "sump");
    cr_assert_eq(feeds->level, FINDING_WARNING);
    const struct finding *filled = told(&looked, "fills at rest", "sump");
    cr_assert_not_null(filled);
    cr_assert_str_eq(filled->unit, "s");
    cr_assert_gt(filled->value, 0.0);
    arena_free(looked.arena);
}

Test(findings, pressure_above_the_class_at_this_temperature_is_a_failure)
{
    struct small_site small;
    small_site_init(&small, "swing flap", 12.0);
    small.pipe.pressure_class = 1e5;
    const struct looked looked = look(&small);
    const struct finding *finding = told(&looked, "pressure class", "rise");
    cr_assert_not_null(finding);
    cr_assert_eq(finding->level, FINDING_FAILED);
    cr_assert_gt(finding->value, 1.0);
    arena_free(looked.arena);
}

Test(findings, every_finding_names_its_source_and_remedy)
{
    struct small_site small;
    small_site_init(&small, "spring cone", 16.0);
    small.site.circumstances.has_fibres = true;
    small.points[1].elevation = small.pump_place.axis = 5.0;
    const struct looked looked = look(&small);
    cr_assert_gt(looked.findings.count, 2);
    for (int i = 0; i < looked.findings.count; i++) {
        const struct finding *finding = &looked.findings.items[i];
        cr_assert(finding->source && finding->remedy && finding->text && finding->unit);
        cr_assert(finding->question >= 0 && finding->question <= 109);
    }
    arena_free(looked.arena);
}

/* ANSI/HI 9.8 (from memory), the row D = 0.10 m, Q = 0.01 m3/s of the computed table: S = 0.39572
 * m. */
Test(findings, submergence_follows_the_hydraulic_institute)
{
    struct small_site small;
    small_site_init(&small, "swing flap", 12.0);
    small.points[1].elevation = -0.05;
    const struct looked looked = look(&small);
    const struct finding *finding = told(&looked, "submergence", "entry");
    cr_assert_not_null(finding);
    const double bore = small.pipe.friction.bore;
    const double flow = looked.steady.flow[0];
    cr_assert_float_eq(finding->value, 0.05, 1e-12);
    cr_assert_float_eq(finding->limit, bore + 0.935142 * flow / (bore * sqrt(bore)), 1e-6);
    cr_assert_float_eq(0.1 + 0.935142 * 0.01 / pow(0.1, 1.5), 0.39572, 1e-5);
    arena_free(looked.arena);
}

Test(findings, inventory_has_every_question_once_with_an_answer)
{
    for (int i = 0; i < INVENTORY_COUNT; i++) {
        const struct question *question = inventory_at(i);
        cr_assert_eq(question->number, i + 1);
        cr_assert(strlen(question->asks) > 5 && strlen(question->where) > 2);
        cr_assert(strlen(question->part) > 2);
    }
    cr_assert_null(inventory_at(-1));
    cr_assert_null(inventory_at(INVENTORY_COUNT));
}
