/* Quantities at the door. Conversion factors: NIST Special Publication 811 (2008), appendix B
 * (inch 0.0254 m, US gallon 3.785411784 L, imperial gallon 4.54609 L, psi 6894.757 Pa, foot 0.3048
 * m), exact by definition where not rounded; the rest is decimal or by definition. */
#include "io/door/units.h"

#include <criterion/criterion.h>
#include <math.h>
#include <string.h>

enum { ROOM = 8 };

static bool read(enum quantity quantity, const char *text, struct amount *amount, char *message)
{
    struct failure failure;
    struct units *units = units_new(&failure);
    cr_assert_not_null(units, "%s", failure.message);
    const bool done =
        units_read(units, quantity, text, ROOM, amount, FAILURE_MESSAGE_SIZE, message);
    units_free(units);
    return done;
}

struct good {
    enum quantity quantity;
    const char *text;
    double value;
};

static const struct good goods[] = {
    {QUANTITY_LENGTH, "2.1 m", 2.1},
    {QUANTITY_LENGTH, "12mm", 0.012},
    {QUANTITY_LENGTH, "2 in", 0.0508},
    {QUANTITY_LENGTH, "2 \"", 0.0508},
    {QUANTITY_LENGTH, "-1.2 m", -1.2},
    {QUANTITY_LENGTH, "10 ft", 3.048},
    {QUANTITY_LENGTH, "1.5 \xC2\xB5m", 1.5e-6},
    {QUANTITY_AREA, "6 m2", 6},
    {QUANTITY_AREA, "1 mm2", 1e-6},
    {QUANTITY_FLOW, "1.2 L/s", 0.0012},
    {QUANTITY_FLOW, "60 l/min", 0.001},
    {QUANTITY_FLOW, "60 L/m", 0.001},
    {QUANTITY_FLOW, "3.6 m3/h", 0.001},
    {QUANTITY_FLOW, "3.6 m\xC2\xB3/h", 0.001},
    {QUANTITY_FLOW, "1 gal/min", 0.003785411784 / 60},
    {QUANTITY_FLOW, "1 gpm", 0.003785411784 / 60},
    {QUANTITY_FLOW, "1 imp gal/min", 0.00454609 / 60},
    {QUANTITY_FLOW, "1 lps", 0.001},
    {QUANTITY_TEMPERATURE, "11 degC", 11},
    {QUANTITY_TEMPERATURE, "50 degF", 10},
    {QUANTITY_TEMPERATURE, "283.15 K", 10},
    {QUANTITY_PRESSURE, "0.3 bar", 30000},
    {QUANTITY_PRESSURE, "20 mbar", 2000},
    {QUANTITY_PRESSURE, "1 mH2O", 9806.65},
    {QUANTITY_HEAD, "1 mH2O", 1},
    {QUANTITY_HEAD, "3 m of head", 3},
    {QUANTITY_ANGLE, "90 deg", 1.5707963267948966},
    {QUANTITY_ANGLE, "45\xC2\xB0", 0.78539816339744831},
    {QUANTITY_TURNS, "2900 rpm", 2900.0 / 60},
    {QUANTITY_TURNS, "2900 1/min", 2900.0 / 60},
    {QUANTITY_TURNS, "6.283185307179586 rad/s", 1},
    {QUANTITY_POWER, "0.55 kW", 550},
    {QUANTITY_INERTIA, "0.006 kg m2", 0.006},
    {QUANTITY_MOMENT, "2 Nm", 2},
    {QUANTITY_RESISTANCE, "2e4 s2/m5", 2e4},
    {QUANTITY_VISCOSITY, "1 cSt", 1e-6},
    {QUANTITY_ENERGY_PRICE, "0.36 /kWh", 1e-7},
    {QUANTITY_COMPLIANCE, "0.1 /GPa", 1e-10},
    {QUANTITY_TIME, "2000 h", 7.2e6},
    {QUANTITY_NUMBER, "0.8", 0.8},
    {QUANTITY_NUMBER, "80 %", 0.8},
};

Test(units, trade_words_become_si)
{
    for (size_t i = 0; i < sizeof goods / sizeof *goods; i++) {
        double value[ROOM];
        struct amount amount = {.value = value};
        char message[FAILURE_MESSAGE_SIZE] = "";
        cr_expect(read(goods[i].quantity, goods[i].text, &amount, message), "%s", message);
        cr_expect_eq(amount.count, 1, "%s", goods[i].text);
        cr_expect(fabs(value[0] - goods[i].value) <= 1e-12 + 1e-9 * fabs(goods[i].value),
                  "%s gave %.17g", goods[i].text, value[0]);
    }
}

Test(units, psi_is_nist_s_figure)
{
    double value[ROOM];
    struct amount amount = {.value = value};
    char message[FAILURE_MESSAGE_SIZE];
    cr_assert(read(QUANTITY_PRESSURE, "1 psi", &amount, message));
    cr_expect_float_eq(value[0], 6894.757, 0.0005);
}

Test(units, list_is_numbers_and_then_one_unit)
{
    double value[ROOM];
    struct amount amount = {.value = value};
    char message[FAILURE_MESSAGE_SIZE];
    cr_assert(read(QUANTITY_FLOW, "0 1 2.5  3 4 L/s", &amount, message));
    cr_assert_eq(amount.count, 5);
    cr_expect_float_eq(value[2], 0.0025, 1e-15);
    cr_expect_float_eq(value[4], 0.004, 1e-15);
}

Test(units, head_given_as_pressure_is_told)
{
    double value[ROOM];
    struct amount amount = {.value = value};
    char message[FAILURE_MESSAGE_SIZE];
    cr_assert(read(QUANTITY_HEAD, "0.3 bar", &amount, message));
    cr_expect(amount.is_pressure);
    cr_expect_float_eq(value[0], 30000, 1e-9);
}

struct bad {
    enum quantity quantity;
    const char *text;
    const char *fragment;
};

static const struct bad bads[] = {
    {QUANTITY_LENGTH, "2.1", "has no unit; a length is expected"},
    {QUANTITY_LENGTH, "2.1 L", "'L' is not a unit of length"},
    {QUANTITY_LENGTH, "", "is not a length"},
    {QUANTITY_LENGTH, "nan m", "is not a length"},
    {QUANTITY_LENGTH, "inf m", "is not a length"},
    {QUANTITY_LENGTH, "0x10 m", "not a unit"},
    {QUANTITY_LENGTH, "1e400 m", "is not a length"},
    {QUANTITY_LENGTH, "1e9 m", "too large"},
    {QUANTITY_LENGTH, "2,1 m", "decimal point, not comma"},
    {QUANTITY_LENGTH, "1.2.3 m", "is not a length"},
    {QUANTITY_LENGTH, "2 m since 1990-01-01", "not a unit"},
    {QUANTITY_LENGTH, "2 m @ 5", "not a unit"},
    {QUANTITY_LENGTH, "2 lg(re 1 m)", "not a unit"},
    {QUANTITY_LENGTH, "1 2 3 4 5 6 7 8 9 m", "at most 8"},
    {QUANTITY_LENGTH, "1 m m m m m m m m m m m m m m m m m m m m m m m m m m", "not a unit"},
    {QUANTITY_FLOW, "1 gal", "not a unit of flow"},
    {QUANTITY_FLOW, "1 mH2O", "not a unit of flow"},
    {QUANTITY_AREA, "1 L/m s", "not a unit of area"},
    {QUANTITY_NUMBER, "90 deg", "a plain number is expected"},
    {QUANTITY_NUMBER, "five", "is not a number"},
    {QUANTITY_TIME, "2 s since 1990-01-01", "not a unit of time"},
};

Test(units, anything_else_is_refused_with_a_remedy)
{
    for (size_t i = 0; i < sizeof bads / sizeof *bads; i++) {
        double value[ROOM];
        struct amount amount = {.value = value};
        char message[FAILURE_MESSAGE_SIZE] = "";
        cr_expect_not(read(bads[i].quantity, bads[i].text, &amount, message), "%s", bads[i].text);
        cr_expect_not_null(strstr(message, bads[i].fragment), "%s: %s", bads[i].text, message);
    }
}
