/* Two lifts: a small case read from its text, on which choices of several valves are tried. */
#ifndef TESTS_IO_TWO_LIFTS_H
#define TESTS_IO_TWO_LIFTS_H

#include "io/door/door.h"
#include "io/door/read_choose.h"
#include "solver/choose/choose.h"

#include <criterion/criterion.h>
#include <stdio.h>
#include <string.h>

/* Two equal lifts side by side on one main, a foot valve under the first: valves in series and in
 * parallel. Power is the same at every flow, so that a year's energy is plain arithmetic. */
static const char head_of_case[] =
    "site: Two lifts\n"
    "water: {temperature: %s degC, altitude: 0 m, fibres: yes, grit: yes}\n"
    "energy: {price: 0.25 /kWh, hours: 4000 h}\n"
    "tanks:\n"
    "  sump: {floor: -2 m, brim: 1 m, level: %s m, area: 20 m2}\n"
    "  tower: {floor: 7 m, brim: 12 m, level: 10 m, area: 4 m2}\n"
    "points:\n"
    "  joint: {elevation: 0.5 m}\n"
    "pumps:\n"
    "  lift:\n"
    "    speed: 2900 rpm\n"
    "    flow: 0 1 2 3 4 L/s\n"
    "    head: 20 19.4 17.6 14.6 10.4 m\n"
    "    power: 0.6 0.6 0.6 0.6 0.6 kW\n"
    "    npsh required: 1 1.1 1.4 1.9 2.5 m\n"
    "    motor efficiency: 80 %%\n"
    "    inertia: 0.004 kg m2\n"
    "runs:\n"
    "  one:\n"
    "    from: sump\n"
    "    to: joint\n"
    "    parts:\n"
    "      - {non-return: foot flap, name: foot, size: DN50, strainer: yes}\n"
    "      - {pipe: pvc-u 63 pn10, length: 3 m, end: 0.5 m}\n"
    "      - {pump: lift, name: lift-1}\n"
    "      - {non-return: swing flap, name: first, size: DN50}\n"
    "      - {pipe: pvc-u 63 pn10, length: 4 m, end: 0.5 m}\n"
    "  other:\n"
    "    from: sump\n"
    "    to: joint\n"
    "    parts:\n"
    "      - {pipe: pvc-u 63 pn10, length: 5 m, end: 0.5 m}\n"
    "      - {pump: lift, name: lift-2}\n"
    "      - {non-return: swing flap, name: second, size: DN50}\n"
    "      - {pipe: pvc-u 63 pn10, length: 6 m, end: 0.5 m}\n"
    "  main:\n"
    "    from: joint\n"
    "    to: tower\n"
    "    parts:\n"
    "      - {pipe: pvc-u 75 pn10, length: 90 m, end: 7.5 m}\n"
    "surge:\n"
    "  duration: 1.5 s\n"
    "  events: [{at: 0.1 s, stop: lift-1}, {at: 0.1 s, stop: lift-2}]\n";

struct reading {
    struct arena *arena;
    struct site *site;
    struct faults faults;
    int site_count;
    const struct envelope_site *sites;
};

static inline void read_case(struct reading *reading, const char *temperature, const char *level,
                             const char *more)
{
    char text[4000];
    int length = snprintf(text, sizeof text, head_of_case, temperature, level);
    snprintf(text + length, sizeof text - (size_t)length, "%s", more);
    reading->arena = arena_new();
    faults_init(&reading->faults, reading->arena);
    const char *kept = arena_text(reading->arena, text);
    const bool is_read = read_site_text("two.yaml", kept, strlen(kept), reading->arena,
                                        &reading->site, &reading->faults);
    if (!is_read) {
        faults_write(&reading->faults, FAULT_ERROR, stderr);
    }
    cr_assert(is_read);
    reading->site_count =
        read_choose_sites(reading->site, reading->arena, &reading->sites, &reading->faults);
    cr_assert_gt(reading->site_count, 0);
}

static inline struct choose choose_on(struct reading *reading, bool without_surge)
{
    struct choose result = {0};
    struct failure failure = {0};
    const struct choose_options options = {.rule = choose_rule_default,
                                           .without_surge = without_surge};
    cr_assert(choose_run(reading->site_count, reading->sites, &options, &result, reading->arena,
                         &failure),
              "%s", failure.message);
    return result;
}

static const char envelope_words[] = "choose:\n"
                                     "  temperature: 3 30 degC\n"
                                     "  levels: {sump: -1.5 0.8 m}\n";

#endif
