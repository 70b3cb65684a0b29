#include "io/starter/starter.h"

#include <stddef.h>

const char starter_kinds[] = "pond rain spring sump";
const char starter_pumps[] = "above beside under";
const char starter_valve_places[] = "delivery foot both";

/* What hangs on the kind of site. The head of a pump is its lift and 3 m for what pipes and valves
 * take at 2 L/s, so that it runs near its best flow. */
struct kind {
    const char *title;
    const char *source; /* the tank that water comes from */
    const char *water;
    const char *valve; /* a non-return valve that such water does not clog */
    const char *why;   /* that valve */
    double warmest;    /* degC */
    double lift;       /* m */
    const char *caution;
};

static const struct kind kinds[] = {
    [STARTER_POND] =
        {"A pond and its filter", "pond",
         "{temperature: 18 degC, altitude: 100 m, fibres: yes, grit: yes}", "swing flap",
         "leaves and sand pass a flap", 24.0, 3.0,
         "Fish: have an alarm and a second means of air. People in the water: follow the\n"
         "# rules for suctions of your country."},
    [STARTER_RAIN] =
        {"Rain water for a house and garden", "rain tank",
         "{temperature: 12 degC, altitude: 100 m, fibres: yes, grit: no}", "swing flap",
         "leaves pass a flap; a spring would catch them", 20.0, 9.0,
         "Rain water meets a mains supply only over an air gap or the device that the\n"
         "# local rules name."},
    [STARTER_SPRING] =
        {"Spring water to high tanks", "spring",
         "{temperature: 9 degC, altitude: 400 m, fibres: no, grit: no}", "spring cone",
         "clean water; a spring shuts it early", 12.0, 14.0,
         "Drinking water: local rules say what may touch it and who may work on it."},
    [STARTER_SUMP] =
        {"A drained cellar or pit", "sump",
         "{temperature: 12 degC, altitude: 100 m, fibres: yes, grit: yes}", "swing flap",
         "dirt passes a flap", 20.0, 5.0,
         "A sump that overflows does harm: have an alarm and a second pump. Foul water\n"
         "# and its gases are for licensed trades."},
};

/* Pipes in which the water runs at about 1 m/s, by pumps (2 L/s each) and tanks. */
static const char *const branch_pipes[STARTER_PUMPS_MAX][STARTER_TANKS_MAX] = {
    {"pvc-u 50 pn10", "pvc-u 40 pn10", "pvc-u 40 pn10"},
    {"pvc-u 75 pn10", "pvc-u 50 pn10", "pvc-u 50 pn10"},
};

const char *starter_refusal(const struct starter *starter)
{
    if (starter->pump != STARTER_ABOVE && starter->valves != STARTER_DELIVERY) {
        return "a foot valve holds the prime of a pump that stands above the water; say --pump "
               "above, "
               "or --valves delivery";
    }
    return NULL;
}

static bool has_foot(const struct starter *starter)
{
    return starter->valves != STARTER_DELIVERY;
}

static bool has_delivery(const struct starter *starter)
{
    return starter->valves != STARTER_FOOT;
}

/* One pump and one tank need no point where runs meet. */
static bool is_one_run(const struct starter *starter)
{
    return starter->pump_count == 1 && starter->tank_count == 1;
}

static void write_head(const struct kind *kind, FILE *out)
{
    (void)fprintf(
        out,
        "# %s: a case to go on from, made by 'downsurge new'.\n"
        "#\n"
        "# Every number is constructed: change each to what you measured, or to what the maker\n"
        "# says. Heights are over one datum, here the water of the %s. Each number has its unit\n"
        "# (m, ft, L/s, m3/h, bar ...). With FILE for this file, ask in this order:\n"
        "#\n"
        "#   downsurge check  FILE                        what was understood and assumed\n"
        "#   downsurge steady FILE                        flow, heads, findings with remedies\n"
        "#   downsurge choose FILE --output choice.h5     which valve, and why\n"
        "#   downsurge surge  FILE --output surge.h5      what the pipe feels\n"
        "#   downsurge report choice.h5 surge.h5 --output site.html\n"
        "#\n"
        "# Screening figures: local codes and licensed practice rule. Isolate the power before "
        "you\n"
        "# reach in; relieve the pressure on both sides of a valve before you open a union.\n"
        "# %s\n\n",
        kind->title, kind->source, kind->caution);
}

static void write_tanks(const struct starter *starter, const struct kind *kind, FILE *out)
{
    (void)fprintf(
        out,
        "site: %s\n\n"
        "water: %s  # what clogs valves\n\n"
        "energy: {price: 0.30 /kWh, hours: 2000 h}  # hours a year that the pumps run\n\n"
        "tanks:  # level: the water now, at its lowest for suction, at its highest for lift\n"
        "  %s: {floor: -1.6 m, brim: 0.4 m, level: 0.0 m, area: 20 m2, outlet elevation: "
        "-1.2 m}\n",
        kind->title, kind->water, kind->source);
    for (int i = 1; i <= starter->tank_count; i++) {
        (void)fprintf(out,
                      "  tank %d: {floor: %.1f m, brim: %.1f m, level: %.1f m, area: 2 m2, inlet "
                      "elevation: %.1f m}\n",
                      i, kind->lift - 1.1, kind->lift + 0.3, kind->lift, kind->lift - 0.6);
    }
    if (!is_one_run(starter)) {
        (void)fputs("\npoints:\n  junction: {elevation: 1.0 m}  # where runs meet\n", out);
    }
}

/* A parabola through 4/3 of the head shut and the head at 2 L/s; powers of a pump that is best
 * there, with 55 %. */
static void write_pump(const struct starter *starter, const struct kind *kind, FILE *out)
{
    static const double head_shares[] = {4.0 / 3.0, 1.25, 1.0, 7.0 / 12.0};
    static const double power_shares[] = {20.0, 29.2, 35.7, 38.1}; /* W per m of head */
    double head = kind->lift + 3.0;
    (void)fputs(
        "\npumps:\n  lift:  # its maker's curve, point by point; inertia too if you find it\n"
        "    speed: 2850 rpm\n    flow: 0 1 2 3 L/s\n    head:",
        out);
    for (size_t i = 0; i < sizeof head_shares / sizeof head_shares[0]; i++) {
        (void)fprintf(out, " %.1f", head_shares[i] * head);
    }
    (void)fputs(" m\n    power:", out);
    for (size_t i = 0; i < sizeof power_shares / sizeof power_shares[0]; i++) {
        (void)fprintf(out, " %.0f", power_shares[i] * head);
    }
    (void)fputs(" W\n    motor efficiency: 75 %\n", out);
    if (starter->pump == STARTER_ABOVE) {
        (void)fputs("    npsh required: 1.1 1.2 1.5 2.0 m  # decides whether it can suck\n", out);
    }
}

static void write_suction(const struct starter *starter, int number, FILE *out)
{
    if (has_foot(starter)) {
        (void)fprintf(out,
                      "      - {non-return: foot flap, name: foot %d, size: DN40, strainer: yes}\n",
                      number);
    }
    switch (starter->pump) {
    case STARTER_ABOVE:
        if (!has_foot(starter)) {
            (void)fputs(
                "      - {entry: projecting}  # without a foot valve it must be primed by hand\n",
                out);
        }
        (void)fputs(
            "      - {pipe: pvc-u 50 pn10, length: 3 m, end: 0.8 m}  # the suction: as short as "
            "can be\n",
            out);
        break;
    case STARTER_BESIDE:
        (void)fputs(
            "      - {pipe: pvc-u 50 pn10, length: 1 m, end: -1.0 m}  # water runs into the pump\n",
            out);
        break;
    case STARTER_UNDER:
        (void)fputs(
            "      - {pipe: pvc-u 50 pn10, length: 0.3 m, end: -1.0 m}  # the pump's own inlet\n",
            out);
        break;
    }
}

/* The pump, its valve and what lies between them. */
static void write_pump_parts(const struct starter *starter, const struct kind *kind, int number,
                             FILE *out)
{
    (void)fprintf(out, "      - {pump: lift, name: pump %d}\n", number);
    if (!has_delivery(starter)) {
        (void)fputs("      - union\n", out);
        return;
    }
    (void)fprintf(out,
                  "      - union  # on both sides of the valve, so that it can be taken out\n"
                  "      # %s; 5 bores of straight pipe before it are better\n"
                  "      - {non-return: %s, name: keeper %d, size: DN40, mounting: vertical up}\n"
                  "      - union\n",
                  kind->why, kind->valve, number);
}

static void write_rise(const struct starter *starter, const struct kind *kind, int number,
                       FILE *out)
{
    (void)fprintf(
        out,
        "      - {pipe: %s, length: %d m, end: %.1f m}  # over a hill: profile: FILE.csv\n"
        "      - {bend: 90 deg, count: 4}\n",
        branch_pipes[starter->pump_count - 1][starter->tank_count - 1],
        (int)(2.0 * kind->lift) + 10 + 5 * number, kind->lift - 0.6);
}

static void write_runs(const struct starter *starter, const struct kind *kind, FILE *out)
{
    (void)fputs("\nruns:  # parts in the order that the water takes\n", out);
    for (int i = 1; i <= starter->pump_count; i++) {
        (void)fprintf(out, "  lift %d:\n    from: %s\n    to: %s\n    parts:\n", i, kind->source,
                      is_one_run(starter) ? "tank 1" : "junction");
        write_suction(starter, i, out);
        write_pump_parts(starter, kind, i, out);
        if (is_one_run(starter)) {
            write_rise(starter, kind, 1, out);
            return;
        }
        (void)fputs("      - {pipe: pvc-u 50 pn10, length: 4 m, end: 1.0 m}\n"
                    "      - {bend: 90 deg, count: 2}\n",
                    out);
    }
    for (int i = 1; i <= starter->tank_count; i++) {
        (void)fprintf(out, "  rise %d:\n    from: junction\n    to: tank %d\n    parts:\n", i, i);
        write_rise(starter, kind, i, out);
    }
}

static void write_questions(const struct starter *starter, const struct kind *kind, FILE *out)
{
    (void)fputs("\nsurge:  # the hardest ordinary day: the power fails\n  duration: 2.5 s  # until "
                "the valves have shut\n  events:\n",
                out);
    for (int i = 1; i <= starter->pump_count; i++) {
        (void)fprintf(out, "    - {at: 0.2 s, stop: pump %d}\n", i);
    }
    (void)fputs("  gauges: [", out);
    for (int i = 1; i <= starter->pump_count; i++) {
        (void)fprintf(out, "%s%s %d", i > 1 ? ", " : "", has_delivery(starter) ? "keeper" : "foot",
                      i);
    }
    (void)fprintf(out,
                  "]\n\nchoose:  # what the valves must do well in\n"
                  "  temperature: 4 %.0f degC  # coldest and warmest water\n",
                  kind->warmest);
}

void starter_write(const struct starter *starter, FILE *out)
{
    const struct kind *kind = &kinds[starter->kind];
    write_head(kind, out);
    write_tanks(starter, kind, out);
    write_pump(starter, kind, out);
    write_runs(starter, kind, out);
    write_questions(starter, kind, out);
}
