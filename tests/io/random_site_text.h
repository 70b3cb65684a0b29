/* How a random site (tests/io/random_site.h) is written as a case. */
#ifndef TESTS_IO_RANDOM_SITE_TEXT_H
#define TESTS_IO_RANDOM_SITE_TEXT_H

#include "tests/io/random_site.h"

#include <math.h>

static inline const char *end_name(const struct world *world, int end)
{
    static const char *const names[2][ENDS] = {{"a", "b", "c", "p", "q"},
                                               {"zulu", "tank of b", "3rd", "K-1", "x y z"}};
    return names[world->has_other_names][end];
}

/* The valve of run 0 and that of run 1. */
static inline const char *valve_name(const struct world *world, int run)
{
    static const char *const names[2][2] = {{"riser", "flap"}, {"zz valve", "1st"}};
    return names[world->has_other_names][run];
}

static inline void say_length(struct page *page, const struct world *world, const char *key,
                              double metres)
{
    const double foot = 0.3048; /* exactly: NIST SP 811, appendix B */
    if (world->in_other_units) {
        say(page, "%s: %.17g ft", key, metres * world->scale / foot);
    } else {
        say(page, "%s: %.17g m", key, metres * world->scale);
    }
}

static inline void say_tanks(struct page *page, const struct world *world)
{
    say(page, "tanks:\n");
    for (int i = 0; i < TANKS; i++) {
        const int tank = world->is_backward ? TANKS - 1 - i : i;
        say(page, "  %s: {", end_name(world, tank));
        if (world->is_moving) {
            say_length(page, world, "floor", -200 + world->raised);
            say_length(page, world, ", brim", 300 + world->raised);
        }
        say(page, world->is_moving ? ", area: 5 m2, " : "fixed: yes, ");
        say_length(page, world, "level", world->level[tank] + world->raised);
        say(page, "}\n");
    }
}

static inline void say_points(struct page *page, const struct world *world)
{
    say(page, "points:\n");
    for (int i = 0; i < POINTS; i++) {
        const double draw = world->draw[i] * pow(world->scale, 2.5);
        say(page, "  %s: {", end_name(world, TANKS + i));
        say_length(page, world, "elevation", -100 + world->raised);
        say(page, world->in_other_units ? ", draw: %.17g m3/h}\n" : ", draw: %.17g L/s}\n",
            world->in_other_units ? draw * 3.6 : draw);
    }
    if (world->has_dead_leg) {
        say(page, "  nowhere: {elevation: -90 m}\n");
    }
}

static inline void say_pipe(struct page *page, const struct world *world, int run, double length,
                            const char *name)
{
    const double bore = world->bore[run] * world->scale;
    say(page, "      - {pipe: own, name: %s, ", name);
    say_length(page, world, "length", length);
    say(page, world->in_other_units ? ", bore: %.17g cm" : ", bore: %.17g mm",
        world->in_other_units ? bore / 10 : bore);
    say(page, world->has_factor ? ", friction factor: 0.02" : ", roughness: 0.02 mm");
    say(page, ", class: 16 bar, wave speed: %.17g m/s}\n", 900 * sqrt(world->scale));
}

enum { PARTS = 5 };

/* Part number `part` of a run, as the water meets them from the end that the tables call the first.
 */
static inline void say_part(struct page *page, const struct world *world, int run, int part)
{
    char name[20];
    const bool is_cut = world->is_split && run == 0;
    (void)snprintf(name, sizeof name, "pipe%d", run);
    if (part == 0 && run == 0 && world->speed > 0) {
        say(page, "      - {pump: lift, name: lift-1, speed: %.17g rpm, bore: 50 mm}\n",
            world->speed);
    } else if (part == 1 && is_cut) {
        say_pipe(page, world, run, world->length[run] / 2, "half");
    } else if (part == 2) {
        say_pipe(page, world, run, world->length[run] * (is_cut ? 0.5 : 1), name);
    } else if (part == 3 && (run == 0 ? world->has_riser : run == 1 && world->has_flap)) {
        say(page, "      - {non-return: swing flap, name: %s, size: DN50, mounting: level}\n",
            valve_name(world, run));
    } else if (part == 4) {
        say(page, "      - {loss: %.17g}\n%s", world->loss[run],
            run == 2 ? "      - {valve: gate, name: gate, loss: 0.2}\n" : "");
    }
}

static inline void say_run(struct page *page, const struct world *world, int run)
{
    const int from = world->is_turned ? run_to[run] : run_from[run];
    const int to = world->is_turned ? run_from[run] : run_to[run];
    say(page, "  %s%d:\n    from: %s\n    to: %s\n    parts:\n",
        world->has_other_names ? "way " : "run", run, end_name(world, from), end_name(world, to));
    for (int i = 0; i < PARTS; i++) {
        say_part(page, world, run, world->is_turned ? PARTS - 1 - i : i);
    }
}

static inline void say_runs(struct page *page, const struct world *world)
{
    say(page, "runs:\n");
    for (int i = 0; i < RUNS; i++) {
        say_run(page, world, world->is_backward ? RUNS - 1 - i : i);
    }
    if (world->has_dead_leg) {
        say(page, "  leg: {from: %s, to: nowhere, parts: [{pipe: pvc-u 63 pn10, length: 30 m}]}\n",
            end_name(world, TANKS));
    }
}

/* Losses at tanks differ by the direction of a run, so they are switched off. */
static inline void say_world(struct page *page, const struct world *world)
{
    page->used = 0;
    say(page,
        "site: %s\nwater: {temperature: 15 degC, air pressure: 80 bar}\n"
        "losses: {entry: 0, exit: 0}\n",
        world->has_other_names ? "Other" : "Same");
    if (world->is_backward) {
        say_runs(page, world);
        say_points(page, world);
        say_tanks(page, world);
    } else {
        say_tanks(page, world);
        say_points(page, world);
        say_runs(page, world);
    }
    if (world->speed > 0) {
        say(page, "pumps:\n  lift: {speed: 2900 rpm, flow: 0 1 2 3 4 L/s, head: 24 23 20.5 16.5 11 "
                  "m, inertia: 0.002 kg m2}\n");
    }
    say(page, "%s", world->more);
}

#endif
