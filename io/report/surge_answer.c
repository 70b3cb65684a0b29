/* The surge in the answer: its highest and lowest pressures, every limit that it exceeds, and what
 * helps. */
#include "io/report/sections.h"
#include "io/results/surge_sheet.h"
#include "models/fatigue.h"

#include <math.h>

/* The run whose value of `field` is the largest, or with `sign` -1 the least; those that are not
 * known count for nothing. */
static size_t extreme(const struct sheet *surge, const char *field, double sign)
{
    size_t found = 0;
    for (size_t i = 0; i < material_rows(surge, "run"); i++) {
        const double value = sign * material_value(surge, field, i);
        found =
            isfinite(value) && !(value <= sign * material_value(surge, field, found)) ? i : found;
    }
    return found;
}

/* Share of the class with the error band put on it; NAN: no band. */
static double banded_share(const struct sheet *surge, size_t run)
{
    const double highest = material_value(surge, "run_highest", run);
    const double band = material_value(surge, "run_highest_band", run);
    return material_value(surge, "run_highest_share", run) * (highest + band) / highest;
}

static void put_boiling(const struct sheet *surge, FILE *out)
{
    html_wrap(
        out, " <strong>The water boils</strong> at ", material_text(surge, "vapour_place", ""),
        ": cavities open and shut again with a blow, and pressures after that are uncertain.");
    if (material_number(surge, "collapse_count") > 0.0) {
        html_measure(out, " The hardest blow reaches ", material_number(surge, "collapse_pressure"),
                     1, " m over the pipe, ");
        html_number(out, material_number(surge, "collapse_time"), 2);
        html_wrap(out, " s into the run, at ", material_text(surge, "collapse_place", ""), ".");
    }
}

/* Runs beyond what their class or their wall bears; how many. */
static int put_exceeded(const struct sheet *surge, FILE *out)
{
    int count = 0;
    for (size_t i = 0; i < material_rows(surge, "run"); i++) {
        const char *run = material_word(surge, "run", i);
        const double share = material_value(surge, "run_highest_share", i);
        const double vacuum = material_value(surge, "run_buckling_share", i);
        if (share > 1.0) {
            html_wrap(out, " <strong>Limit exceeded: the pressure class</strong> of ", run, ",");
            html_measure(out, " by ", 100.0 * (share - 1.0), 0, " %.");
            count++;
        }
        if (vacuum > surge_buckling_limit()) {
            html_wrap(out, " <strong>Limit exceeded: the vacuum</strong> in ", run, " is");
            html_measure(out, " ", 100.0 * vacuum, 0,
                         " % of that at which its wall alone buckles; at most half is common "
                         "practice.");
            count++;
        }
    }
    return count;
}

/* Told by the lowest pressure with its error band: what reaches boiling with it is in doubt. */
static void put_near_boiling(const struct sheet *surge, const struct surge_near *near, FILE *out)
{
    html_wrap(out, " <strong>That is near boiling</strong> in ",
              material_word(surge, "run", near->run), "");
    if (near->reach > 0.0 && round(10.0 * near->reach) < round(10.0 * near->margin)) {
        html_measure(out, " (", near->reach, 1, " m with its error band)");
    }
    (void)fputs(": dissolved air comes out before, and warmer water boils sooner.", out);
    if (near->reach <= 0.0) {
        (void)fputs(" <strong>In doubt: its error band reaches boiling.</strong> "
                    "'--precision fine' makes the band narrower.",
                    out);
    }
}

/* Suction from inside harms before water boils. */
static void put_vacuum(const struct sheet *surge, FILE *out)
{
    const size_t run = extreme(surge, "run_lowest", -1.0);
    const double lowest = material_value(surge, "run_lowest", run);
    if (lowest < 0.0) {
        html_wrap(out, " The air's pressure outside is higher than that within ",
                  material_word(surge, "run", run), "");
        html_measure(
            out, " by up to ", -lowest, 1,
            " m: joints can draw in air and dirt, and thin pipe, hose and tanks collapse.");
    }
}

static void put_years(const struct sheet *surge, size_t run, double years, FILE *out)
{
    const int decimals = (int)fmin(fmax(2.0 - floor(log10(years)), 0.0), 6.0); /* three digits */
    html_wrap(out, " <strong>PVC can tire:</strong> the wall of ", material_word(surge, "run", run),
              "");
    html_measure(out, " bears its highest pressure for some ", years, decimals, " years");
    html_measure(out, ", as often as the case says (Vinson, 1981, from memory); at least ",
                 fatigue_years_asked, 0, " are asked.");
}

/* PVC that tires as its pressure comes and goes. */
static void put_cycles(const struct sheet *surge, FILE *out)
{
    const double a_day = material_number(surge, "times_a_day");
    for (size_t i = 0; i < material_rows(surge, "run"); i++) {
        const double swing = material_value(surge, "run_swing_share", i);
        const double cycles = material_value(surge, "run_cycles", i);
        if (fatigue_swings_too_far(swing, a_day)) {
            html_wrap(out, " <strong>PVC can tire:</strong> the pressure in ",
                      material_word(surge, "run", i), "");
            html_measure(out, " comes and goes by ", 100.0 * swing, 0,
                         " % of what its class allows");
            html_measure(out,
                         a_day > 0.0 ? "; as often as the case says at most "
                                     : "; where that is often at most ",
                         100.0 * fatigue_swing_share, 0,
                         " % is asked (CP 312, 1977; over-cautious, say its successors).");
        }
        if (fatigue_is_short(cycles, a_day)) {
            put_years(surge, i, fatigue_years(cycles, a_day), out);
        }
    }
}

void answer_surge(const struct sheet *surge, FILE *out)
{
    const size_t highest = extreme(surge, "run_highest_share", 1.0);
    const size_t lowest = extreme(surge, "run_lowest_margin", -1.0);
    const double share = material_value(surge, "run_highest_share", highest);
    const double banded = banded_share(surge, highest);
    const struct surge_near near = surge_near_boiling(surge);
    const bool is_boiling = material_number(surge, "is_boiling") > 0.0;
    (void)fputs("<p>After the events of the case", out);
    html_measure(out, " the highest pressure is ", 100.0 * share, 0,
                 " % of what the pipe's class allows");
    if (round(100.0 * banded) > round(100.0 * share)) {
        html_measure(out, " (up to ", 100.0 * banded, 0, " % with its error band)");
    }
    html_wrap(out, ", in <strong>", material_word(surge, "run", highest), "</strong>; the lowest");
    html_measure(out, " is ", material_value(surge, "run_lowest_margin", lowest), 1,
                 " m above boiling, in ");
    html_wrap(out, "<strong>", material_word(surge, "run", lowest), "</strong>.");
    if (material_number(surge, "drift") > surge_still_head()) {
        html_measure(out,
                     " <strong>The site does not stand still before the first event</strong>: "
                     "heads move by up to ",
                     material_number(surge, "drift"), 2, " m.");
    }
    const int exceeded = put_exceeded(surge, out);
    if (is_boiling) {
        put_boiling(surge, out);
    } else if (near.reach < surge_boiling_margin()) {
        put_near_boiling(surge, &near, out);
    }
    put_vacuum(surge, out);
    put_cycles(surge, out);
    if (is_boiling || exceeded > 0) {
        (void)fputs(" What helps: a slower stop (flywheel, drive), an air vessel or a surge tank "
                    "near the pump, an air valve at the high point, a relief valve; 'downsurge "
                    "surge --size' finds the smallest that keeps stated limits.",
                    out);
    } else if (share <= 1.0 && banded > 1.0) {
        (void)fputs(" <strong>In doubt: its error band reaches over the class.</strong> "
                    "'--precision fine' makes the band narrower.",
                    out);
    }
    (void)fputs("</p>\n", out);
}
