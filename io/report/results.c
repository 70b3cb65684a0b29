/* What the solvers found: pictures, findings, tables of flow and of surge. */
#include "io/report/html.h"
#include "io/report/sections.h"
#include "io/report/svg.h"
#include "io/results/findings_sheet.h"

#include <math.h>
#include <string.h>

void section_pictures(const struct material *material, FILE *out)
{
    for (int i = 0; i < material->picture_count; i++) {
        const struct picture *picture = &material->pictures[i];
        const struct svg_words words = {i + 1, picture->title, picture->description};
        html_wrap(out,
                  "<figure>\n<div class=\"scroll\" role=\"region\" tabindex=\"0\" aria-label=\"",
                  picture->title, "\">\n");
        bool is_put = svg_put(out, picture->text, &words);
        html_wrap(out,
                  is_put ? "</div>\n<figcaption>"
                         : "No picture was made of this.</div>\n"
                           "<figcaption>",
                  picture->title, ". ");
        html_wrap(out, "", picture->has_legend ? "" : picture->description,
                  "</figcaption>\n</figure>\n");
    }
    if (material->picture_why[0]) {
        html_wrap(out, "<p>Pictures are missing: ", material->picture_why, ".</p>\n");
    }
    if (!material->site) {
        html_wrap(out, "<p>There is no sketch of the site: ", material->case_why, ".</p>\n");
    }
    if (material->picture_count == 0 && !material->picture_why[0] && material->site) {
        (void)fputs("<p>None.</p>\n", out);
    }
}

static void put_finding(const struct sheet *findings, size_t row, FILE *out)
{
    const char *level = material_word(findings, "level", row);
    const char *unit = material_word(findings, "unit", row);
    const char *remedy = material_word(findings, "remedy", row);
    const char *source = material_word(findings, "source", row);
    double value = material_value(findings, "value", row);
    double limit = material_value(findings, "limit", row);
    double line = material_value(findings, "line", row);
    bool is_bad = strcmp(level, finding_level_text(FINDING_FAILED)) == 0;
    bool is_care = strcmp(level, finding_level_text(FINDING_WARNING)) == 0;
    (void)fprintf(out, "<li class=\"%s\">", is_bad ? "bad" : is_care ? "care" : "note");
    html_wrap(out, "<strong>", level, "</strong>");
    html_wrap(out, ": <strong>", material_word(findings, "subject", row), "</strong>: ");
    html_text(out, material_word(findings, "text", row));
    if (isfinite(value)) {
        (void)fputs(": ", out);
        findings_value(out, value, unit);
    }
    if (isfinite(value) && fabs(limit) > 0.0) { /* a rule without a limit has 0 there, or NAN */
        (void)fputs(", limit ", out);
        findings_value(out, limit, unit);
    }
    if (*remedy) {
        html_wrap(out, ".\n<p>Remedy: ", remedy, ".</p>");
    }
    if (*source || line > 0.0) {
        html_wrap(out, "\n<p class=\"quiet\">", *source ? "Source: " : "", "");
        html_text(out, source);
        if (line > 0.0) {
            (void)fprintf(out, "%sline %.0f of the case", *source ? "; " : "", line);
        }
        (void)fputs("</p>", out);
    }
    (void)fputs("</li>\n", out);
}

void section_findings(const struct material *material, FILE *out)
{
    size_t count = material_rows(&material->findings, "finding");
    if (count == 0) {
        (void)fputs("<p>None: every rule of good practice that could be tried is kept.</p>\n", out);
        return;
    }
    (void)fputs("<p>Of the steady flow, with the valves the case has now; the gravest first.</p>\n"
                "<ul class=\"findings\">\n",
                out);
    for (size_t i = 0; i < count; i++) {
        put_finding(&material->findings, i, out);
    }
    (void)fputs("</ul>\n", out);
}

static const struct html_column run_columns[] = {
    {"run", "run", "", 1.0, HTML_TEXT},
    {"run_from", "from", "", 1.0, HTML_TEXT},
    {"run_to", "to", "", 1.0, HTML_TEXT},
    {"run_flow", "flow", "L/s", 1e3, 3},
    {"run_flow", "flow", "m\xC2\xB3/h", 3600.0, 2},
    {"run_velocity", "fastest pipe", "m/s", 1.0, 2},
    {"run_rise", "head gained", "m", 1.0, 2},
    {NULL, NULL, NULL, 0.0, 0},
};

static const struct html_column pump_columns[] = {
    {"pump", "pump", "", 1.0, HTML_TEXT},
    {"pump_flow", "flow", "L/s", 1e3, 3},
    {"pump_head", "head", "m", 1.0, 2},
    {"pump_power", "shaft power", "kW", 1e-3, 3},
    {"npsh_available", "NPSH there", "m", 1.0, 2},
    {"npsh_required", "NPSH required", "m", 1.0, 2},
    {"npsh_margin", "to spare", "m", 1.0, 2},
    {NULL, NULL, NULL, 0.0, 0},
};

static const struct html_column valve_columns[] = {
    {"valve", "non-return valve", "", 1.0, HTML_TEXT},
    {"valve_type", "type", "", 1.0, HTML_TEXT},
    {"valve_flow", "flow", "L/s", 1e3, 3},
    {"valve_velocity", "velocity", "m/s", 1.0, 2},
    {"valve_head", "head taken", "m", 1.0, 3},
    {"valve_opening", "open", "%", 100.0, 0},
    {NULL, NULL, NULL, 0.0, 0},
};

static const struct html_column tank_columns[] = {
    {"tank", "tank", "", 1.0, HTML_TEXT},
    {"tank_level", "level", "m", 1.0, 2},
    {"tank_inflow", "net inflow", "L/s", 1e3, 3},
    {"tank_inflow", "net inflow", "m\xC2\xB3/h", 3600.0, 2},
    {NULL, NULL, NULL, 0.0, 0},
};

static const struct html_column point_columns[] = {
    {"point", "point", "", 1.0, HTML_TEXT}, {"elevation", "elevation", "m", 1.0, 2},
    {"head", "head", "m", 1.0, 2},          {"pressure", "pressure", "bar", 1e-5, 3},
    {"draw", "drawn off", "L/s", 1e3, 3},   {NULL, NULL, NULL, 0.0, 0},
};

enum { ROWS_MOST = 500 }; /* of a table that a person reads */

static void put_table(const struct sheet *sheet, const char *caption,
                      const struct html_column *columns, const char *mask, FILE *out)
{
    size_t count = material_rows(sheet, columns->field);
    const struct field *shown = mask ? sheet_find(sheet, mask) : NULL;
    bool is_any = !shown || !shown->numbers;
    for (size_t i = 0; shown && shown->numbers && i < count && i < shown->count; i++) {
        is_any = is_any || shown->numbers[i] > 0.0;
    }
    if (count > 0 && is_any) {
        size_t end = count < ROWS_MOST ? count : ROWS_MOST;
        html_sheet(out, sheet, caption, columns, &(struct html_rows){0, end, mask});
        if (end < count) {
            (void)fprintf(out, "<p>The first %d of %zu rows; all are in the results.</p>\n",
                          ROWS_MOST, count);
        }
    }
}

/* Puts the names of tanks where the results name the mouths of their runs. */
static void name_ends(const struct material *material, struct sheet *steady)
{
    const struct network *network = material->site->network;
    for (int k = 0; k < steady->field_count; k++) {
        struct field *field = &steady->fields[k];
        bool is_to = strcmp(field->name, "run_to") == 0;
        bool is_end = is_to || strcmp(field->name, "run_from") == 0;
        if (!is_end || !field->texts || field->count != (size_t)network->run_count) {
            continue;
        }
        const char **names = arena_take(material->arena, field->count + 1, sizeof *names);
        for (size_t i = 0; names && i < field->count; i++) {
            const struct run *run = &network->runs[i];
            names[i] = material_end(network, is_to ? run->to : run->from);
        }
        field->texts = names ? names : field->texts;
    }
}

void section_flow(const struct material *material, FILE *out)
{
    struct sheet renamed = material->steady;
    const struct sheet *steady = &renamed;
    if (material->site) {
        name_ends(material, &renamed);
    }
    put_table(steady, "Runs", run_columns, NULL, out);
    put_table(steady, "Pumps", pump_columns, NULL, out);
    put_table(steady, "Non-return valves as the case has them", valve_columns, NULL, out);
    put_table(steady, "Tanks", tank_columns, NULL, out);
    put_table(steady, "Points", point_columns, "is_named", out);
}

static const struct html_column surge_run_columns[] = {
    {"run", "run", "", 1.0, HTML_TEXT},
    {"run_highest", "highest", "m", 1.0, 1},
    {"run_highest_band", "right within", "m", 1.0, 2},
    {"run_highest_at", "at", "m along", 1.0, 1},
    {"run_allowed", "class allows", "m", 1.0, 1},
    {"run_highest_share", "of class", "%", 100.0, 0},
    {"run_lowest", "lowest", "m", 1.0, 1},
    {"run_lowest_band", "right within", "m", 1.0, 2},
    {"run_lowest_at", "at", "m along", 1.0, 1},
    {"run_lowest_margin", "above boiling", "m", 1.0, 1},
    {NULL, NULL, NULL, 0.0, 0},
};

static const struct html_column surge_valve_columns[] = {
    {"valve", "non-return valve", "", 1.0, HTML_TEXT},
    {"valve_type", "type", "", 1.0, HTML_TEXT},
    {"shut_time", "shut after", "s", 1.0, 3},
    {"reverse_velocity", "ran back", "m/s", 1.0, 3},
    {"reverse_velocity_band", "right within", "m/s", 1.0, 3},
    {"slam_head", "slam", "m", 1.0, 1},
    {"slam_head_band", "right within", "m", 1.0, 2},
    {"shuts", "met its seat", "times", 1.0, 0},
    {"opening_end", "open at end", "%", 100.0, 0},
    {NULL, NULL, NULL, 0.0, 0},
};

static const struct html_column vessel_columns[] = {
    {"vessel", "air vessel", "", 1.0, HTML_TEXT},
    {"vessel_volume", "volume", "L", 1e3, 1},
    {"vessel_gas_start", "gas at first", "L", 1e3, 1},
    {"vessel_gas_min", "least", "L", 1e3, 1},
    {"vessel_gas_max", "most", "L", 1e3, 1},
    {"vessel_pressure_max", "highest pressure", "m", 1.0, 1},
    {"vessel_pressure_min", "lowest", "m", 1.0, 1},
    {"vessel_empty_time", "empty after", "s", 1.0, 2},
    {NULL, NULL, NULL, 0.0, 0},
};

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
    put_table(surge, "Pressure along each run", surge_run_columns, NULL, out);
    put_table(surge, "Non-return valves while things moved", surge_valve_columns, NULL, out);
    put_table(surge, "Air vessels", vessel_columns, NULL, out);
}

static const struct html_column hours_tank_columns[] = {
    {"tank", "tank", "", 1.0, HTML_TEXT},
    {"level_start", "level at first", "m", 1.0, 2},
    {"level_end", "at the end", "m", 1.0, 2},
    {"level_lowest", "lowest", "m", 1.0, 2},
    {"level_highest", "highest", "m", 1.0, 2},
    {"tank_in", "came in", "m\xC2\xB3", 1.0, 2},
    {"tank_out", "went out", "m\xC2\xB3", 1.0, 2},
    {"overflow", "ran over", "m\xC2\xB3", 1.0, 2},
    {NULL, NULL, NULL, 0.0, 0},
};

static const struct html_column hours_pump_columns[] = {
    {"pump", "pump", "", 1.0, HTML_TEXT},           {"starts", "starts", "", 1.0, 0},
    {"most_starts", "most in an hour", "", 1.0, 0}, {"run_time", "ran", "h", 1.0 / 3600.0, 2},
    {"shortest_run", "shortest run", "s", 1.0, 0},  {"pumped", "pumped", "m\xC2\xB3", 1.0, 2},
    {"energy", "energy", "kWh", 1.0 / 3.6e6, 2},    {"cost", "cost", "", 1.0, 2},
    {"idle_run", "ran without prime", "s", 1.0, 0}, {NULL, NULL, NULL, 0.0, 0},
};

void section_filling(const struct material *material, FILE *out)
{
    const struct sheet *filling = &material->filling;
    html_wrap(out, "<p>Ending: ", material_text(filling, "ending", "not known"), ", after ");
    html_number(out, material_number(filling, "time_reached") / 3600.0, 2);
    (void)fputs(" h; water gained or lost by the computation: ", out);
    html_number(out, 1e3 * material_number(filling, "water_residual"), 3);
    (void)fputs(" L.</p>\n", out);
    put_table(filling, "Tanks over the hours", hours_tank_columns, "tank_moves", out);
    put_table(filling, "Pumps over the hours", hours_pump_columns, NULL, out);
}

static const struct html_column measure_columns[] = {
    {"measure", "measure", "", 1.0, HTML_TEXT},
    {"unit", "unit", "", 1.0, HTML_TEXT},
    {"count", "variants", "", 1.0, 0},
    {"least", "least", "", 1.0, HTML_DIGITS},
    {"low", "5 of 100 below", "", 1.0, HTML_DIGITS},
    {"median", "median", "", 1.0, HTML_DIGITS},
    {"high", "5 of 100 above", "", 1.0, HTML_DIGITS},
    {"greatest", "greatest", "", 1.0, HTML_DIGITS},
    {NULL, NULL, NULL, 0.0, 0},
};

static const struct html_column limit_columns[] = {
    {"limit", "limit", "", 1.0, HTML_TEXT},
    {"known", "variants", "", 1.0, 0},
    {"exceeded", "that exceed it", "", 1.0, 0},
    {"share", "share", "%", 100.0, 1},
    {"share_low", "95 % interval from", "%", 100.0, 1},
    {"share_high", "to", "%", 100.0, 1},
    {NULL, NULL, NULL, 0.0, 0},
};

void section_study(const struct material *material, FILE *out)
{
    (void)fputs("<p>What many variants of the case come to, in SI units; the variants themselves "
                "stand in the results.</p>\n",
                out);
    put_table(&material->study, "Measures over all variants", measure_columns, NULL, out);
    if (material->has_limits) {
        put_table(&material->limits, "Limits over all variants", limit_columns, NULL, out);
    }
}
