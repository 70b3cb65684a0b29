/* What the answer rests on: assumptions, proof, error bands; and what a person must still see to.
 */
#include "io/report/html.h"
#include "io/report/sections.h"
#include "solver/findings/inventory.h"

#include <math.h>
#include <string.h>

/* The valve that the case says on this line and some of whose numbers have no figure, or NULL. */
static const struct link *open_valve_on(const struct site *site, int line)
{
    for (int i = 0; i < site->valve_count; i++) {
        const struct link *link = &site->network->links[site->valves[i].link];
        const struct non_return *valve = link->data;
        if (link->place.line == line && valve->is_placeholder && valve->source) {
            return link;
        }
    }
    return NULL;
}

/* A message may have no room for a valve's whole source: that one comes from the valve itself. */
static void put_message(const struct site *site, const struct failure *failure, FILE *out)
{
    bool has_source = strstr(failure->message, "without a published figure") != NULL;
    const struct link *link = has_source ? open_valve_on(site, failure->place.line) : NULL;
    if (link) {
        const struct non_return *valve = link->data;
        html_wrap(out, "non-return '", link->name, "': numbers of a '");
        html_wrap(out, "", valve->type, "' without a published figure (");
        html_wrap(out, "", valve->source, ")");
    } else {
        html_wrap(out, "", failure->message, "");
    }
}

static int put_faults(const struct material *material, enum fault_level level, const char *before,
                      FILE *out)
{
    const struct faults *faults = &material->faults;
    int count = 0;
    for (int i = 0; i < faults->count; i++) {
        const struct failure *failure = &faults->list[i].failure;
        if (faults->list[i].level == level) {
            html_wrap(out, "<li>", before, "");
            put_message(material->site, failure, out);
            if (failure->place.line > 0) {
                (void)fprintf(out, " <span class=\"quiet\">(line %d of the case)</span>",
                              failure->place.line);
            }
            (void)fputs("</li>\n", out);
            count++;
        }
    }
    return count;
}

static int put_candidates(const struct sheet *choose, FILE *out)
{
    int open = 0;
    size_t count = material_rows(choose, "candidate");
    for (size_t i = 0; i < count; i++) {
        open += material_value(choose, "is_placeholder", i) > 0.0;
    }
    if (open > 0) {
        (void)fprintf(out,
                      "<li>Placeholder: of the %zu valves tried in the choice, %d have some number "
                      "without a published figure; the tables of the choice mark those that are "
                      "suitable.</li>\n",
                      count, open);
    }
    return open;
}

static void put_water(const struct site *site, FILE *out)
{
    const struct water *water = &site->water;
    (void)fputs("<p>Water at ", out);
    html_number(out, water->temperature_c, 1);
    (void)fputs(" \xC2\xB0"
                "C, ",
                out);
    html_number(out, site->altitude, 0);
    (void)fputs(" m above the sea: density ", out);
    html_number(out, water->density, 1);
    (void)fputs(" kg/m\xC2\xB3, air pressure ", out);
    html_number(out, 1e-5 * water->air_pressure, 3);
    (void)fputs(" bar, vapour pressure ", out);
    html_number(out, 1e-5 * water->vapour_pressure, 4);
    (void)fputs(" bar.</p>\n", out);
}

void section_assumptions(const struct material *material, FILE *out)
{
    int count = 0;
    if (material->site) {
        put_water(material->site, out);
    } else {
        html_wrap(out, "<p>What the case assumes is not known: ", material->case_why, ".</p>\n");
    }
    (void)fputs("<ul>\n", out);
    if (material->site) {
        count += put_faults(material, FAULT_DOUBT, "To be looked at again: ", out);
        count += put_faults(material, FAULT_ASSUMED, "Assumed: ", out);
    }
    if (material->has_choose) {
        count += put_candidates(&material->choose, out);
    }
    (void)fputs(count == 0 ? "<li>Nothing more was assumed.</li>\n</ul>\n" : "</ul>\n", out);
}

/* A row of the table of proof: words, number, unit. */
static void put_proof(FILE *out, const char *what, double value, const char *unit)
{
    (void)fprintf(out, "<tr><th scope=\"row\">%s</th><td>", what);
    bool is_whole = isfinite(value) && value == floor(value);
    html_number(out, value, is_whole ? 0 : HTML_DIGITS);
    (void)fprintf(out, " %s</td></tr>\n", unit);
}

static void prove_steady(const struct sheet *steady, FILE *out)
{
    static const char *const heads[] = {"what", "residual"};
    html_wrap(out, "<p>Steady flow: ", material_text(steady, "ending", "not known"), ".</p>\n");
    html_table_open(out, "How well the steady answer meets its equations");
    html_heads(out, 2, heads, 2);
    put_proof(out, "linear systems solved", material_number(steady, "iterations"), "");
    put_proof(out, "inflow less outflow, worst point",
              1e3 * material_number(steady, "mass_residual"), "L/s");
    put_proof(out, "head against the part's law, worst part",
              material_number(steady, "energy_residual"), "m");
    put_proof(out, "shut or limited parts on the wrong side",
              material_number(steady, "complementarity"), "m");
    html_table_close(out);
}

static void prove_surge(const struct sheet *surge, FILE *out)
{
    static const char *const heads[] = {"what", "number"};
    html_wrap(out, "<p>Surge: ", material_text(surge, "ending", "not known"), ".</p>\n");
    html_table_open(out, "How well the surge run kept its books");
    html_heads(out, 2, heads, 2);
    put_proof(out, "time reached", material_number(surge, "time_reached"), "s");
    put_proof(out, "steps", material_number(surge, "steps"), "");
    put_proof(out, "time step", 1e3 * material_number(surge, "step"), "ms");
    put_proof(out, "water gained or lost over the run",
              1e3 * material_number(surge, "mass_residual"), "L");
    put_proof(out, "largest move of a head before the first event", material_number(surge, "drift"),
              "m");
    put_proof(out, "largest head by which a part or point missed its law",
              material_number(surge, "law_residual"), "m");
    put_proof(out, "largest adjustment of a wave speed",
              100.0 * material_number(surge, "largest_wave_speed_change"), "%");
    put_proof(out, "short pipes interpolated", material_number(surge, "short_pipes_interpolated"),
              "");
    put_proof(out, "runs on finer and coarser grids", material_number(surge, "grids"), "");
    put_proof(out, "order of the error seen in them", material_number(surge, "observed_order"), "");
    html_table_close(out);
}

void section_proof(const struct material *material, FILE *out)
{
    if (material->has_steady) {
        prove_steady(&material->steady, out);
    }
    if (material->has_surge) {
        prove_surge(&material->surge, out);
    }
    (void)fputs(
        "<p>Residuals tell how well the equations were solved, not how well they tell of the site. "
        "No band is computed for the site itself; reckon with these:</p>\n<ul>\n"
        "<li>Losses of bends, tees and changes of bore: handbooks differ; for one and the same "
        "contraction (area ratio 0.4) from 0.37 to 0.53.</li>\n"
        "<li>An inertia that was estimated: a factor of 2 either way (Thorley 1991), and with it "
        "how fast a pump runs down.</li>\n"
        "<li>Placeholder numbers: no band is known.</li>\n"
        "<li>Pressures after water has boiled: uncertain.</li>\n"
        "<li>What was measured on site: as good as the measuring. After building, flow within "
        "10 % and head within 0.5 m of the computed, else find out why.</li>\n</ul>\n",
        out);
}

void section_cautions(const struct material *material, FILE *out)
{
    static const char *const cautions[][2] = {
        {"Pressure", "No part may carry more than its class at its warmth, surge too: "
                     "the weakest part (thread, lid, lamp glass, tank wall) rules, not the pipe. "
                     "Let the pressure off before a joint is opened."},
        {"Vacuum", "A thin pipe, a tank or a filter can collapse when water leaves faster than "
                   "air comes in. Where the lowest pressure is below zero, see to air valves and "
                   "to parts that stand it."},
        {"Pressure testing", "With water only, never with air or gas: pent-up air bursts a plastic "
                             "pipe into splinters. Let all air out first, stand aside."},
        {"Air vessels, air valves, relief valves",
         "An air vessel is pressure equipment: pent-up gas bursts what water would only crack. The "
         "local rules tell how it is made, proved and looked after; let its gas off before "
         "anything is opened. An air valve draws in what stands around it: where the water is "
         "drunk, none in a pit that floods. Lead what a relief valve throws out to where it hits "
         "nobody."},
        {"Drinking water", "An ordinary non-return valve protects no drinking water. Where a "
                           "drinking-water pipe feeds the site: an air gap, or the device that the "
                           "local rules name."},
        {"Suction", "A suction can hold a person, hair or an animal fast. Where somebody can "
                    "come near: two suctions far apart, covers fixed by tool, and the local rules "
                    "for pools."},
        {"Electricity", "Water and mains kill. A residual-current device of at most 30 mA, "
                        "isolation before hands go into the water, work on the installation only "
                        "by those who may do it."},
        {"Animals and plants",
         "Fish in dense tanks live 10 to 20 min without flow: a second means and an alarm "
         "before anything is changed."},
        {"Law", "Local codes and licensed practice rule over every word of this page. It is "
                "no certificate and no approval; a person who may do so checks it and signs."},
    };
    (void)material;
    (void)fputs("<dl>\n", out);
    for (size_t i = 0; i < sizeof cautions / sizeof cautions[0]; i++) {
        (void)fprintf(out, "<dt><strong>%s</strong></dt><dd>%s</dd>\n", cautions[i][0],
                      cautions[i][1]);
    }
    (void)fputs("</dl>\n", out);
}

static void put_questions(enum answered_by by, const char *caption, FILE *out)
{
    static const char *const heads[] = {"no.", "about", "question", "what to look for", "answer"};
    html_table_open(out, caption);
    html_heads(out, 5, heads, 5);
    for (int i = 0; i < INVENTORY_COUNT; i++) {
        const struct question *question = inventory_at(i);
        if (question->by == by) {
            (void)fprintf(out, "<tr><th scope=\"row\" class=\"short\">%d</th>", question->number);
            html_wrap(out, "<td>", question->part, "</td>");
            html_wrap(out, "<td>", question->asks, "</td>");
            html_wrap(out, "<td>", question->where, "</td><td class=\"pen\"></td></tr>\n");
        }
    }
    html_table_close(out);
}

void section_checklist(const struct material *material, FILE *out)
{
    (void)material;
    (void)fprintf(out,
                  "<p>A whole job has %d questions. Those below the program cannot answer; the "
                  "last column is for the pen.</p>\n",
                  INVENTORY_COUNT);
    put_questions(ANSWERED_BY_PERSON, "Looked at on the spot", out);
}
