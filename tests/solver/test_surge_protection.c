/* Surge tanks, air vessels and air valves on elastic pipes, against the exact swings of rigid
 * columns: within 1 % as long as the wave's time is short against the period of the swing. */
#include "models/air_valve.h"
#include "models/air_vessel.h"
#include "models/circle.h"
#include "models/non_return.h"
#include "models/pump.h"
#include "models/relief_valve.h"
#include "models/standpipe.h"
#include "solver/surge/sizing.h"
#include "tests/solver/surge_rig.h"

/* Tank - pipe - end, where the flow goes out through a dose that an event stops at 0 s; what
 * protects it stands on the end (added by the caller). */
static int main_with_stop(struct rig *rig, struct rig_valve *dose, double head, double length,
                          double area, double velocity)
{
    dose->capacity = velocity * area;
    const int tank = rig_add_tank(rig, head);
    const int end = rig_add_point(rig, head);
    const int drain = rig_add_tank(rig, head - 1);
    rig_add_pipe(rig, tank, end, length, area, 1200.0, dose->capacity);
    const int link = rig_add_link(rig, end, drain, area, &rig_dose_element, dose, dose->capacity);
    rig_add_event(rig, SURGE_EVENT_SET, 0.0, link, 0.0, 0.0);
    rig_add_gauge(rig, end, false);
    return end;
}

/* Time of the first highest head at gauge 0. */
static double time_of_peak(const struct rig *rig)
{
    int best = 0;
    for (int i = 1; i < rig->result.time_count; i++) {
        best = rig_head(rig, i, 0) > rig_head(rig, best, 0) + 1e-9 ? i : best;
    }
    return rig->result.time[best];
}

/* Full stop, no friction: z = V0 sqrt(L A/(g As)) = 6.38551 m, period 2 pi sqrt(L As/(g A)) =
 * 200.607 s (exact, any textbook). */
Test(surge_protection, surge_tank_swings_with_its_height_and_period)
{
    struct rig rig;
    struct rig_valve dose;
    struct standpipe tank = {.area = 10, .joint_area = 10, .loss = 1e-9, .top = 80, .bottom = 20};
    rig_open(&rig, 180.0);
    const int end = main_with_stop(&rig, &dose, 50.0, 1000.0, 1.0, 2.0);
    const int top = rig_add_tank(&rig, 80.0);
    rig_add_link(&rig, end, top, 10.0, &standpipe_element, &tank, 0.0);
    rig_run(&rig);
    cr_assert_float_eq(rig.result.head_max[end] - 50, 6.38551, 0.01 * 6.38551);
    cr_assert_float_eq(50 - rig.result.head_min[end], 6.38551, 0.01 * 6.38551);
    cr_assert_float_eq(time_of_peak(&rig), 200.607 / 4, 0.01 * 200.607);
    rig_close(&rig);
}

/* A throttle in the joint instead of friction in the main: with w its loss, w' = -k z - k w along
 * z, so that 1 - k z = (1 - k w0) exp(-k z) at the top, k = 2 g As c/(L A) (exact, derived as the
 * damped tank of the textbooks, but beginning at z = 0). */
Test(surge_protection, throttle_cuts_the_swing_of_a_surge_tank)
{
    struct rig rig;
    struct rig_valve dose;
    /* 2 m/s in the joint lose 3 m. */
    const double loss = 3 * 2 * 9.81 / 4;
    struct standpipe tank = {.area = 10, .joint_area = 1, .loss = loss, .top = 80, .bottom = 20};
    rig_open(&rig, 120.0);
    const int end = main_with_stop(&rig, &dose, 50.0, 1000.0, 1.0, 2.0);
    const int top = rig_add_tank(&rig, 80.0);
    rig_add_link(&rig, end, top, 1.0, &standpipe_element, &tank, 0.0);
    rig_run(&rig);
    const double k = 2 * 9.81 * 10 * (3.0 / 4.0) / 1000;
    double low = 0;
    double high = 1 / k;
    for (int i = 0; i < 60; i++) {
        const double z = 0.5 * (low + high);
        const bool is_below = 1 - k * z > (1 - k * 3) * exp(-k * z);
        *(is_below ? &low : &high) = z;
    }
    /* As the flow passes zero nothing is lost: the head there is the level. */
    double highest = 0;
    for (int i = 1; i < rig.result.time_count; i++) {
        highest = rig.result.time[i] > 20 ? fmax(highest, rig_head(&rig, i, 0)) : highest;
    }
    cr_expect(low < 6.3, "%g", low);
    cr_expect_float_eq(highest - 50, low, 0.01 * low, "%g not %g", highest - 50, low);
    rig_close(&rig);
}

/* Two upright pipes of the main's own bore joined by it, one filled 1 m higher: a U-tube, period
 * 2 pi sqrt(l/(2 g)) for its length l of water, without friction for ever (exact). The uprights'
 * own water has no inertia here, so l is that of the pipe. */
Test(surge_protection, u_tube_swings_for_ever)
{
    struct rig rig;
    const double period = 2 * circle_pi * sqrt(500 / (2 * 9.81));
    struct standpipe upright = {
        .area = 0.01, .joint_area = 0.01, .loss = 1e-9, .top = 80, .bottom = 20};
    rig_open(&rig, 2.25 * period);
    const int left = rig_add_point(&rig, 50.0);
    const int right = rig_add_point(&rig, 50.0);
    const int left_top = rig_add_tank(&rig, 80.0);
    const int right_top = rig_add_tank(&rig, 80.0);
    rig_add_pipe(&rig, left, right, 500.0, 0.01, 1200.0, 0.001);
    rig_add_link(&rig, left, left_top, 0.01, &standpipe_element, &upright, -0.001);
    rig_add_link(&rig, right, right_top, 0.01, &standpipe_element, &upright, 0.001);
    rig_add_gauge(&rig, right, false);
    rig_run(&rig);
    /* From rest level with velocity V0: z = V0 sqrt(l/(2 g)) sin(t 2 pi/period). */
    const double height = 0.1 * sqrt(500 / (2 * 9.81));
    for (int i = 0; i < rig.result.time_count; i++) {
        const double exact = 50 + height * sin(rig.result.time[i] * 2 * circle_pi / period);
        cr_assert_float_eq(rig_head(&rig, i, 0), exact, 0.02 * height, "%g s", rig.result.time[i]);
    }
    cr_assert_float_eq(rig.result.head_max[right] - 50, height, 0.02 * height);
    rig_close(&rig);
}

/* Energy rule of the frictionless vessel, exact (numbers computed): heads absolute 87.0744 and
 * 42.5361 m. */
Test(surge_protection, air_vessel_swings_between_its_extremes)
{
    struct rig rig;
    struct rig_valve dose;
    struct air_vessel vessel = {.volume = 2,
                                .gas = 0.5,
                                .exponent = 1.2,
                                .joint_area = 0.1,
                                .loss_in = 1e-6,
                                .loss_out = 1e-6};
    const double air = 101325.0 / 9810.0;
    rig_open(&rig, 31.0);
    const int end = main_with_stop(&rig, &dose, 60.0 - air, 1000.0, circle_area(0.2), 1.0);
    const int bottom = rig_add_tank(&rig, 0.0);
    rig_add_link(&rig, end, bottom, 0.1, &air_vessel_element, &vessel, 0.0);
    rig_run(&rig);
    cr_assert_float_eq(rig.result.head_max[end] + air, 87.0744, 0.01 * 87.0744);
    cr_assert_float_eq(rig.result.head_min[end] + air, 42.5361, 0.01 * 42.5361);
    const struct surge_vessel *seen = rig.result.protection.vessels;
    cr_assert_eq(rig.result.protection.vessel_count, 1);
    cr_assert_float_eq(seen->gas_min, 0.366596, 0.01 * 0.366596);
    cr_assert_float_eq(seen->gas_max, 0.665986, 0.01 * 0.665986);
    cr_assert_not(seen->has_run_empty);
    rig_close(&rig);
}

/* How far the water of a rigid column goes, m3, that begins with the square `square` of its flow,
 * pushed by head (*push)(gone) m and braked by c times its flow squared:
 *     L/(2 g A) d(Q^2)/d(gone) = push - c Q^2   (Runge-Kutta of the fourth order; exact enough). */
struct swing {
    double start;     /* m3 of gas as it begins */
    double direction; /* of the gas: -1 when water comes in */
    double loss;      /* c, s2/m5 */
};

static double swing_slope(const struct swing *swing, double gone, double square)
{
    const double gas = swing->start + swing->direction * gone;
    const double over = 60 * (pow(0.5 / gas, 1.2) - 1); /* m over the main's head at rest */
    const double scale = 1000 / (2 * 9.81 * circle_area(0.2));
    return (swing->direction * over - swing->loss * square) / scale;
}

static double end_of_swing(const struct swing *swing, double square)
{
    const double step = 1e-5;
    double gone = 0;
    do {
        const double a = swing_slope(swing, gone, square);
        const double b = swing_slope(swing, gone + step / 2, square + step / 2 * a);
        const double c = swing_slope(swing, gone + step / 2, square + step / 2 * b);
        const double d = swing_slope(swing, gone + step, square + step * c);
        square += step / 6 * (a + 2 * b + 2 * c + d);
        gone += step;
    } while (square > 0 && gone < 1);
    return swing->start + swing->direction * gone;
}

/* The vessel's throttle brakes water that comes in more than water that goes out (a small hole
 * beside a non-return valve): the two extremes are those of the rigid column. */
Test(surge_protection, throttled_vessel_swings_between_its_extremes)
{
    struct rig rig;
    struct rig_valve dose;
    const double joint = 0.01;
    struct air_vessel vessel = {.volume = 2,
                                .gas = 0.5,
                                .exponent = 1.2,
                                .joint_area = joint,
                                .loss_in = 20,
                                .loss_out = 2};
    const double air = 101325.0 / 9810.0;
    const double flow = circle_area(0.2);
    const double per_loss = 1 / (2 * 9.81 * joint * joint);
    const struct swing in = {.start = 0.5, .direction = -1, .loss = 20 * per_loss};
    const double least = end_of_swing(&in, flow * flow);
    const struct swing out = {.start = least, .direction = 1, .loss = 2 * per_loss};
    const double most = end_of_swing(&out, 0);
    rig_open(&rig, 31.0);
    const int end = main_with_stop(&rig, &dose, 60.0 - air, 1000.0, flow, 1.0);
    const int bottom = rig_add_tank(&rig, 0.0);
    rig_add_link(&rig, end, bottom, joint, &air_vessel_element, &vessel, 0.0);
    rig_run(&rig);
    const struct surge_vessel *seen = rig.result.protection.vessels;
    cr_expect(least > 0.375 && most < 0.66); /* it does brake: 0.3666 and 0.6660 without */
    cr_expect_float_eq(seen->gas_min, least, 0.005 * least, "%g not %g", seen->gas_min, least);
    cr_expect_float_eq(seen->gas_max, most, 0.005 * most, "%g not %g", seen->gas_max, most);
    rig_close(&rig);
}

/* Flow that falls evenly to nothing in 4 s on a main with 2L/a = 1 s: Michaud's 2 L V0/(g tc) =
 * 30.58 m once the first wave is back, exact for a frictionless main. */
Test(surge_protection, slow_closing_rises_by_michaud)
{
    struct rig rig;
    struct rig_valve dose = {.capacity = 0.01};
    rig_open(&rig, 3.9);
    const int tank = rig_add_tank(&rig, 50.0);
    const int end = rig_add_point(&rig, 50.0);
    const int drain = rig_add_tank(&rig, 49.0);
    rig_add_pipe(&rig, tank, end, 600.0, 0.01, 1200.0, dose.capacity);
    const int link = rig_add_link(&rig, end, drain, 0.01, &rig_dose_element, &dose, dose.capacity);
    rig_add_event(&rig, SURGE_EVENT_SET, 0.0, link, 0.0, 4.0);
    rig_run(&rig);
    cr_assert_float_eq(rig.result.head_max[end] - 50, 2 * 600 * 1 / (9.81 * 4), 1e-9, "%.12g",
                       rig.result.head_max[end] - 50);
    rig_close(&rig);
}

/* A bypass round a pump that stops at once: at its start the main has H - B Q = M, and M after each
 * 2L/a is 2 H_tank less the H + B Q that went out before; the bypass gives H = H_pond - k Q^2, or
 * is shut (exact, piecewise constant). */
Test(surge_protection, bypass_gives_what_the_waves_ask)
{
    enum { PERIODS = 6 };
    struct rig rig;
    struct rig_valve dose = {.capacity = 0.01};
    struct non_return bypass;
    const double pond = 6.0;
    const double tank_head = 30.0;
    const double impedance = 1200 / (9.81 * 0.01);
    rig_open(&rig, PERIODS);
    non_return_make(non_return_type_find("ideal", NULL), 0.1, MOUNTING_UP, &rig.site.water,
                    &bypass);
    bypass.full_open_loss = 5.0;
    const double k = bypass.full_open_loss / (2 * 9.81 * circle_area(0.1) * circle_area(0.1));
    const int suction = rig_add_tank(&rig, pond);
    const int start = rig_add_point(&rig, tank_head);
    const int tank = rig_add_tank(&rig, tank_head);
    const int pump = rig_add_link(&rig, suction, start, 0.01, &rig_dose_element, &dose, 0.01);
    const int way =
        rig_add_link(&rig, suction, start, circle_area(0.1), &non_return_element, &bypass, 0.0);
    rig.valve = (struct valve_place){.link = way};
    rig.site.valves = &rig.valve;
    rig.site.valve_count = 1;
    rig_add_pipe(&rig, start, tank, 600.0, 0.01, 1200.0, 0.01);
    rig_add_event(&rig, SURGE_EVENT_SET, 0.0, pump, 0.0, 0.0);
    rig_add_gauge(&rig, start, false);
    rig_add_gauge(&rig, way, true);
    rig_run(&rig);
    double from_main = tank_head - impedance * 0.01;
    for (int i = 0; i < PERIODS; i++) {
        const double over = fmax(pond - from_main, 0.0);
        const double flow = 2 * over / (impedance + sqrt(impedance * impedance + 4 * k * over));
        const double head = from_main + impedance * flow;
        const int row = (int)lround((i + 0.5) / rig.result.step);
        cr_expect_float_eq(rig_head(&rig, row, 0), head, 1e-6, "%d: %g not %g", i,
                           rig_head(&rig, row, 0), head);
        cr_expect_float_eq(rig_flow(&rig, row, 1), flow, 1e-9, "%d: %g not %g", i,
                           rig_flow(&rig, row, 1), flow);
        from_main = 2 * tank_head - (head + impedance * flow);
    }
    cr_expect(rig.result.head_min[start] > pond - 1.0);
    rig_close(&rig);
}

/* A column that runs away from a shut feed: where it would have boiled, air is drawn in and the
 * head stays near that of the air; when the column has come back and the air is out, the valve is
 * shut and water meets water. Exact for a cavity at the head of the air, h = 10 m below the tank
 * (its velocity falls by 2 w = 2 g h/a each 2L/a; here V0 = 12.232 w): it shuts at 12.768 w, and
 * the pulse one wave time later is 14.768 h over the air. */
static double lowest_at_feed(bool has_air_valve)
{
    struct rig rig;
    const double area = 0.01;
    struct rig_valve dose = {.capacity = area};
    const double hole = circle_area(0.05);
    struct air_valve valve = {
        .area_in = hole, .area_out = hole, .coefficient_in = 0.6, .coefficient_out = 0.6};
    rig_open(&rig, 16.0);
    const int feed = rig_add_tank(&rig, 31.0);
    const int start = rig_add_point(&rig, 30.0);
    const int tank = rig_add_tank(&rig, 30.0);
    rig.points[start].elevation = 20.0;
    rig.points[tank].elevation = 20.0;
    const int link = rig_add_link(&rig, feed, start, area, &rig_dose_element, &dose, area);
    rig_add_pipe(&rig, start, tank, 600.0, area, 1200.0, area);
    const int air = rig_add_tank(&rig, 20.0);
    if (has_air_valve) {
        rig_add_link(&rig, start, air, hole, &air_valve_element, &valve, 0.0);
    }
    rig_add_event(&rig, SURGE_EVENT_SET, 0.0, link, 0.0, 0.0);
    rig_run(&rig);
    const double lowest = rig.result.head_min[start];
    if (has_air_valve) {
        const struct surge_air_valve *seen = rig.result.protection.air_valves;
        cr_assert(seen->has_opened && seen->open_time < 0.1 && seen->shuts > 0);
        /* Rigid column against 10 m: stops after V0^2 L/(2 g 10 m) = 3.058 m, comes back with V0.
         */
        cr_assert_float_eq(seen->volume_max, 0.03058, 0.03 * 0.03058);
        cr_assert_float_eq(rig.result.head_max[start], 20 + 14.768 * 10, 0.02 * 168, "%g",
                           rig.result.head_max[start]);
    }
    rig_close(&rig);
    return lowest;
}

/* A vessel with little water in it says that it ran empty. */
Test(surge_protection, vessel_that_runs_empty_says_so)
{
    struct rig rig;
    struct rig_valve dose = {.capacity = 0.03};
    struct air_vessel vessel = {.volume = 0.1,
                                .gas = 0.09,
                                .exponent = 1.2,
                                .joint_area = 0.1,
                                .loss_in = 1e-6,
                                .loss_out = 1e-6};
    rig_open(&rig, 10.0);
    const int feed = rig_add_tank(&rig, 31.0);
    const int start = rig_add_point(&rig, 30.0);
    const int tank = rig_add_tank(&rig, 30.0);
    const int bottom = rig_add_tank(&rig, 0.0);
    const int link = rig_add_link(&rig, feed, start, 0.03, &rig_dose_element, &dose, 0.03);
    rig_add_pipe(&rig, start, tank, 600.0, 0.03, 1200.0, 0.03);
    rig_add_link(&rig, start, bottom, 0.1, &air_vessel_element, &vessel, 0.0);
    rig_add_event(&rig, SURGE_EVENT_SET, 0.0, link, 0.0, 0.0);
    rig_run(&rig);
    cr_assert(rig.result.protection.vessels->has_run_empty);
    cr_assert_float_eq(rig.result.protection.vessels->empty_time, 0.01 / 0.03, 0.05);
    rig_close(&rig);
}

Test(surge_protection, air_valve_keeps_a_main_from_boiling)
{
    cr_assert_float_eq(lowest_at_feed(false), 20 + (1700 - 101325.0) / 9810, 1e-6);
    cr_assert(lowest_at_feed(true) > 20 - 0.1 && lowest_at_feed(true) < 20);
}

/* Ranges as solver/surge/sizing.h tells them, and parts that keep all but their size; a vessel its
 * shape too: gas and surface go with the volume. */
Test(surge_protection, sizes_are_searched_around_the_present_one)
{
    struct arena *arena = arena_new();
    const struct air_vessel vessel = {.volume = 2, .gas = 0.5, .area = 0.8, .exponent = 1.3};
    const struct pump pump = {.inertia = 0.03};
    const struct pump_unit unit = {.pump = &pump, .speed = 0.9, .is_running = true};
    const struct relief_valve valve = {.area = circle_area(0.04), .set_head = 50};
    const struct link links[] = {{.element = &relief_valve_element, .data = &valve},
                                 {.element = &pump_element, .data = &unit},
                                 {.element = &air_vessel_element, .data = &vessel},
                                 {.element = &pump_element, .data = &unit}};
    const struct network network = {.link_count = 4, .links = (struct link *)links};
    static const struct {
        enum sizing_part part;
        int first;
        int count;
        double smallest;
        double largest;
    } rows[] = {{SIZING_VESSEL, 2, 1, 2e-3, 2e3},
                {SIZING_FLYWHEEL, 1, 2, 3e-4, 3e2},
                {SIZING_RELIEF, 0, 1, 0.002, 0.2}};
    for (int i = 0; i < 3; i++) {
        double smallest = 0;
        double largest = 0;
        int count = 0;
        cr_expect_eq(sizing_find_part(&network, rows[i].part, &count), rows[i].first);
        cr_expect_eq(count, rows[i].count);
        sizing_default_range(&links[rows[i].first], rows[i].part, &smallest, &largest);
        cr_expect_float_eq(smallest / rows[i].smallest, 1, 1e-12);
        cr_expect_float_eq(largest / rows[i].largest, 1, 1e-12);
    }
    const struct air_vessel *larger = sizing_data(&links[2], SIZING_VESSEL, 3, arena);
    cr_expect(larger->volume == 3 && larger->gas == 0.75 && larger->exponent == 1.3);
    cr_expect_float_eq(larger->area, 1.2, 1e-15);
    const struct pump_unit *heavy = sizing_data(&links[1], SIZING_FLYWHEEL, 7, arena);
    cr_expect(heavy->flywheel == 7 && heavy->speed == 0.9 && heavy->pump == &pump);
    const struct relief_valve *wide = sizing_data(&links[0], SIZING_RELIEF, 0.05, arena);
    cr_expect_float_eq(wide->area, circle_area(0.05), 1e-18);
    cr_expect_eq(wide->set_head, 50);
    arena_free(arena);
}
