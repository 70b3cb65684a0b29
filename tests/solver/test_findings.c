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

/* The small site's curve ends at 5 L/s. The lower the water that is pumped to, the more flows:
 * within the curve, beyond its end, and at last the water is pushed through, which takes head from
 * it. */
Test(findings, pump_beyond_its_curve_or_driven_by_the_water_is_told)
{
    static const struct {
        double level;
        bool is_beyond, is_driven;
    } rows[] = {{12.0, false, false}, {-1.0, true, false}, {-30.0, false, true}};
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct small_site small;
        small_site_init(&small, "swing flap", rows[i].level);
        const struct looked looked = look(&small);
        const struct finding *beyond = told(&looked, "beyond its curve", "lift");
        const struct finding *driven = told(&looked, "driven", "lift");
        const double flow = looked.steady.flow[1];
        cr_expect_eq(beyond != NULL, rows[i].is_beyond, "%g m, %g L/s", rows[i].level, 1e3 * flow);
        cr_expect_eq(driven != NULL, rows[i].is_driven, "%g m, %g L/s", rows[i].level, 1e3 * flow);
        if (beyond) {
            cr_expect_float_eq(beyond->value, flow / small.pump.flow[small.pump.count - 1], 1e-12);
        }
        if (driven) {
            cr_expect_eq(driven->level, FINDING_FAILED);
            cr_expect_float_eq(driven->value, pump_head(&small.pump, flow, 1.0).head, 1e-12);
        }
        arena_free(looked.arena);
    }
}

/* A valve whose part hangs at this share open at its duty. */
static void hang_at(struct small_site *small, double share)
{
    for (int i = 0; i < 30; i++) {
        struct looked looked = look(small);
        const double flow = looked.steady.flow[2];
        arena_free(looked.arena);
        const double has = non_return_opening(&small->valve, &small->site.water, flow);
        const double v = flow / circle_area(small->valve.bore);
        small->valve.full_open_velocity =
            i == 0 ? v : small->valve.full_open_velocity * has / share;
    }
}

/* What is 99.5 % open is fully open to everybody; at 94 % a smaller size is advised. */
Test(findings, valve_counts_as_fully_open_from_a_share_on)
{
    static const double shares[] = {0.5, 0.94, 0.949, 0.951, 0.995};
    for (size_t i = 0; i < sizeof shares / sizeof shares[0]; i++) {
        struct small_site small;
        small_site_init(&small, "swing flap", 12.0);
        hang_at(&small, shares[i]);
        const struct looked looked = look(&small);
        const struct finding *finding = told(&looked, "part open", "delivery");
        cr_assert_eq(finding != NULL, shares[i] < 0.95, "%g", shares[i]);
        if (finding) {
            cr_expect_float_eq(finding->value, shares[i], 1e-6);
            cr_expect_float_eq(finding->limit, 0.95, 1e-12);
        }
        arena_free(looked.arena);
    }
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

/* The pipe goes over or through something half-way. */
static void lay_over(struct small_site *small, const double elevation[3])
{
    static const double distance[] = {0.0, 30.0, 60.0};
    small->pipe.profile_count = 3;
    small->pipe.profile_distance = distance;
    small->pipe.profile_elevation = elevation;
}

/* The pipe climbs to 20 m and comes down to 2 m: the pressure there is the straight line between
 * the heads at its ends less 20 m, and where the water is slower than 0.8 sqrt(g D) an air pocket
 * stays (Wisner, Mohsen & Kouwen 1975, from memory). */
Test(findings, crest_is_told_with_the_pressure_at_it)
{
    static const double elevation[] = {0.3, 12.0, 1.5};
    struct small_site small;
    small_site_init(&small, "swing flap", 2.0);
    lay_over(&small, elevation);
    const struct looked looked = look(&small);
    const struct finding *crest = told(&looked, "air at a high point", "rise");
    const double middle = 0.5 * (looked.steady.head[3] + looked.steady.head[4]);
    cr_assert_not_null(crest);
    cr_assert_float_eq(crest->value, middle - 12.0, 1e-9);
    const double bore = small.pipe.friction.bore;
    const double speed = looked.steady.flow[3] / circle_area(bore) / sqrt(9.81 * bore);
    const struct finding *pocket = told(&looked, "air pocket", "rise");
    cr_assert_eq(pocket != NULL, speed < 0.8);
    if (pocket) {
        cr_assert_float_eq(pocket->value, speed, 1e-3);
    }
    arena_free(looked.arena);
}

/* Over a crest and down to a mouth in the air at 1.5 m: the second half of the pipe runs out there
 * when the pump stops, as far as it lies above the mouth (by hand). Not where the main rises to its
 * mouth, not by less than a bore, not under water. */
Test(findings, main_that_runs_dry_beyond_its_summit_is_told)
{
    static const struct {
        double elevation[3];
        bool is_in_air;
        double length; /* m that run out; 0: it is not told */
    } rows[] = {{{0.3, 12.0, 1.5}, true, 30}, {{0.3, 12.0, -9.0}, true, 15},
                {{0.3, 12.0, 1.5}, false, 0}, {{0.3, 1.0, 1.5}, true, 0},
                {{0.3, 1.55, 1.5}, true, 0},  {{0.3, 1.57, 1.5}, true, 30}};
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct small_site small;
        small_site_init(&small, "swing flap", 1.5);
        lay_over(&small, rows[i].elevation);
        small.points[5].elevation = 1.5;
        if (rows[i].is_in_air) {
            small.points[5].tank = NETWORK_NONE;
            small.links[4].run = NETWORK_NONE;
        }
        const struct looked looked = look(&small);
        const struct finding *dry = told(&looked, "dry beyond a summit", "header");
        cr_assert_eq(dry != NULL, rows[i].length > 0, "%zu", i);
        if (dry) {
            const double area = circle_area(small.pipe.friction.bore);
            cr_expect_float_eq(dry->value, rows[i].length * area, 1e-12, "%zu", i);
        }
        arena_free(looked.arena);
    }
}

Test(findings, crest_under_pressure_draws_no_air)
{
    static const double elevation[] = {0.3, 1.6, 1.5};
    struct small_site small;
    small_site_init(&small, "swing flap", 2.0);
    lay_over(&small, elevation);
    const struct looked looked = look(&small);
    cr_assert_null(told(&looked, "air at a high point", "rise"));
    cr_assert_null(told(&looked, "pressure class", "rise"));
    arena_free(looked.arena);
}

/* The highest pressure stands in a dip of the profile: 25 m below the ends here. */
Test(findings, pressure_class_is_held_against_the_deepest_point)
{
    static const double elevation[] = {0.3, -25.0, 11.5};
    struct small_site small;
    small_site_init(&small, "swing flap", 12.0);
    small.pipe.pressure_class = 3e5;
    struct looked looked = look(&small);
    cr_assert_null(told(&looked, "pressure class", "rise"));
    arena_free(looked.arena);
    lay_over(&small, elevation);
    looked = look(&small);
    const struct finding *finding = told(&looked, "pressure class", "rise");
    cr_assert_not_null(finding);
    const struct water *water = &small.site.water;
    const double head = 0.5 * (looked.steady.head[3] + looked.steady.head[4]) + 25.0;
    cr_assert_float_eq(finding->value, head * water->density * water->gravity / 3e5, 1e-6);
    arena_free(looked.arena);
}

Test(findings, point_below_its_wanted_pressure_is_a_failure)
{
    struct small_site small;
    small_site_init(&small, "swing flap", 12.0);
    small.points[4].wanted_head = 1.0; /* it has the 0.5 m of the tank and the loss at the exit */
    small.points[3].wanted_head = 1.0;
    const struct looked looked = look(&small);
    const struct finding *finding = told(&looked, "wanted pressure", "run/4");
    cr_assert_not_null(finding);
    cr_assert_eq(finding->level, FINDING_FAILED);
    cr_assert_float_eq(finding->value, looked.steady.head[4] - 11.5, 1e-9);
    cr_assert_float_eq(finding->limit, 1.0, 0.0);
    cr_assert_null(told(&looked, "wanted pressure", "run/3"));
    arena_free(looked.arena);
}

/* A draw is taken whatever the pressure; no tap gives water 10 m above where it would stand. */
Test(findings, draw_without_pressure_is_a_failure)
{
    for (int i = 0; i < 2; i++) {
        struct small_site small;
        small_site_init(&small, "swing flap", 12.0);
        small.points[4].draw = i == 0 ? 1e-4 : 0.0;
        small.points[4].elevation = 22.0;
        const struct looked looked = look(&small);
        const struct finding *finding = told(&looked, "drawn without pressure", "run/4");
        cr_expect_eq(finding != NULL, i == 0);
        if (finding) {
            cr_expect_eq(finding->level, FINDING_FAILED);
            cr_expect_float_eq(finding->value, looked.steady.head[4] - 22.0, 1e-9);
            cr_expect_lt(finding->value, -5.0);
        }
        arena_free(looked.arena);
    }
}

Test(findings, valve_that_hangs_wrongly_or_takes_much_is_told)
{
    struct small_site small;
    small_site_init(&small, "swing flap", 12.0);
    struct looked looked = look(&small);
    cr_assert_null(told(&looked, "mounting", "delivery"));
    cr_assert_null(told(&looked, "head taken", "delivery"));
    arena_free(looked.arena);
    small.valve.mountings = 1u << MOUNTING_LEVEL;
    small.valve.full_open_loss = 200.0;
    looked = look(&small);
    const struct finding *taken = told(&looked, "head taken", "delivery");
    cr_assert_not_null(told(&looked, "mounting", "delivery"));
    cr_assert_not_null(taken);
    cr_assert_float_eq(taken->value, -looked.steady.drop[2] / looked.steady.drop[1], 1e-12);
    arena_free(looked.arena);
}

/* A spring that opens at 0.3 m of head takes them from the suction lift. */
Test(findings, spring_on_the_suction_side_is_told)
{
    struct small_site small;
    small_site_init(&small, "spring cone", 12.0);
    small.valve.opening_head = 0.3;
    struct looked looked = look(&small);
    cr_assert_null(told(&looked, "spring on suction", "delivery"));
    arena_free(looked.arena);
    small.valve_place.is_on_suction = true;
    looked = look(&small);
    const struct finding *finding = told(&looked, "spring on suction", "delivery");
    cr_assert_not_null(finding);
    cr_assert_float_eq(finding->value, 0.3, 0.0);
    arena_free(looked.arena);
}

/* The curve falls by 5 m of 21 at 12 m3/h and little before: against a high tank it is flat. */
Test(findings, flat_curve_is_told_near_its_top_alone)
{
    struct small_site small;
    small_site_init(&small, "swing flap", 19.0);
    struct looked looked = look(&small);
    const struct finding *finding = told(&looked, "flat curve", "lift");
    cr_assert_not_null(finding);
    cr_assert_float_eq(finding->value, -21.0 / looked.steady.drop[1], 1e-3);
    arena_free(looked.arena);
    small_site_init(&small, "swing flap", 2.0);
    looked = look(&small);
    cr_assert_null(told(&looked, "flat curve", "lift"));
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
