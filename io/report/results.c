/* What the solvers found: pictures, findings, tables of flow and of surge. */
#include "io/report/html.h"
#include "io/report/sections.h"
#include "io/report/svg.h"
#include "io/results/findings_sheet.h"
#include "io/results/trade_columns.h"

#include <math.h>
#include <string.h>

/* Whether a picture before this one has the same description; it need not be printed again (it
 * stays inside the picture, for those who cannot see it). */
static bool is_described(const struct material *material, int number)
{
    for (int i = 0; i < number; i++) {
        if (material->pictures[i].description == material->pictures[number].description) {
            return true;
        }
    }
    return false;
}

void section_pictures(const struct material *material, FILE *out)
{
    for (int i = 0; i < material->picture_count; i++) {
        const struct picture *picture = &material->pictures[i];
        const struct svg_words words = {i + 1, picture->title, picture->description};
        const bool is_told = is_described(material, i);
        html_wrap(out, picture->is_tall ? "<figure class=\"tall\">\n" : "<figure>\n", "", "");
        html_wrap(out, "<div class=\"scroll\" role=\"region\" tabindex=\"0\" aria-label=\"",
                  picture->title, "\">\n");
        bool is_put = svg_put(out, picture->text, &words);
        html_wrap(out,
                  is_put ? "</div>\n<figcaption>"
                         : "No picture was made of this.</div>\n"
                           "<figcaption>",
                  picture->title, ". ");
        html_wrap(out, "", picture->has_legend || is_told ? "" : picture->description,
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
    char amount[64];
    bool is_bad = strcmp(level, finding_level_text(FINDING_FAILED)) == 0;
    bool is_care = strcmp(level, finding_level_text(FINDING_WARNING)) == 0;
    (void)fprintf(out, "<li class=\"%s\">", is_bad ? "bad" : is_care ? "care" : "note");
    html_wrap(out, "<strong>", level, "</strong>");
    html_wrap(out, ": <strong>", material_word(findings, "subject", row), "</strong>");
    if (*material_word(findings, "other", row)) {
        html_wrap(out, " to <strong>", material_word(findings, "other", row), "</strong>");
    }
    (void)fputs(": ", out);
    html_text(out, material_word(findings, "text", row));
    if (isfinite(value)) {
        findings_value(sizeof amount, amount, value, unit);
        (void)fprintf(out, ": %s", amount);
    }
    if (isfinite(value) && fabs(limit) > 0.0) { /* a rule without a limit has 0 there, or NAN */
        findings_value(sizeof amount, amount, limit, unit);
        (void)fprintf(out, ", limit %s", amount);
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

enum { ROWS_MOST = 500 }; /* of a table that a person reads */

void section_table(const struct sheet *sheet, const char *caption,
                   const struct trade_column *columns, const char *mask, FILE *out)
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
    section_table(steady, "Runs", steady_run_columns, NULL, out);
    section_table(steady, "Pumps", steady_pump_columns, NULL, out);
    section_table(steady, "Non-return valves as the case has them", steady_valve_columns, NULL,
                  out);
    section_table(steady, "Tanks", steady_tank_columns, NULL, out);
    section_table(steady, "Points", steady_point_columns, "is_named", out);
}
