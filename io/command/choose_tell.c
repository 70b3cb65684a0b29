#include "io/command/choose_tell.h"

#include "io/results/choose_sheet.h"
#include "io/terminal/prose.h"
#include "io/terminal/table.h"

#include <math.h>
#include <string.h>

enum { TEXT_SIZE = 400, COLUMNS_OF_PLACES = 5 };

static const char *name_of(const struct work *work, const struct choose *choose, int place)
{
    const int valve = choose->places[place].valve;
    return work->site->network->links[work->site->valves[valve].link].name;
}

/* --- the cases --- */

static void tell_cases(const struct work *work, const struct choose *choose)
{
    const struct envelope *envelope = &choose->envelope;
    const struct choose_plan *plan = &work->site->choose;
    FILE *out = work->terminal.out;
    (void)fprintf(out, "Held against %d steady case%s and %d surge case%s",
                  envelope->condition_count, envelope->condition_count == 1 ? "" : "s",
                  envelope->trip_count, envelope->trip_count == 1 ? "" : "s");
    (void)fputs(envelope->condition_count > 1 ? ":\n" : ".\n", out);
    if (plan->temperature_count > 0) {
        (void)fputs("  water", out);
        for (int i = 0; i < plan->temperature_count; i++) {
            (void)fprintf(out, "%s %.4g", i > 0 ? "," : "", plan->temperature_c[i]);
        }
        (void)fputs(" degC\n", out);
    }
    for (int i = 0; i < plan->tank_count; i++) {
        (void)fprintf(out, "  level of %s", work->site->network->tanks[plan->tanks[i].tank].name);
        for (int k = 0; k < plan->tanks[i].count; k++) {
            (void)fprintf(out, "%s %.4g", k > 0 ? "," : "", plan->tanks[i].level[k]);
        }
        (void)fputs(" m\n", out);
    }
    if (envelope->condition_count > 1 && work->site->pump_place_count > 1) {
        prose_tell(&work->terminal, "%s",
                   plan->pumps_as_stated
                       ? "  pumps as the case runs them\n"
                       : "  pumps that run in the case: all, and each alone; each failing while "
                         "the others run on\n");
    }
    if (!plan->temperature_count && !plan->tank_count) {
        prose_tell(&work->terminal,
                   "The case's section 'choose' names no waters or levels: only its own were "
                   "tried.\n");
    }
    (void)fputc('\n', out);
}

/* --- the table of sets --- */

static void put_label(const struct candidate *pick, size_t size, char text[])
{
    (void)snprintf(text, size, "%.80s DN%.0f%s", pick->type, 1e3 * pick->valve.bore,
                   pick->is_present ? " *" : "");
}

static void put_valves(struct table *table, const struct work *work, const struct choose *choose,
                       const struct valve_set *set)
{
    char text[TEXT_SIZE];
    if (choose->place_count <= COLUMNS_OF_PLACES) {
        for (int i = 0; i < set->place_count; i++) {
            put_label(set->picks[i], sizeof text, text);
            table_text(table, text);
        }
        return;
    }
    size_t used = 0;
    for (int i = 0; i < set->place_count && used < sizeof text; i++) {
        char one[TEXT_SIZE];
        put_label(set->picks[i], sizeof one, one);
        used += (size_t)snprintf(text + used, sizeof text - used, "%s%.40s: %.90s",
                                 used ? ", " : "", name_of(work, choose, i), one);
    }
    table_text(table, text);
}

static double hardest_slam(const struct valve_set *set)
{
    double slam = (double)NAN;
    for (int i = 0; set->trip_count > 0 && i < set->place_count; i++) {
        slam = fmax(slam, set->places[i].measures.slam_head);
    }
    return slam;
}

static void put_set(struct table *table, const struct work *work, const struct choose *choose,
                    const struct valve_set *set, int rank)
{
    static const double megajoules = 3.6e6; /* J in a kWh */
    table_number(table, rank > 0 ? rank : (double)NAN);
    put_valves(table, work, choose, set);
    table_number(table, 1e3 * set->delivered);
    table_number(table, 100.0 * set->flow_lost);
    table_number(table, hardest_slam(set));
    table_number(table, set->handicap);
    table_number(table, set->handicap_band);
    table_number(table, set->energy_year / megajoules);
    table_number(table, set->cost_year);
}

static void make_columns(const struct work *work, const struct choose *choose,
                         struct column columns[TABLE_COLUMN_MAX + 1])
{
    int count = 0;
    columns[count++] = (struct column){"rank", "", 0};
    if (choose->place_count <= COLUMNS_OF_PLACES) {
        for (int i = 0; i < choose->place_count; i++) {
            columns[count++] = (struct column){name_of(work, choose, i), "", TABLE_TEXT};
        }
    } else {
        columns[count++] = (struct column){"valves", "", TABLE_TEXT};
    }
    columns[count++] = (struct column){"delivered", "L/s", 3};
    columns[count++] = (struct column){"lost", "%", 1};
    columns[count++] = (struct column){"slam", "m", 1};
    columns[count++] = (struct column){"handicap", "%", 1};
    columns[count++] = (struct column){"+-", "%", 1};
    columns[count++] = (struct column){"energy a year", "kWh", 0};
    columns[count++] = (struct column){"its cost", "", 2};
    columns[count] = (struct column){NULL, NULL, 0};
}

static bool print_sets(const struct work *work, const struct choose *choose)
{
    struct column columns[TABLE_COLUMN_MAX + 1];
    const bool is_listed =
        valve_set_find(choose->set_count, choose->sets, &choose->present) != NETWORK_NONE;
    make_columns(work, choose, columns);
    struct table *table = table_new(columns, work->arena);
    if (!table) {
        return false;
    }
    for (int i = 0; i < choose->set_count; i++) {
        put_set(table, work, choose, &choose->sets[i], choose->sets[i].rank);
    }
    if (!is_listed) {
        put_set(table, work, choose, &choose->present, 0);
    }
    terminal_say(&work->terminal, TONE_STRONG,
                 choose->place_count > 1 ? "All places together, the best sets first\n"
                                         : "The best first\n");
    table_print(table, &work->terminal);
    prose_tell(&work->terminal, "* stands there now%s.\n",
               is_listed ? ""
                         : "; the last row is the case's own valves, of which handicap is the "
                           "least it can be");
    return true;
}

/* --- the best set in words --- */

/* Which ranks the error bands of the slam leave open. */
static void tell_bands(const struct work *work, const struct choose *choose)
{
    char open[TEXT_SIZE];
    const bool has_bands = isfinite(choose->sets[0].handicap_band);
    if (!has_bands || choose->set_count < 2 || choose->sets[1].rank == 0) {
        return;
    }
    choose_open_ranks(choose, sizeof open, open);
    if (*open) {
        prose_tell(&work->terminal,
                   "Error bands (+-) leave open which is better of ranks %s. Choose among them by "
                   "price, service and what is at hand.\n",
                   open);
    } else {
        prose_tell(&work->terminal, "The ranks stand further apart than their error bands (+-).\n");
    }
}

static void tell_reasons(const struct work *work, const struct choose *choose,
                         const struct valve_set *set)
{
    for (int i = 0; i < set->place_count; i++) {
        char reasons[2 * TEXT_SIZE];
        choose_reasons(&choose->envelope, set->places[i].judgements, VERDICT_FAILED, sizeof reasons,
                       reasons);
        if (*reasons) {
            prose_tell(&work->terminal, "  %s: %s\n", name_of(work, choose, i), reasons);
        }
    }
}

static void tell_failures(const struct work *work, const struct choose *choose)
{
    const struct valve_set *best = &choose->sets[0];
    const struct valve_set *present = &choose->present;
    const bool is_several = choose->place_count > 1;
    if (best->failed_count > 0) {
        terminal_say(&work->terminal, TONE_ERROR,
                     is_several ? "No set of valves is suitable." : "None is suitable.");
        (void)fputs(" The first misses least:\n", work->terminal.out);
        tell_reasons(work, choose, best);
    }
    if (present->failed_count > 0 && !valve_set_is_same(best, present)) {
        prose_mark(&work->terminal, TONE_WARNING, "Not suitable", "the valve%s there now:\n",
                   is_several ? "s that stand" : " that stands");
        tell_reasons(work, choose, present);
    }
}

/* Whether there was anything to tell. */
static bool tell_hardest(const struct work *work, const struct choose *choose)
{
    const struct valve_set *best = &choose->sets[0];
    const struct envelope *envelope = &choose->envelope;
    const struct terminal *to = &work->terminal;
    if (envelope->condition_count < 2 && envelope->trip_count < 2) {
        return false;
    }
    prose_tell(to, "Hardest cases of the first:\n");
    if (best->flow_lost_at != NETWORK_NONE) {
        prose_tell(to, "  most flow lost, %.1f %%: %s\n", 100.0 * best->flow_lost,
                   envelope->conditions[best->flow_lost_at].name);
    }
    for (int i = 0; i < best->place_count; i++) {
        const struct set_place *place = &best->places[i];
        if (place->slam_at != NETWORK_NONE && place->measures.slam_head > 0.0) {
            prose_tell(to, "  largest slam of %s, %.1f m at %.3f m/s backward: %s\n",
                       name_of(work, choose, i), place->measures.slam_head,
                       place->measures.reverse_velocity, envelope->trips[place->slam_at].name);
        }
    }
    const struct judgement *pressure = &best->places[0].judgements[REQUIREMENT_PRESSURE];
    const struct judgement *vapour = &best->places[0].judgements[REQUIREMENT_VAPOUR];
    if (pressure->verdict != VERDICT_NOT_ASKED) {
        prose_tell(to, "  highest pressure, %.0f %% of the class: %s\n", 100.0 * pressure->value,
                   choose_case_name(envelope, REQUIREMENT_PRESSURE, pressure));
    }
    if (vapour->verdict != VERDICT_NOT_ASKED) {
        static const double none = 0.05; /* m, reads as 0.0 */
        const char *name = choose_case_name(envelope, REQUIREMENT_VAPOUR, vapour);
        if (vapour->value < none) {
            prose_tell(to, "  the water boils: %s\n", name);
        } else {
            prose_tell(to, "  lowest pressure, %.1f m above boiling: %s\n", vapour->value, name);
        }
    }
    return true;
}

/* Whether there was anything to tell. */
static bool tell_energy(const struct work *work, const struct choose *choose)
{
    const struct valve_set *best = &choose->sets[0];
    const struct valve_set *present = &choose->present;
    const struct circumstances *said = &work->site->circumstances;
    struct prose prose;
    if (!isfinite(best->energy_year)) {
        return false;
    }
    prose_answers(&prose, &work->terminal);
    prose_add(&prose,
              "Energy a year is for the water that the present valves deliver in %.0f h, "
              "%.0f m3, with the case as it stands",
              said->hours_a_year / 3600.0, said->hours_a_year * present->delivered);
    if (isfinite(best->cost_year)) {
        const double less = present->cost_year - best->cost_year;
        prose_add(&prose, ", at %.4g a kWh.\nThe first costs %.2f a year, %.2f %s than now",
                  3.6e6 * said->energy_price, best->cost_year, fabs(less),
                  less < 0.0 ? "more" : "less");
    }
    prose_add(&prose, ".\n");
    return true;
}

/* --- what was left out --- */

static void tell_tally(const struct work *work, const struct choose *choose)
{
    const struct search_tally *tally = &choose->tally;
    const struct terminal *to = &work->terminal;
    prose_tell(to,
               "Of %.0f sets %.0f remain when valves that fail mounting or dirt are left out, "
               "as they do whatever stands elsewhere.\n",
               tally->all, tally->after_alone);
    if (tally->by_fixed > 0.0) {
        prose_tell(to, "  %.0f not solved: dirt and service alone put them behind those shown\n",
                   tally->by_fixed);
    }
    if (tally->by_count > 0.0) {
        prose_tell(to,
                   "  %.0f not solved as there are too many; each has a handicap of at least "
                   "%.1f %%, and one of them may be better than those shown\n",
                   tally->by_count, tally->least_left);
    }
    if (tally->by_steady > 0.0) {
        prose_tell(to, "  %.0f not run through surge: their steady cases put them behind\n",
                   tally->by_steady);
    }
    if (tally->by_surge > 0.0) {
        prose_tell(to, "  %.0f run through some surge cases until these put them behind\n",
                   tally->by_surge);
    }
    prose_tell(
        to, "  %.0f judged in every case%s.\n", tally->judged,
        tally->by_count > 0.0 ? "" : "; the sets shown are those that trying every set would give");
    if (choose->band_runs > 0) {
        prose_tell(to,
                   "%.0f surge runs were made in all, and %d at half the step for the error "
                   "bands.\n\n",
                   tally->surge_runs, choose->band_runs);
    } else {
        prose_tell(to, "%.0f surge runs were made in all.\n\n", tally->surge_runs);
    }
}

bool choose_tell_sets(const struct work *work, const struct choose *choose, struct failure *failure)
{
    tell_cases(work, choose);
    if (choose->set_count == 0) {
        return true;
    }
    if (!print_sets(work, choose)) {
        return fail_memory(failure, "the tables");
    }
    tell_bands(work, choose);
    tell_failures(work, choose);
    (void)fputc('\n', work->terminal.out);
    const bool has_hardest = tell_hardest(work, choose);
    if (tell_energy(work, choose) || has_hardest) {
        (void)fputc('\n', work->terminal.out);
    }
    tell_tally(work, choose);
    return true;
}

void choose_tell_findings(const struct work *work)
{
    const int failed = findings_count(&work->findings, FINDING_FAILED);
    const int warned = findings_count(&work->findings, FINDING_WARNING) - failed;
    const struct terminal *to = &work->terminal;
    if (failed + warned > 0) {
        prose_mark(to, failed > 0 ? TONE_ERROR : TONE_WARNING,
                   failed > 0 ? "limits exceeded" : "warning",
                   "as the case stands, %d limit%s exceeded and %d thing%s outside good "
                   "practice; 'downsurge steady %s' tells them with their remedies.\n",
                   failed, failed == 1 ? " is" : "s are", warned, warned == 1 ? " is" : "s are",
                   work->request->operands[0]);
    }
    prose_tell(to, "These are screening figures: local codes, makers' instructions and licensed "
                   "practice rule. Relieve the pressure on both sides before opening a union; a "
                   "non-return valve is no protection of drinking water.\n");
}
