/* What holds of every element: it is in the list once, and its check keeps each number within the
 * limits that its header tells. */
#include "models/air_valve.h"
#include "models/draw_off.h"
#include "models/elements.h"
#include "models/float_valve.h"
#include "models/flow_limiter.h"
#include "models/regulator.h"
#include "models/relief_valve.h"
#include "models/strainer.h"
#include "models/throttling.h"
#include "tests/models/law_kit.h"
#include "tests/models/limit_kit.h"

Test(elements, every_kind_is_listed_once)
{
    cr_assert(element_count() >= 4);
    for (int i = 0; i < element_count(); i++) {
        cr_assert(element_at(i)->drop != NULL && element_at(i)->span != NULL);
        for (int k = 0; k < i; k++) {
            cr_assert(strcmp(element_at(i)->kind, element_at(k)->kind) != 0);
        }
    }
}

/* accepts_KIND, for limits_hold(). */
#define ACCEPTS(kind)                                                                              \
    static bool accepts_##kind(const void *data)                                                   \
    {                                                                                              \
        struct failure failure;                                                                    \
        return kind##_check(data, law_nowhere, &failure);                                          \
    }
#define ABOVE_0(kind, member)                                                                      \
    {                                                                                              \
        offsetof(struct kind, member), 0, HUGE_VAL, LIMIT_OPEN                                     \
    }
#define FROM_0(kind, member)                                                                       \
    {                                                                                              \
        offsetof(struct kind, member), 0, HUGE_VAL, LIMIT_LEAST_IN                                 \
    }
#define HOLD(kind, good, limits)                                                                   \
    limits_hold(accepts_##kind, &(good), sizeof(good), limits, sizeof(limits) / sizeof(limits)[0])

ACCEPTS(air_valve)
ACCEPTS(draw_off)
ACCEPTS(float_valve)
ACCEPTS(flow_limiter)
ACCEPTS(regulator)
ACCEPTS(relief_valve)
ACCEPTS(strainer)
ACCEPTS(throttling)

Test(elements, air_valves_keep_their_limits)
{
    static const struct limit limits[] = {
        ABOVE_0(air_valve, area_in),
        ABOVE_0(air_valve, area_out),
        {offsetof(struct air_valve, coefficient_in), 0, 1, LIMIT_MOST_IN},
        {offsetof(struct air_valve, coefficient_out), 0, 1, LIMIT_MOST_IN}};
    const struct air_valve good = {1e-3, 1e-3, 0.6, 0.6};
    HOLD(air_valve, good, limits);
}

Test(elements, draw_offs_keep_their_limits)
{
    static const struct limit limits[] = {
        ABOVE_0(draw_off, flow),
        ABOVE_0(draw_off, head),
        {offsetof(struct draw_off, exponent), 0.1, 1, LIMIT_BOTH_IN}};
    struct draw_off draw = {1e-3, 20, 0.5, HUGE_VAL};
    HOLD(draw_off, draw, limits);
    draw.most = 1e-6;
    cr_expect(accepts_draw_off(&draw));
    draw.most = 0;
    cr_expect_not(accepts_draw_off(&draw));
}

Test(elements, flow_limiters_keep_their_limits)
{
    static const struct limit limits[] = {ABOVE_0(flow_limiter, area), ABOVE_0(flow_limiter, loss),
                                          FROM_0(flow_limiter, laminar),
                                          ABOVE_0(flow_limiter, limit)};
    const struct flow_limiter good = {1e-3, 5, 100, 2e-3, true};
    HOLD(flow_limiter, good, limits);
}

Test(elements, strainers_keep_their_limits)
{
    static const struct limit limits[] = {
        ABOVE_0(strainer, area),
        ABOVE_0(strainer, clean_loss),
        FROM_0(strainer, laminar),
        {offsetof(struct strainer, blocked), 0, 1, LIMIT_BOTH_IN}};
    const struct strainer good = {1e-3, 2, 100, 0.5};
    HOLD(strainer, good, limits);
}

Test(elements, throttling_valves_keep_their_limits)
{
    static const struct limit limits[] = {
        ABOVE_0(throttling, area),
        ABOVE_0(throttling, open_loss),
        FROM_0(throttling, laminar),
        {offsetof(struct throttling, opening), 0, 1, LIMIT_BOTH_IN}};
    static const struct limit levels[] = {
        {offsetof(struct float_valve, open_level), -HUGE_VAL, 2, LIMIT_OPEN},
        {offsetof(struct float_valve, shut_level), 1, HUGE_VAL, LIMIT_OPEN},
        {offsetof(struct float_valve, level), -HUGE_VAL, HUGE_VAL, LIMIT_OPEN}};
    const struct throttling_kind *globe = throttling_catalogue_find("globe", NULL);
    const struct throttling good = {&globe->curve, 1e-3, 10, 100, 0.5};
    const struct float_valve floating = {good, 1, 2, 0};
    HOLD(throttling, good, limits);
    HOLD(float_valve, floating, levels);
}

Test(elements, relief_valves_keep_their_limits)
{
    static const struct limit limits[] = {
        ABOVE_0(relief_valve, area),
        {offsetof(struct relief_valve, coefficient), 0, 1, LIMIT_MOST_IN},
        FROM_0(relief_valve, set_head),
        FROM_0(relief_valve, overpressure),
        FROM_0(relief_valve, opening_time),
        FROM_0(relief_valve, closing_time)};
    const struct relief_valve good = {1e-3, 0.7, 40, 0.1, 1, 2};
    HOLD(relief_valve, good, limits);
}

/* The heads a regulator keeps and its stroke may be infinite: not asked, or never. */
Test(elements, regulators_keep_their_limits)
{
    static const struct limit limits[] = {ABOVE_0(regulator, area), ABOVE_0(regulator, open_loss),
                                          FROM_0(regulator, laminar)};
    static const struct {
        double behind;
        double before;
        double stroke;
        bool is_good;
    } rows[] = {{20, -HUGE_VAL, 5, true}, {HUGE_VAL, 30, 5, true},
                {20, 30, 5, true},        {20, 30, 0, true},
                {20, 30, HUGE_VAL, true}, {20, 30, -1e-9, false},
                {20, 30, NAN, false},     {HUGE_VAL, -HUGE_VAL, 5, false},
                {NAN, 30, 5, false},      {20, NAN, 5, false},
                {NAN, NAN, 5, false}};
    struct regulator regulator = {1e-3, 10, 0, 20, -HUGE_VAL, 5};
    HOLD(regulator, regulator, limits);
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        regulator.most_behind = rows[i].behind;
        regulator.least_before = rows[i].before;
        regulator.stroke = rows[i].stroke;
        cr_expect_eq(accepts_regulator(&regulator), rows[i].is_good, "%zu", i);
    }
}

/* What lets water through both ways without a limit says so; a narrow valve too. */
Test(elements, plain_losses_let_any_flow_through)
{
    static const char *const kinds[] = {"fitting", "strainer", "pipe", "pump"};
    static const _Alignas(16) unsigned char nothing[4096] = {0};
    int found = 0;
    for (int i = 0; i < element_count(); i++) {
        for (size_t k = 0; k < sizeof kinds / sizeof kinds[0]; k++) {
            if (strcmp(element_at(i)->kind, kinds[k]) == 0) {
                const struct span span = element_at(i)->span(nothing, &law_water);
                cr_expect(span.lower == -HUGE_VAL && span.upper == HUGE_VAL, "%s", kinds[k]);
                found++;
            }
        }
    }
    cr_expect_eq(found, 4);
    cr_expect(throttling_span(1e-5).lower == -HUGE_VAL && throttling_span(1e-5).upper == HUGE_VAL);
    cr_expect(throttling_span(1e-7).lower == 0 && throttling_span(1e-7).upper == 0);
}
