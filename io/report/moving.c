/* What moves: pressure and valves in a surge, levels and pumps over hours. */
#include "io/report/html.h"
#include "io/report/sections.h"
#include "io/results/trade_columns.h"
#include "io/results/trade_unit.h"

#include <math.h>
#include <string.h>

static void put_energy_row(FILE *out, const char *what, const struct sheet *surge, const char *name)
{
    (void)fprintf(out, "<tr><th scope=\"row\">%s</th><td class=\"number\">", what);
    html_number(out, 1e-3 * material_number(surge, name), HTML_DIGITS);
    (void)fputs("</td></tr>\n", out);
}

/* Where the energy of the moving water came from and went. */
static void put_energy(const struct sheet *surge, FILE *out)
{
    static const char *const heads[] = {"energy over the run", "kJ"};
    if (!isfinite(material_number(surge, "energy_from_pumps"))) {
        return;
    }
    html_table_open(out, "Where the energy came from and went");
    html_heads(out, 2, heads, 1);
    put_energy_row(out, "given by the pumps", surge, "energy_from_pumps");
    put_energy_row(out, "given by tanks and open ends", surge, "energy_from_ends");
    put_energy_row(out, "lost to friction in pipes", surge, "energy_lost_in_pipes");
    put_energy_row(out, "lost in valves, bends and the like", surge, "energy_lost_in_parts");
    put_energy_row(out, "into the gas of air vessels", surge, "energy_to_vessels");
    put_energy_row(out, "more in moving water and stretched pipe than at first", surge,
                   "energy_stored");
    put_energy_row(out, "not accounted for", surge, "energy_residual");
    html_table_close(out);
}

/* The columns of the sizes tried; `heads` holds the words of the measures. */
enum { SIZING_COLUMNS_MOST = 24 };

static void put_sizing(const struct sheet *sizing, FILE *out)
{
    static const char *const ours[] = {"size", "is_kept", "is_doubtful", "has_run_empty",
                                       "is_broken_off"};
    struct trade_column columns[SIZING_COLUMNS_MOST] = {
        {"size", "size tried", "", 1.0, HTML_DIGITS},
        {"is_kept", "keeps every limit", "", 1.0, HTML_YES},
    };
    int count = 2;
    for (int i = 0; i < sizing->field_count && count + 2 < SIZING_COLUMNS_MOST; i++) {
        const struct field *field = &sizing->fields[i];
        const bool is_ours = field->kind == FIELD_TEXT ||
                             material_is_among(field->name, sizeof ours / sizeof ours[0], ours);
        if (!is_ours) {
            const struct trade_unit unit = trade_unit_of(field->units);
            columns[count++] = (struct trade_column){field->name, field->long_name, unit.unit,
                                                     unit.factor, HTML_DIGITS};
        }
    }
    const struct field *size = sheet_find(sizing, "size");
    if (!size) {
        return;
    }
    const struct trade_unit unit = trade_unit_of(size->units);
    columns[0].unit = unit.unit;
    columns[0].factor = unit.factor;
    html_wrap(out, "<h3>The smallest ", material_text(sizing, "kind", "protection"), "");
    (void)fputs(" that keeps the limits</h3>\n<p>", out);
    if (isfinite(material_number(sizing, "size"))) {
        html_wrap(out, "<strong>", material_text(sizing, "part", ""), "</strong>: ");
        html_number(out, unit.factor * material_number(sizing, "size"), HTML_DIGITS);
        html_wrap(out, " ", unit.unit, ". All that is told of the surge here is with that size.");
        (void)fputs(material_number(sizing, "is_confirmed") > 0.0
                        ? " Found on one grid, and kept on finer ones with the whole error band: "
                          "see the rows of that size with more grids."
                        : " Judged on one grid only: not confirmed on a finer one.",
                    out);
    } else {
        (void)fputs("None of those tried keeps them.", out);
    }
    (void)fputs("</p>\n", out);
    section_table(sizing, "Sizes tried", columns, NULL, out);
}

void section_surge(const struct material *material, FILE *out)
{
    const struct sheet *surge = &material->surge;
    (void)fputs("<p>Pressures are gauge pressures in metres of water over the pipe; below zero "
                "the pipe is sucked at from inside.</p>\n",
                out);
    if (sheet_find(surge, "run_highest_band")) {
        (void)fputs("<p>\"Right within\" is the error of the computation, from runs on several "
                    "grids; how well the case tells of the site is not in it.</p>\n",
                    out);
    }
    if (material->has_sizing) {
        put_sizing(&material->sizing, out);
    }
    section_table(surge, "Pressure along each run", surge_run_columns, NULL, out);
    section_table(surge, "Non-return valves while things moved", surge_valve_columns, NULL, out);
    section_table(surge, "Air vessels", surge_vessel_columns, NULL, out);
    section_table(surge, "Air valves", surge_air_valve_columns, NULL, out);
    put_energy(surge, out);
}

static const struct trade_column event_columns[] = {
    {"event", "what", "", 1.0, HTML_TEXT},
    {"event_text", "did", "", 1.0, HTML_TEXT},
    {"event_time", "after", "h", 1.0 / 3600.0, 3},
    {"event_level", "at the level", "m", 1.0, 2},
    {NULL, NULL, NULL, 0.0, 0},
};

static void put_draws(const struct sheet *filling, FILE *out)
{
    const double wanted = material_number(filling, "draws_wanted");
    if (wanted > 0.0) {
        (void)fputs("<p>Of the ", out);
        html_number(out, wanted, 2);
        (void)fputs(" m\xC2\xB3 that were to be drawn off, ", out);
        html_number(out, material_number(filling, "draws_given"), 2);
        (void)fputs(" m\xC2\xB3 were given.</p>\n", out);
    }
}

/* How much air is in a pump, and how much less it then takes, nobody knows. */
static void put_air(const struct sheet *filling, FILE *out)
{
    double energy = 0.0;
    for (size_t i = 0; i < material_rows(filling, "air_energy"); i++) {
        energy += fmax(material_value(filling, "air_energy", i), 0.0);
    }
    if (energy > 0.0) {
        (void)fputs("<p>Of the pumps' energy ", out);
        html_number(out, energy / 3.6e6, 2);
        (void)fputs(" kWh are counted for hours with air in them, as if no air came with the "
                    "water; with air they take less, how much is not known.</p>\n",
                    out);
    }
}

void section_filling(const struct material *material, FILE *out)
{
    const struct sheet *filling = &material->filling;
    html_wrap(out, "<p>Ending: ", material_text(filling, "ending", "not known"), ", after ");
    html_number(out, material_number(filling, "time_reached") / 3600.0, 2);
    (void)fputs(" h; water gained or lost by the computation: ", out);
    html_number(out, 1e3 * material_number(filling, "water_residual"), 3);
    (void)fputs(" L.</p>\n", out);
    put_draws(filling, out);
    section_table(filling, "Tanks over the hours", hours_tank_columns, "tank_moves", out);
    section_table(filling, "Runs over the hours", hours_run_columns, NULL, out);
    section_table(filling, "Pumps over the hours", hours_pump_columns, NULL, out);
    put_air(filling, out);
    section_table(filling, "Pressure where water is drawn, while it is drawn", hours_tap_columns,
                  NULL, out);
    section_table(filling, "Where water left the site", hours_end_columns, "end_is_open", out);
    section_table(filling, "What switched and ran over, in order", event_columns, NULL, out);
}
