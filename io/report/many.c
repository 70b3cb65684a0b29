/* What many runs say together: the variants of a study, and what follows when one thing fails. */
#include "io/report/html.h"
#include "io/report/sections.h"
#include "io/results/trade_unit.h"

#include <math.h>
#include <string.h>

/* How many rows of a field of ones and noughts are ones. */
static size_t count_ones(const struct sheet *sheet, const char *field)
{
    size_t ones = 0;
    for (size_t i = 0; i < material_rows(sheet, field); i++) {
        ones += material_value(sheet, field, i) > 0.0;
    }
    return ones;
}

/* A study without limits has a table of none. */
static bool has_limits(const struct material *material)
{
    return material->has_limits && material_rows(&material->limits, "limit") > 0;
}

static void answer_study(const struct material *material, FILE *out)
{
    const struct sheet *variants = &material->variants;
    const size_t count = material_rows(variants, "status");
    size_t done = 0;
    for (size_t i = 0; i < count; i++) {
        done += strcmp(material_word(variants, "status", i), "done") == 0;
    }
    (void)fprintf(out, "<p>Of %zu variants %zu have an answer", count, done);
    if (has_limits(material)) {
        const size_t within = count_ones(variants, "within_limits");
        (void)fprintf(out, ", and %zu of these keep%s every limit of the study", within,
                      within == 1 ? "s" : "");
    }
    (void)fputs(": see <a href=\"#study\">many variants</a>.</p>\n", out);
}

static void answer_failures(const struct sheet *failures, FILE *out)
{
    html_wrap(out, "<p>When one thing fails, the worst is: <strong>",
              material_word(failures, "failure", 0), "</strong> (");
    html_text(out, material_word(failures, "grade", 0));
    html_wrap(out, "): ", material_word(failures, "then", 0),
              ". See <a href=\"#failures\">when one thing fails</a>.</p>\n");
}

void question_many(const struct material *material, FILE *out)
{
    if (material->has_study) {
        (void)fputs("<li>What does it come to when the inputs the case names vary?</li>\n", out);
    }
    if (material->has_failures) {
        (void)fputs("<li>What follows when one valve, one pump or all power fails?</li>\n", out);
    }
}

void answer_many(const struct material *material, FILE *out)
{
    if (material->has_study) {
        answer_study(material, out);
    }
    if (material->has_failures && material_rows(&material->failures, "failure") > 0) {
        answer_failures(&material->failures, out);
    }
}

void section_failures(const struct material *material, FILE *out)
{
    static const struct trade_column columns[] = {
        {"failure", "when", "", 1.0, HTML_TEXT},
        {"grade", "how bad", "", 1.0, HTML_TEXT},
        {"then", "what then", "", 1.0, HTML_TEXT},
        {NULL, NULL, NULL, 0.0, 0},
    };
    (void)fputs("<p>Each non-return valve in turn stuck, leaking or with debris in it, each pump "
                "and all power failing; each tried with the pumps as they run, with all stopped, "
                "and as the power fails. Times are at the first rate of flow.</p>\n",
                out);
    section_table(&material->failures, "The worst first", columns, NULL, out);
}

/* Each row in the unit that people use for it, as the terminal tells it. */
static void put_measures(const struct sheet *study, FILE *out)
{
    static const char *const heads[] = {"measure",        "unit",   "variants",       "least",
                                        "5 of 100 below", "median", "5 of 100 above", "greatest"};
    static const char *const fields[] = {"least", "low", "median", "high", "greatest"};
    enum { FIELDS = sizeof fields / sizeof fields[0] };
    html_table_open(out, "Measures over all variants");
    html_heads(out, sizeof heads / sizeof heads[0], heads, 2);
    for (size_t row = 0; row < material_rows(study, "measure"); row++) {
        double values[FIELDS];
        for (int i = 0; i < FIELDS; i++) {
            values[i] = material_value(study, fields[i], row);
        }
        const struct trade_unit unit =
            trade_unit_for(material_word(study, "unit", row), FIELDS, values);
        html_wrap(out, "<tr><th scope=\"row\">", material_word(study, "measure", row), "</th>");
        (void)fputs("<td>", out);
        html_unit(out, unit.unit);
        (void)fputs("</td><td class=\"number\">", out);
        html_number(out, material_value(study, "count", row), 0);
        for (int i = 0; i < FIELDS; i++) {
            (void)fputs("</td><td class=\"number\">", out);
            html_number(out, unit.factor * values[i], unit.decimals);
        }
        (void)fputs("</td></tr>\n", out);
    }
    html_table_close(out);
}

static const struct trade_column limit_columns[] = {
    {"limit", "limit", "", 1.0, HTML_TEXT},
    {"known", "variants", "", 1.0, 0},
    {"exceeded", "that exceed it", "", 1.0, 0},
    {"share", "share", "%", 100.0, 1},
    {"share_low", "95 % interval from", "%", 100.0, 1},
    {"share_high", "to", "%", 100.0, 1},
    {NULL, NULL, NULL, 0.0, 0},
};

enum { FRONT_COLUMNS_MOST = 24, FRONT_ROWS_MOST = 100 };

/* The variants that no other beats, with what was varied and measured; the picture has only their
 * numbers. */
static void put_front(const struct sheet *variants, FILE *out)
{
    static const char *const ours[] = {"within_limits", "on_front", "status", "reason"};
    struct trade_column columns[FRONT_COLUMNS_MOST + 1] = {{0}};
    int count = 0;
    for (int i = 0; i < variants->field_count && count < FRONT_COLUMNS_MOST; i++) {
        const struct field *field = &variants->fields[i];
        const bool is_ours = material_is_among(field->name, sizeof ours / sizeof ours[0], ours);
        if (!is_ours && field->kind == FIELD_TEXT) {
            columns[count++] = (struct trade_column){field->name, field->name, "", 1.0, HTML_TEXT};
        } else if (!is_ours) {
            const struct trade_unit unit = trade_unit_of(field->units);
            columns[count++] = (struct trade_column){field->name, field->name, unit.unit,
                                                     unit.factor, HTML_DIGITS};
        }
    }
    const size_t fronts = sheet_find(variants, "on_front") ? count_ones(variants, "on_front") : 0;
    size_t end = 0;
    for (size_t shown = 0; shown < fronts && shown < FRONT_ROWS_MOST; end++) {
        shown += material_value(variants, "on_front", end) > 0.0;
    }
    if (end > 0) {
        html_sheet(out, variants, "Within the limits, and beaten by no other in what is compared",
                   columns, &(struct html_rows){0, end, "on_front"});
    }
    if (fronts > FRONT_ROWS_MOST) {
        (void)fprintf(out, "<p>The first %d of %zu; all are in the results.</p>\n", FRONT_ROWS_MOST,
                      fronts);
    }
}

void section_study(const struct material *material, FILE *out)
{
    (void)fputs("<p>What many variants of the case come to; each of them stands in the results: "
                "<code>downsurge show RESULTS /study</code>.</p>\n",
                out);
    put_measures(&material->study, out);
    put_front(&material->variants, out);
    if (has_limits(material)) {
        section_table(&material->limits, "Limits over all variants", limit_columns, NULL, out);
    }
}
