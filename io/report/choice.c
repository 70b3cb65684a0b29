/* The question, the answer in words, and the ranked choice. */
#include "io/report/html.h"
#include "io/report/sections.h"
#include "solver/findings/finding.h"

#include <math.h>
#include <string.h>

/* Rows of one place in the sheet of the choice; they stand together. */
struct place_rows {
    const char *name;
    size_t first;
    size_t end;
    size_t accepted; /* rows from `first` that are suitable */
};

/* The place that begins at `row`; false: there are no more rows. */
static bool next_place(const struct sheet *choose, size_t row, struct place_rows *place)
{
    size_t count = material_rows(choose, "place");
    if (row >= count) {
        return false;
    }
    place->name = material_word(choose, "place", row);
    place->first = row;
    place->accepted = 0;
    for (; row < count && strcmp(material_word(choose, "place", row), place->name) == 0; row++) {
        place->accepted += material_value(choose, "rank", row) > 0.0;
    }
    place->end = row;
    return true;
}

void section_question(const struct material *material, FILE *out)
{
    struct place_rows place = {0};
    (void)fputs("<ul>\n", out);
    if (material->has_choose) {
        (void)fputs("<li>Which non-return valve, of which size, suits each of these places best: ",
                    out);
        while (next_place(&material->choose, place.end, &place)) {
            html_wrap(out, place.first > 0 ? ", " : "", place.name, "");
        }
        (void)fputs("?</li>\n", out);
    }
    if (material->has_steady) {
        (void)fputs("<li>How much flows where with the pumps as the case sets them, and what is "
                    "outside good practice?</li>\n",
                    out);
    }
    if (material->has_surge) {
        (void)fputs("<li>What do the pipes feel after the events the case names, such as a power "
                    "failure?</li>\n",
                    out);
    }
    if (material->has_filling) {
        (void)fputs("<li>How do levels, pumps and energy go over the hours the case names?</li>\n",
                    out);
    }
    question_many(material, out);
    (void)fputs("</ul>\n", out);
}

static void answer_best(const struct sheet *choose, size_t row, FILE *out)
{
    double opening = material_value(choose, "opening", row);
    bool is_present = material_value(choose, "is_present", row) > 0.0;
    html_wrap(out, is_present ? ": keep the <strong>" : ": fit a <strong>",
              material_word(choose, "type", row), "");
    html_measure(out, " DN", 1e3 * material_value(choose, "bore", row), 0, "");
    (void)fputs(is_present ? "</strong> that stands there." : "</strong>.", out);
    html_measure(out, " It lets ", 1e3 * material_value(choose, "flow", row), 2, " L/s through");
    html_measure(out, ", takes ", material_value(choose, "valve_head", row), 2, " m of head");
    html_measure(out, " and costs ", 100.0 * material_value(choose, "flow_lost", row), 1,
                 " % of the flow that a valve without loss would let through");
    (void)fputs(".", out);
    if (opening < non_return_fully_open) {
        html_measure(out, " It stands ", 100.0 * opening, 0, " % open.");
    }
    html_measure(out, " As it shuts, water runs back at ",
                 material_value(choose, "reverse_velocity", row), 3, " m/s");
    html_measure(out, ", a slam of ", material_value(choose, "slam_head", row), 1, " m.");
    if (material_value(choose, "is_surged", row) == 0.0) {
        (void)fputs(" How it shuts was not computed.", out);
    }
    if (material_value(choose, "is_placeholder", row) > 0.0) {
        (void)fputs(" Some of its numbers have no published figure: confirm them with its maker.",
                    out);
    }
}

static void answer_present(const struct sheet *choose, const struct place_rows *place, FILE *out)
{
    for (size_t row = place->first; row < place->end; row++) {
        double rank = material_value(choose, "rank", row);
        if (!(material_value(choose, "is_present", row) > 0.0) || rank == 1.0) {
            continue;
        }
        html_wrap(out, " The ", material_word(choose, "type", row), "");
        html_measure(out, " DN", 1e3 * material_value(choose, "bore", row), 0, "");
        if (rank > 0.0) {
            html_measure(out, " that stands there now ranks number ", rank, 0, ".");
        } else if (material_value(choose, "is_open", row) > 0.0) {
            html_wrap(out, " that stands there now is not ranked: ",
                      material_word(choose, "reasons", row), ".");
        } else {
            html_wrap(out, " that stands there now is not suitable: ",
                      material_word(choose, "reasons", row), ".");
        }
    }
}

/* In some steady case some valve lets water through: only then is its opening known. */
static bool is_passed(const struct sheet *choose, const struct place_rows *place)
{
    for (size_t row = place->first; row < place->end; row++) {
        if (isfinite(material_value(choose, "opening", row)) ||
            material_value(choose, "flow", row) > 0.0) {
            return true;
        }
    }
    return false;
}

static void answer_choice(const struct sheet *choose, FILE *out)
{
    struct place_rows place = {0};
    while (next_place(choose, place.end, &place)) {
        html_wrap(out, "<p>At <strong>", place.name, "</strong>");
        if (place.accepted > 0) {
            size_t best = place.first;
            while (best + 1 < place.end && material_value(choose, "rank", best) != 1.0) {
                best++;
            }
            if (is_passed(choose, &place)) {
                answer_best(choose, best, out);
            } else {
                (void)fputs(": <strong>no water passes there in any case tried</strong>, so that "
                            "no size can be told, nor how the valve opens; let its pump run in the "
                            "case, which tries each running pump alone too.</p>\n",
                            out);
                continue;
            }
        } else {
            (void)fputs(": no valve of the catalogue is suitable; the table of the choice tells "
                        "what each fails, and that is what the site must be changed in.",
                        out);
        }
        answer_present(choose, &place, out);
        (void)fputs("</p>\n", out);
    }
}

static void answer_pumps(const struct sheet *steady, FILE *out)
{
    size_t count = material_rows(steady, "pump");
    for (size_t i = 0; i < count; i++) {
        double flow = material_value(steady, "pump_flow", i);
        html_wrap(out, i == 0 ? "<p>Pump <strong>" : " Pump <strong>",
                  material_word(steady, "pump", i), "</strong>");
        html_measure(out, " gives ", 1e3 * flow, 2, " L/s");
        html_measure(out, " (", 3600.0 * flow, 1, " m\xC2\xB3/h)");
        html_measure(out, " against ", material_value(steady, "pump_head", i), 1, " m");
        html_measure(out, ", with ", material_value(steady, "npsh_margin", i), 2,
                     " m of NPSH to spare");
        (void)fputs(".", out);
    }
    if (count > 0) {
        (void)fputs("</p>\n", out);
    }
}

void section_answer(const struct material *material, FILE *out)
{
    (void)fputs("<div class=\"answer\">\n", out);
    if (material->has_choose) {
        answer_choice(&material->choose, out);
    }
    if (material->has_steady) {
        answer_pumps(&material->steady, out);
    }
    if (material->has_surge) {
        answer_surge(&material->surge, out);
    }
    if (material->has_filling) {
        answer_hours(&material->filling, out);
    }
    answer_many(material, out);
    if (material->has_findings) {
        answer_findings(&material->findings, out);
    }
    (void)fputs("</div>\n", out);
}

static const struct trade_column suitable[] = {
    {"label", "valve", "", 1.0, HTML_TEXT},
    {"rank", "rank", "", 1.0, 0},
    {"handicap", "handicap", "%", 1.0, 1},
    {"flow", "flow", "L/s", 1e3, 3},
    {"flow_lost", "flow lost", "%", 100.0, 1},
    {"valve_head", "head taken", "m", 1.0, 2},
    {"opening", "open", "%", 100.0, 0},
    {"energy", "energy", "Wh/m3", 1.0 / 3600.0, 1},
    {"back_head", "back head", "m", 1.0, 1},
    {"reverse_velocity", "runs back", "m/s", 1.0, 3},
    {"slam_head", "slam", "m", 1.0, 1},
    {"is_placeholder", "placeholder numbers", "", 1.0, HTML_YES},
    {NULL, NULL, NULL, 0.0, 0},
};

static const struct trade_column refused[] = {
    {"label", "valve", "", 1.0, HTML_TEXT},
    {"reasons", "what it fails", "", 1.0, HTML_TEXT},
    {NULL, NULL, NULL, 0.0, 0},
};

static const struct trade_column open_rows[] = {
    {"label", "valve", "", 1.0, HTML_TEXT},
    {"reasons", "how far", "", 1.0, HTML_TEXT},
    {NULL, NULL, NULL, 0.0, 0},
};

static void put_figure(FILE *out, double value, int decimals)
{
    (void)fputs("<td class=\"number\">", out);
    html_number(out, value, decimals);
    (void)fputs("</td>", out);
}

static double hardest_slam(const struct sheet *sets, size_t row, size_t places)
{
    double slam = (double)NAN;
    for (size_t i = 0; i < places; i++) {
        slam = fmax(slam, material_value(sets, "slam_head", row * places + i));
    }
    return slam;
}

static void put_set(const struct sheet *sets, size_t row, size_t places, FILE *out)
{
    const double rank = material_value(sets, "rank", row);
    const bool is_present = material_value(sets, "is_present", row) > 0.0;
    (void)fputs("<tr><th scope=\"row\">", out);
    if (rank > 0.0) {
        html_number(out, rank, 0);
    } else {
        (void)fputs("not ranked", out);
    }
    (void)fputs(is_present ? ", stands there now</th>" : "</th>", out);
    for (size_t i = 0; i < places; i++) {
        html_wrap(out, "<td>", material_word(sets, "valve", row * places + i), "</td>");
    }
    put_figure(out, 1e3 * material_value(sets, "delivered", row), 3);
    put_figure(out, 100.0 * material_value(sets, "flow_lost", row), 1);
    put_figure(out, hardest_slam(sets, row, places), 1);
    put_figure(out, material_value(sets, "handicap", row), 1);
    put_figure(out, material_value(sets, "handicap_band", row), 1);
    put_figure(out, material_value(sets, "energy_year", row) / 3.6e6, 0);
    put_figure(out, material_value(sets, "energy_cost", row), 2);
    (void)fputs("</tr>\n", out);
}

/* What the sets that are not ranked fail: below their table, in which the words had no room. */
static void put_set_failures(const struct sheet *sets, size_t rows, size_t places, FILE *out)
{
    for (size_t row = 0; row < rows; row++) {
        const char *reasons = material_word(sets, "reasons", row);
        if (!*reasons) {
            continue;
        }
        const bool is_present = material_value(sets, "is_present", row) > 0.0;
        (void)fputs(is_present ? "<p>The valves that stand there now fail as a set ("
                               : "<p>A set fails (",
                    out);
        for (size_t i = 0; i < places; i++) {
            html_wrap(out, i > 0 ? ", " : "", material_word(sets, "valve", row * places + i), "");
        }
        html_wrap(out, "): ", reasons, ".</p>\n");
    }
}

/* Which ranks the error bands of the slam leave open. */
static void put_open_ranks(const struct sheet *sets, FILE *out)
{
    const struct attribute *ranks = sheet_find_attribute(sets, "open_ranks");
    if (ranks && ranks->text && *ranks->text) {
        html_wrap(out, "<p>Error bands leave open which is better of ranks ", ranks->text,
                  ". Choose among them by price, service and what is at hand.</p>\n");
    }
}

/* Which valves together: the best sets, then those that stand there now. */
static void put_sets(const struct sheet *sets, FILE *out)
{
    static const char *const more[][2] = {
        {"delivered", "L/s"}, {"flow lost", "%"},       {"slam", "m"},   {"handicap", "%"},
        {"\xC2\xB1", "%"},    {"energy a year", "kWh"}, {"its cost", ""}};
    const size_t places = material_rows(sets, "place");
    const size_t rows = material_rows(sets, "set");
    if (rows == 0 || places == 0) {
        return;
    }
    (void)fputs("<h3>All places together</h3>\n", out);
    html_table_open(out, "The valves of all places as sets, the best first");
    (void)fputs("<thead><tr><th scope=\"col\">rank</th>", out);
    for (size_t i = 0; i < places; i++) {
        html_wrap(out, "<th scope=\"col\">", material_word(sets, "place", i), "</th>");
    }
    for (size_t i = 0; i < sizeof more / sizeof more[0]; i++) {
        html_wrap(out, "<th scope=\"col\" class=\"number\">", more[i][0], "");
        html_wrap(out, *more[i][1] ? " <span class=\"unit\">" : "", more[i][1],
                  *more[i][1] ? "</span></th>" : "</th>");
    }
    (void)fputs("</tr></thead>\n<tbody>\n", out);
    for (size_t row = 0; row < rows; row++) {
        put_set(sets, row, places, out);
    }
    html_table_close(out);
    put_set_failures(sets, rows, places, out);
    put_open_ranks(sets, out);
    (void)fputs("<p>Of ", out);
    html_number(out, material_number(sets, "sets"), 0);
    (void)fputs(" sets ", out);
    html_number(out, material_number(sets, "judged_in_every_case"), 0);
    (void)fputs(" were judged in every case; the others were left out by bounds that hold", out);
    const double left_out = material_number(sets, "left_out_as_too_many");
    if (left_out > 0.0) {
        (void)fputs(", but for ", out);
        html_number(out, left_out, 0);
        (void)fputs(" that were too many to be solved", out);
    }
    (void)fputs(". Delivered, energy and cost are those of the case as it stands; the others are "
                "the worst of all cases. A set that is not ranked fails something, or was not run "
                "through every surge case; its handicap is the least it can be.</p>\n",
                out);
}

static void put_site_misses(const struct sheet *choose, const struct place_rows *place, FILE *out)
{
    const char *last = "";
    for (size_t row = place->first; row < place->end; row++) {
        const char *misses = material_word(choose, "site_misses", row);
        if (*misses && strcmp(misses, last) != 0) {
            html_wrap(out, "<p>Missed whatever valve stands there, so held against none: ", misses,
                      ".</p>\n");
            return;
        }
    }
}

static void put_place(const struct sheet *choose, const struct place_rows *place, FILE *out)
{
    char caption[200];
    size_t turn = place->first + place->accepted;
    size_t refusal = turn;
    while (refusal < place->end && material_value(choose, "is_open", refusal) > 0.0) {
        refusal++;
    }
    html_wrap(out, "<h3>Place: ", place->name, "</h3>\n");
    put_site_misses(choose, place, out);
    if (place->accepted > 0) {
        (void)snprintf(caption, sizeof caption, "Suitable at %.150s, the best first", place->name);
        html_sheet(out, choose, caption, suitable, &(struct html_rows){place->first, turn, NULL});
    } else {
        (void)fputs("<p>None is suitable.</p>\n", out);
    }
    if (turn < refusal) {
        (void)snprintf(caption, sizeof caption,
                       "Not run through every surge case at %.120s, no failure so far",
                       place->name);
        html_sheet(out, choose, caption, open_rows, &(struct html_rows){turn, refusal, NULL});
    }
    if (refusal < place->end) {
        (void)snprintf(caption, sizeof caption, "Not suitable at %.150s, with the reasons",
                       place->name);
        html_sheet(out, choose, caption, refused, &(struct html_rows){refusal, place->end, NULL});
    }
}

void section_choice(const struct material *material, FILE *out)
{
    const struct sheet *choose = &material->choose;
    struct place_rows place = {0};
    (void)fputs("<p>Every type and size of the catalogue that fits was tried at each place. The "
                "handicap ranks those that are suitable, the least first: per cent of flow lost, "
                "and more for slam, clogging, trouble to take it out, and standing part open",
                out);
    html_measure(out, " (less than ", 100.0 * non_return_fully_open, 0, " %).</p>\n");
    if (material_number(choose, "plan_is_default") > 0.0) {
        (void)fputs("<p>The case has no events of surge; for the slam all pumps were taken to stop "
                    "at once.</p>\n",
                    out);
    }
    if (material_number(choose, "is_stopped") > 0.0) {
        (void)fputs("<p><strong>The choice was stopped before its end: valves are missing."
                    "</strong></p>\n",
                    out);
    }
    if (material->has_sets) {
        put_sets(&material->sets, out);
    }
    while (next_place(choose, place.end, &place)) {
        put_place(choose, &place, out);
    }
}
