#include "io/command/choose_tell.h"
#include "io/command/list.h"
#include "io/command/work.h"
#include "io/door/read_choose.h"
#include "io/results/choose_sheet.h"
#include "io/results/curves_sheet.h"
#include "io/results/trade_table.h"
#include "io/terminal/progress.h"
#include "io/terminal/prose.h"
#include "io/terminal/table.h"

#include <math.h>

static const struct option options[] = {
    {"without-surge", 0, NULL, NULL, "judge steady flow and rest only; quicker"},
    {NULL, 0, NULL, NULL, NULL},
};

static const struct trade_column ranked_columns[] = {
    {"rank", "rank", "", 1.0, 0},
    {"label", "valve", "", 1.0, TABLE_TEXT},
    {"flow", "flow", "L/s", 1e3, 3},
    {"flow_lost", "lost", "%", 100.0, 1},
    {"valve_head", "head taken", "m", 1.0, 2},
    {"opening", "open", "%", 100.0, 0},
    {"energy", "energy", "Wh/m3", 1.0 / 3600.0, 1},
    {"suction_margin", "suction margin", "m", 1.0, 2},
    {"back_head", "back head", "m", 1.0, 1},
    {"reverse_velocity", "reverse", "m/s", 1.0, 3},
    {"slam_head", "slam", "m", 1.0, 1},
    {"surge_cases", "surge cases", "", 1.0, 0},
    {"handicap", "handicap", "%", 1.0, 1},
    {NULL, NULL, NULL, 0.0, 0},
};

static const struct trade_column open_columns[] = {
    {"label", "valve", "", 1.0, TABLE_TEXT},
    {"reasons", "how far", "", 1.0, TABLE_TEXT},
    {NULL, NULL, NULL, 0.0, 0},
};

static const struct trade_column failed_columns[] = {
    {"label", "valve", "", 1.0, TABLE_TEXT},
    {"reasons", "fails", "", 1.0, TABLE_TEXT},
    {NULL, NULL, NULL, 0.0, 0},
};

/* Some water passes in some steady case, so that flow is judged. */
static bool is_passed(const struct choose_place *place)
{
    for (int i = 0; i < place->candidate_count; i++) {
        if (place->candidates[i].judgements[REQUIREMENT_OPENS].verdict != VERDICT_NOT_ASKED) {
            return true;
        }
    }
    return false;
}

static void print_place_head(const struct work *work, const struct choose *choose,
                             const struct choose_place *place)
{
    const struct valve_place *at = &work->site->valves[place->valve];
    const struct terminal *to = &work->terminal;
    char text[200];
    (void)snprintf(text, sizeof text, "Place: %s%s\n", work->site->network->links[at->link].name,
                   at->is_on_suction ? ", on the suction side" : "");
    terminal_say(to, TONE_STRONG, text);
    prose_tell(to, "%s without loss would let %.3f L/s through here%s.\n",
               choose->place_count > 1 ? "Valves" : "A valve", 1e3 * place->reference.flow,
               choose->envelope.condition_count > 1 ? ", the case as it stands" : "");
    if (place->candidate_count > 0 && !is_passed(place)) {
        prose_mark(to, TONE_WARNING, "warning",
                   "no water passes here in any steady case, whatever the valve: flow, opening "
                   "and suction could not be judged; let its pump run in the case, which tries "
                   "each running pump alone too\n");
    }
    if (place->candidate_count > 0) {
        char site_misses[800];
        choose_reasons(&choose->envelope, place->candidates[0].judgements, VERDICT_SITE,
                       sizeof site_misses, site_misses);
        if (*site_misses) {
            prose_mark(to, TONE_WARNING, "warning", "missed whatever valve stands here: %s\n",
                       site_misses);
        }
    }
    (void)fputc('\n', to->out);
}

/* A rank without a judged slam must not look like one with. */
static void print_unjudged(const struct work *work, const struct choose_place *place)
{
    const struct terminal *to = &work->terminal;
    struct prose prose;
    int count = 0;
    if (request_has(work->request, "without-surge")) {
        return;
    }
    prose_answers(&prose, to);
    for (int i = 0; i < place->candidate_count; i++) {
        const struct candidate *candidate = &place->candidates[i];
        if (candidate->rank == 0 || candidate->measures.is_surged) {
            continue;
        }
        if (count++ == 0) {
            prose_tone(&prose, to->out_has_colour, TONE_WARNING, "warning");
            prose_add(&prose, ": slam and pressures not judged, the surge run found no answer:");
        }
        prose_add(&prose, "%s %s DN%.0f", count > 1 ? "," : "", candidate->type,
                  1e3 * candidate->valve.bore);
    }
    prose_add(&prose, "%s", count > 0 ? "\n\n" : "");
}

/* No candidate is acceptable: they stand by how little they miss. */
static void print_least_bad(const struct work *work, const struct choose *choose,
                            const struct choose_place *place)
{
    char reasons[800];
    struct prose prose;
    prose_answers(&prose, &work->terminal);
    prose_tone(&prose, work->terminal.out_has_colour, TONE_ERROR,
               "No valve of the catalogue is suitable here.");
    if (place->candidate_count > 0) {
        const struct candidate *nearest = &place->candidates[0];
        choose_reasons(&choose->envelope, nearest->judgements, VERDICT_FAILED, sizeof reasons,
                       reasons);
        prose_add(&prose, " The nearest is %s DN%.0f: %s.", nearest->type,
                  1e3 * nearest->valve.bore, reasons);
    }
    prose_add(&prose, "\n\n");
}

static void print_best(const struct work *work, const struct choose *choose,
                       const struct choose_place *place)
{
    if (place->accepted_count == 0) {
        print_least_bad(work, choose, place);
        return;
    }
    if (!is_passed(place)) {
        prose_tell(&work->terminal, "Its size is not known: no water passes here.\n\n");
        return;
    }
    const struct candidate *best = &place->candidates[0];
    bool is_unjudged = !best->measures.is_surged;
    prose_tell(
        &work->terminal, "Best%s: %s DN%.0f%s%s.\n\n", is_unjudged ? ", slam not judged" : "",
        best->type, 1e3 * best->valve.bore, best->is_present ? ", which stands there now" : "",
        best->valve.is_placeholder ? " (some of its numbers have no published figure: confirm them)"
                                   : "");
}

/* A sheet with two masks for the tables: whether a row is acceptable, and whether not. */
static bool add_masks(struct sheet *sheet, struct arena *arena)
{
    const struct field *rank = sheet_find(sheet, "rank");
    const struct field *open = sheet_find(sheet, "is_open");
    double *mask = arena_take(arena, rank->count, sizeof *mask);
    if (!mask) {
        return false;
    }
    for (size_t i = 0; i < rank->count; i++) {
        mask[i] = rank->numbers[i] > 0.0 || open->numbers[i] > 0.0 ? 0.0 : 1.0;
    }
    sheet_wholes(sheet, (struct field_head){"is_refused", "1", ""}, rank->dimension[0], mask);
    return true;
}

static bool print_place(const struct work *work, const struct choose *choose, int index,
                        struct failure *failure)
{
    const struct choose_place *place = &choose->places[index];
    struct sheet sheet;
    const struct terminal *to = &work->terminal;
    print_place_head(work, choose, place);
    if (!choose_place_sheet(work->site, choose, index, &sheet, work->arena, failure)) {
        return false;
    }
    if (!add_masks(&sheet, work->arena) ||
        !trade_table(&sheet, "Suitable, the best first", ranked_columns, "rank", to, work->arena) ||
        !trade_table(&sheet, "Not run through every surge case, so not ranked; no failure so far",
                     open_columns, "is_open", to, work->arena) ||
        !trade_table(&sheet, "Not suitable", failed_columns, "is_refused", to, work->arena)) {
        return fail_memory(failure, "the tables");
    }
    print_unjudged(work, place);
    print_best(work, choose, place);
    return true;
}

static void print_rule(const struct work *work, const struct choose *choose,
                       const struct choose_rule *rule)
{
    const struct terminal *to = &work->terminal;
    if (choose->envelope.plan_is_default && !request_has(work->request, "without-surge")) {
        prose_tell(to, "The case has no events: slam was judged with every running pump losing its "
                       "power.\n");
    }
    prose_tell(
        to,
        "Handicap of a set: per cent of flow lost in the worst case, plus for each valve %.2g for "
        "each per cent of the class that its slam takes in the worst case, plus %.2g a grade of "
        "clogging above the best, plus %.2g a step of trouble to take it out, plus %.2g when "
        "it stands part open (less than %.0f %%) in any case. The least is best.\n"
        "Flow, head taken and energy are the case's as it stands; all others are the worst of all "
        "cases%s.\n"
        "Reverse and slam reckon with the water that the part itself sweeps as it shuts, as "
        "'downsurge valve' does.\n",
        rule->slam_weight, rule->debris_grade, rule->service_grade, rule->part_open,
        100.0 * non_return_fully_open,
        choose->envelope.trip_count > 1 ? ".\nRanks are among those that were run through "
                                          "every surge case"
                                        : "");
    choose_tell_findings(work);
}

static enum exit_code print_json(const struct work *work, const struct sheet *sheet,
                                 const struct sheet *sets)
{
    struct json json;
    work_json(work, &json);
    json_key(&json, "choose");
    json_sheet(&json, sheet);
    json_key(&json, "sets");
    json_sheet(&json, sets);
    json_close_object(&json);
    return EXIT_CODE_DONE;
}

static enum exit_code print_text(const struct work *work, const struct choose *choose,
                                 const struct choose_rule *rule)
{
    struct failure failure = {0};
    (void)fprintf(work->terminal.out, "%s: choice of non-return valves\n\n",
                  work->site->name ? work->site->name : "Site");
    if (choose->is_stopped) {
        terminal_say(&work->terminal, TONE_WARNING,
                     "Stopped before its end: nothing is ranked.\n\n");
    } else if (!choose_tell_sets(work, choose, &failure)) {
        return work_fail(work, &failure);
    }
    for (int i = 0; i < choose->place_count && !choose->is_stopped; i++) {
        if (!print_place(work, choose, i, &failure)) {
            return work_fail(work, &failure);
        }
    }
    print_rule(work, choose, rule);
    return EXIT_CODE_DONE;
}

/* The curves of every place that was tried. */
static bool store_curves(const struct work *work, const struct choose *choose, struct store *store,
                         struct failure *failure)
{
    struct sheet sheet;
    bool is_good = true;
    for (int i = 0; is_good && curves_fit(work->site) && i < choose->place_count; i++) {
        const struct choose_place *place = &choose->places[i];
        is_good = place->candidate_count == 0 ||
                  (curves_place_sheet(work->site, place, &sheet, work->arena, failure) &&
                   store_sheet(store, &sheet, failure));
    }
    return is_good;
}

static enum exit_code write_results(const struct work *work, const struct choose *choose,
                                    const struct sheet *sheet, const struct sheet *sets)
{
    struct failure failure = {0};
    struct store *store = work_store(work);
    if (!store) {
        return EXIT_CODE_FILE;
    }
    if (!store_sheet(store, sheet, &failure) || !store_sheet(store, sets, &failure) ||
        !store_curves(work, choose, store, &failure)) {
        store_free(store);
        return work_fail(work, &failure);
    }
    return work_write(work, store);
}

/* With --strict: a place that no valve suits, or whose present valve is refused. */
static bool has_exceeded_limit(const struct choose *choose)
{
    for (int i = 0; i < choose->place_count; i++) {
        const struct choose_place *place = &choose->places[i];
        bool is_over = place->accepted_count == 0;
        for (int k = 0; k < place->candidate_count; k++) {
            is_over = is_over ||
                      (place->candidates[k].is_present && place->candidates[k].failed_count > 0);
        }
        if (is_over) {
            return true;
        }
    }
    return false;
}

static enum exit_code tell(const struct work *work, const struct choose *choose,
                           const struct choose_rule *rule)
{
    struct failure failure = {0};
    struct sheet sheet;
    struct sheet sets;
    enum exit_code code = EXIT_CODE_DONE;
    if (!choose_sheet(work->site, choose, &sheet, work->arena, &failure) ||
        !choose_sets_sheet(work->site, choose, &sets, work->arena, &failure)) {
        return work_fail(work, &failure);
    }
    if (request_has(work->request, "output")) {
        code = write_results(work, choose, &sheet, &sets);
    }
    if (code == EXIT_CODE_DONE) {
        code = request_has(work->request, "json") ? print_json(work, &sheet, &sets)
                                                  : print_text(work, choose, rule);
    }
    return code == EXIT_CODE_DONE ? work_verdict(work, has_exceeded_limit(choose)) : code;
}

static enum exit_code solve(struct work *work)
{
    struct failure failure = {0};
    struct choose choose = {0};
    struct progress progress;
    enum exit_code code = work_steady(work);
    if (code != EXIT_CODE_DONE) {
        return code;
    }
    if (work->site->valve_count == 0) {
        complain(work->request->terminal,
                 "%s: there is no non-return valve in it; put one where you think of one, any "
                 "type, and its place is judged",
                 work->request->operands[0]);
        return EXIT_CODE_INPUT;
    }
    const struct envelope_site *sites = NULL;
    struct faults faults;
    faults_init(&faults, work->arena);
    const int site_count = read_choose_sites(work->site, work->arena, &sites, &faults);
    if (site_count < 0) {
        complain_faults(work->request->terminal, &faults);
        return EXIT_CODE_INPUT;
    }
    progress_start(&progress, work->request->terminal, "choose",
                   request_has(work->request, "quiet"));
    const struct choose_options asked = {.rule = choose_rule_default,
                                         .without_surge =
                                             request_has(work->request, "without-surge"),
                                         .progress = progress_tell,
                                         .user = &progress};
    bool is_done = choose_run(site_count, sites, &asked, &choose, work->arena, &failure);
    progress_end(&progress);
    return is_done ? tell(work, &choose, &asked.rule) : work_fail(work, &failure);
}

static enum exit_code run(const struct request *request)
{
    return work_run(request, solve);
}

const struct command command_choose = {
    .name = "choose",
    .operands = "CASE",
    .summary =
        "Every suitable non-return valve at every place, alone and as sets, ranked, with reasons",
    .details =
        "Every type and size that fits is tried at each place, and all places together as sets.\n"
        "Sets are judged by what the site demands and ranked; valves refused are told with what\n"
        "they fail and in which case. The section 'choose' of the case names the waters and "
        "levels\n"
        "between which the choice must hold, and which valves are in question; without it each\n"
        "running pump is tried alone and together, in the water and at the levels of the case. "
        "The\n"
        "first sets are those that trying every combination would give: what is left out, and by\n"
        "which bound, is told. Energy costs what the section 'energy' says.\n",
    .example = "  downsurge choose site.yaml --output site.h5\n"
               "  downsurge plot site.h5 --format png",
    .options = options,
    .run = run,
};
