/* What the hours and the findings add to the answer. */
#include "io/report/html.h"
#include "io/report/sections.h"
#include "solver/findings/finding.h"

#include <math.h>
#include <string.h>

/* "no tank runs dry", "1 tank runs dry", "2 tanks run dry" */
static void put_count(FILE *out, int count, const char *what, const char *one, const char *more)
{
    if (count == 0) {
        (void)fprintf(out, "no %s %s", what, one);
    } else {
        (void)fprintf(out, "%d %s%s %s", count, what, count == 1 ? "" : "s",
                      count == 1 ? one : more);
    }
}

/* How many rows of a dataset lie above zero. */
static int count_above_zero(const struct sheet *filling, const char *dataset)
{
    int count = 0;
    for (size_t i = 0; i < material_rows(filling, dataset); i++) {
        count += material_value(filling, dataset, i) > 0.0;
    }
    return count;
}

/* What goes wrong at pumps and where water is drawn. */
static void answer_hours_amiss(const struct sheet *filling, FILE *out)
{
    const int airy = count_above_zero(filling, "dry_run");
    const int idle = count_above_zero(filling, "idle_run");
    const int taps = count_above_zero(filling, "tap_short_time");
    const double missed =
        material_number(filling, "draws_wanted") - material_number(filling, "draws_given");
    if (airy > 0) {
        (void)fprintf(out,
                      "; <strong>%d pump%s air</strong>, for no mouth that feeds %s is under water",
                      airy, airy == 1 ? " draws" : "s draw", airy == 1 ? "it" : "them");
    }
    if (idle > 0) {
        (void)fprintf(out, "; <strong>%d pump%s without prime</strong> and %s nothing then", idle,
                      idle == 1 ? " runs" : "s run", idle == 1 ? "delivers" : "deliver");
    }
    if (taps > 0) {
        (void)fprintf(out,
                      "; <strong>at %d point%s water is drawn where less than no pressure "
                      "stands</strong>, so that none comes in truth",
                      taps, taps == 1 ? "" : "s");
    }
    if (missed > 1e-6 * material_number(filling, "draws_wanted")) {
        html_measure(out, "; <strong>of what is to be drawn ", missed, 2,
                     " m\xC2\xB3 are lacking</strong>");
    }
}

void answer_hours(const struct sheet *filling, FILE *out)
{
    const size_t pumps = material_rows(filling, "starts");
    double energy = 0.0;
    double starts = 0.0;
    int dry = 0;
    int over = 0;
    for (size_t i = 0; i < pumps; i++) {
        energy += material_value(filling, "energy", i);
        starts = fmax(starts, material_value(filling, "most_starts", i));
    }
    for (size_t i = 0; i < material_rows(filling, "tank"); i++) {
        const bool moves = material_value(filling, "tank_moves", i) > 0.0;
        dry += moves && material_value(filling, "dry_time", i) > 0.0;
        over += moves && material_value(filling, "overflow", i) > 0.0;
    }
    (void)fputs("<p>Over ", out);
    html_number(out, material_number(filling, "time_reached") / 3600.0, 1);
    (void)fputs(" h ", out);
    put_count(out, dry, "tank", "runs dry", "run dry");
    (void)fputs(" and ", out);
    put_count(out, over, "tank", "runs over", "run over");
    if (pumps > 0) {
        html_measure(out, "; the pumps take ", energy / 3.6e6, 1, " kWh");
        html_measure(out, "; starts of one pump in its busiest hour: ", starts, 0, "");
    }
    answer_hours_amiss(filling, out);
    (void)fputs(". See <a href=\"#hours\">hours and days</a>.</p>\n", out);
}

void answer_findings(const struct sheet *findings, FILE *out)
{
    size_t count = material_rows(findings, "finding");
    int failed = 0;
    int warned = 0;
    for (size_t i = 0; i < count; i++) {
        const char *level = material_word(findings, "level", i);
        failed += strcmp(level, finding_level_text(FINDING_FAILED)) == 0;
        warned += strcmp(level, finding_level_text(FINDING_WARNING)) == 0;
    }
    if (failed + warned == 0) {
        (void)fputs("<p>In steady flow, as the case stands now, no limit is exceeded and nothing "
                    "stands outside good practice: see <a href=\"#findings\">findings</a>.</p>\n",
                    out);
        return;
    }
    (void)fputs("<p>In steady flow, as the case stands now, ", out);
    put_count(out, failed, "limit", "is exceeded", "are exceeded");
    (void)fputs(" and ", out);
    put_count(out, warned, "thing", "stands", "stand");
    (void)fputs(
        " outside good practice: see <a href=\"#findings\">findings and remedies</a>.</p>\n", out);
}
