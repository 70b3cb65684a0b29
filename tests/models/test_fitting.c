#include "models/fitting.h"
#include "models/mouth.h"

#include <criterion/criterion.h>
#include <math.h>
#include <string.h>

static const struct water water = {
    .gravity = 9.81, .density = 1000, .viscosity = 1e-6, .temperature_c = 20};

static const double pi = 3.14159265358979323846;

static struct drop drop(const struct fitting *fitting, double flow)
{
    return fitting_element.drop(fitting, &water, flow);
}

/* h = K v2/2g by hand: v = 2 m/s, K 1.5, g 9.81: 6/19.62 m. */
Test(fitting, loss_is_k_velocity_head)
{
    const struct fitting fitting = {.area = 0.01, .loss = 1.5, .loss_back = 3};
    cr_assert_float_eq(drop(&fitting, 0.02).head, 6 / 19.62, 1e-14);
    cr_assert_float_eq(drop(&fitting, -0.02).head, -12 / 19.62, 1e-14);
}

/* Hooper 1981, printed for 90 deg elbow r/D 1.5, 6 in, Re 1e4: K = 0.31333333333333335 (computed):
 * K1 800, K at high Re 0.2 (1 + 1/6). */
Test(fitting, laminar_part_adds_k1_over_reynolds)
{
    const double bore = 6 * 0.0254;
    const double area = pi / 4 * bore * bore;
    const struct fitting fitting = {
        .area = area, .loss = 0.2 * 7 / 6, .loss_back = 0.2 * 7 / 6, .laminar = 800};
    const double velocity = 1e4 * water.viscosity / bore;
    const double k = drop(&fitting, velocity * area).head / (velocity * velocity / 19.62);
    cr_assert_float_eq(k, 0.31333333333333335, 1e-12);
    cr_assert_gt(drop(&fitting, 0).slope, 0);
}

Test(fitting, resistance_is_r_q_squared)
{
    const struct fitting fitting = {.area = 0.01, .loss = 9, .resistance = 2000};
    cr_assert_float_eq(drop(&fitting, 0.06).head, 7.2, 1e-13);
    cr_assert_float_eq(drop(&fitting, -0.06).head, -7.2, 1e-13);
    cr_assert_float_eq(drop(&fitting, -0.06).slope, 240, 1e-11);
}

Test(fitting, slope_is_the_derivative_of_head)
{
    const struct fitting fitting = {.area = 2e-3, .loss = 0.7, .loss_back = 2, .laminar = 500};
    for (double flow = -0.01; flow < 0.01; flow += 3.1e-5) {
        const double step = 1e-8;
        const double chord =
            (drop(&fitting, flow + step).head - drop(&fitting, flow - step).head) / (2 * step);
        cr_assert_float_eq(drop(&fitting, flow).slope / chord, 1, 1e-3, "flow %g", flow);
    }
}

Test(fitting, one_way_fitting_lets_nothing_back)
{
    struct fitting fitting = {.area = 0.01, .loss = 1};
    cr_assert_eq(fitting_element.span(&fitting, &water).lower, -(double)INFINITY);
    fitting.is_one_way = true;
    cr_assert(fitting_element.span(&fitting, &water).lower == 0);
    cr_assert_eq(fitting_element.span(&fitting, &water).upper, (double)INFINITY);
}

/* Crane TP-410 (2009), table of f_T (from memory) at schedule 40 bores, printed to three digits. */
Test(fitting, turbulent_factor_meets_the_printed_row)
{
    static const double table[][2] = {
        {15.80, 0.026},  {20.93, 0.024},  {26.64, 0.022}, {35.05, 0.021},  {40.89, 0.020},
        {52.50, 0.019},  {62.71, 0.018},  {77.93, 0.017}, {102.26, 0.016}, {154.05, 0.015},
        {202.72, 0.014}, {254.51, 0.013}, {303.2, 0.013}};
    const struct fitting_kind one = {.per_turbulent_factor = 1};
    for (size_t i = 0; i < sizeof table / sizeof table[0]; i++) {
        cr_assert_float_eq(fitting_kind_loss(&one, table[i][0] * 1e-3), table[i][1], 0.5001e-3);
    }
}

/* Crane TP-410 N values as read or from memory, against the table of f_T at 1-1/2 in: 0.020. */
Test(fitting, catalogue_kinds_give_the_handbook_loss)
{
    static const struct {
        const char *name;
        double loss;
    } table[] = {{"elbow 90 deg", 0.60}, {"elbow 45 deg", 0.32}, {"tee branch", 1.20},
                 {"tee through", 0.40},  {"gate valve", 0.16},   {"ball valve", 0.06},
                 {"entry", 0.5},         {"exit", 1.0},          {"union", 0.08}};
    for (size_t i = 0; i < sizeof table / sizeof table[0]; i++) {
        const struct fitting_kind *kind = fitting_catalogue_find(table[i].name, NULL);
        cr_assert_not_null(kind, "%s", table[i].name);
        cr_assert_float_eq(fitting_kind_loss(kind, 0.04089) / table[i].loss, 1, 0.012);
    }
}

Test(fitting, names_are_found_in_any_spelling_and_the_nearest_is_offered)
{
    const char *nearest = NULL;
    cr_assert_not_null(fitting_catalogue_find("Tee-Branch", &nearest));
    cr_assert_null(fitting_catalogue_find("elbo 90 deg", &nearest));
    cr_assert_str_eq(nearest, "elbow 90 deg");
    cr_assert_null(fitting_catalogue_find("", NULL));
}

Test(fitting, every_kind_has_a_positive_loss_and_a_source)
{
    for (int i = 0; i < fitting_catalogue_count(); i++) {
        const struct fitting_kind *kind = fitting_catalogue_at(i);
        cr_assert_gt(fitting_kind_loss(kind, 0.05), 0, "%s", kind->name);
        cr_assert_eq(kind, fitting_catalogue_find(kind->name, NULL));
        cr_assert_gt(strlen(kind->source), 10);
    }
}

/* A pipe that ends above water draws air when its water runs back; it does not hold a vacuum. */
Test(fitting, mouth_above_water_lets_air_follow_and_pours_only_when_it_is_out)
{
    const struct fitting mouth = {.area = 2e-3, .loss = 1.0, .loss_back = 0.5, .is_one_way = true};
    struct water cold = {.gravity = 9.80665, .density = 998.2, .viscosity = 1e-6};
    const struct instant now = {.time = 0.0, .step = 0.01, .setting = 1.0, .water = &cold};
    const struct motion *motion = fitting_element.motion;
    double state[MOUTH_STATE_COUNT] = {0.0};
    double next[MOUTH_STATE_COUNT];
    const double plain = fitting_element.drop(&mouth, &cold, 0.003).head;
    cr_assert_eq(motion->drop(&mouth, &now, state, 0.003, next).head, plain);
    cr_assert_lt(motion->span(&mouth, &now, state).lower, -1e6);
    cr_assert_eq(motion->drop(&mouth, &now, state, -0.002, next).head, 0.0);
    cr_assert_float_eq(next[MOUTH_STATE_AIR], 2e-5, 1e-18);
    state[0] = next[0];
    cr_assert_eq(motion->drop(&mouth, &now, state, 0.001, next).head, 0.0);
    cr_assert_float_eq(next[MOUTH_STATE_AIR], 1e-5, 1e-18);
    state[0] = next[0];
    const double rest = fitting_element.drop(&mouth, &cold, 0.003 - 0.001).head;
    cr_assert_float_eq(motion->drop(&mouth, &now, state, 0.003, next).head, rest, 1e-15);
    cr_assert_eq(next[MOUTH_STATE_AIR], 0.0);
}

/* A mouth above water while things move (models/fitting.h): 2 L/s back for half a second leave 1 L
 * of air; so long nothing is asked of the head, and no slope; then it pours again (by hand). */
Test(fitting, air_follows_the_water_back_and_leaves_first)
{
    const struct fitting mouth = {.area = 0.01, .loss = 1, .is_one_way = true};
    const struct motion *motion = fitting_element.motion;
    double state[ELEMENT_STATE_MAX] = {1};
    double next[ELEMENT_STATE_MAX] = {1};
    const struct instant now = {1, 0.5, 1, &water, NULL};
    motion->start(&mouth, &water, 0, 0, state);
    cr_assert_eq(state[MOUTH_STATE_AIR], 0);
    cr_assert(motion->span(&mouth, &now, state).lower == -HUGE_VAL);
    const struct drop back = motion->drop(&mouth, &now, state, -2e-3, next);
    cr_assert(back.head == 0 && back.slope == 0);
    cr_assert_float_eq(next[MOUTH_STATE_AIR], 1e-3, 1e-18);
    (void)motion->drop(&mouth, &now, next, 5e-4, state);
    cr_assert_float_eq(state[MOUTH_STATE_AIR], 7.5e-4, 1e-18);
    const struct drop pours = motion->drop(&mouth, &now, state, 0.0215, next);
    cr_assert_float_eq(pours.head, 4 / 19.62, 1e-13); /* 20 L/s of water are left: 2 m/s */
    cr_assert_eq(next[MOUTH_STATE_AIR], 0);
}

/* Smooth parts of plastic pipes have a resistance far below 0.1 s2/m5 in large bores. */
Test(fitting, small_resistance_is_one)
{
    const struct fitting fitting = {.area = 0.01, .loss = 9, .resistance = 0.02};
    cr_assert_float_eq(drop(&fitting, 0.5).head, 0.005, 1e-16);
}
