#include "io/door/door.h"

#include "io/door/draft.h"
#include "io/door/explain.h"
#include "io/door/file.h"
#include "io/door/outlet_law.h"
#include "io/door/part.h"
#include "io/door/point_law.h"
#include "io/door/protection.h"
#include "io/door/read_choose.h"
#include "io/door/read_creep.h"
#include "io/door/read_ends.h"
#include "io/door/read_filling.h"
#include "io/door/read_measured.h"
#include "io/door/read_pumps.h"
#include "io/door/read_runs.h"
#include "io/door/read_study.h"
#include "io/door/read_surge.h"
#include "io/door/read_tables.h"
#include "io/door/read_types.h"
#include "io/door/read_water.h"
#include "io/door/shared_suction.h"
#include "io/door/shelf.h"
#include "io/door/study_values.h"
#include "io/door/tee_point.h"

#include <string.h>

struct case_words {
    const char *name;
    const struct tree *water, *energy, *losses, *limits, *types, *tanks, *points, *outlets, *pumps;
    const struct tree *runs, *tables, *filling, *surge, *choose, *study;
};

#define FIELD(name) offsetof(struct case_words, name)
#define SECTION(word, field, needed, text)                                                         \
    {                                                                                              \
        .name = (word), .kind = KEY_NODE, .offset = FIELD(field), .is_required = (needed),         \
        .help = (text)                                                                             \
    }
static const struct key case_keys[] = {
    {.name = "site", .kind = KEY_TEXT, .offset = FIELD(name), .help = "its name"},
    SECTION("water", water, false, "the water and its place"),
    SECTION("tanks", tanks, false, "open water"),
    SECTION("points", points, false, "where runs meet"),
    SECTION("outlets", outlets, false, "open ends"),
    SECTION("pumps", pumps, false, "the machines"),
    SECTION("runs", runs, false, "rows of parts between two ends; needed unless there are tables"),
    SECTION("tables", tables, false, "points and pipes of a large network"),
    SECTION("types", types, false, "own kinds of valve"),
    SECTION("losses", losses, false, "losses added at tanks"),
    SECTION("limits", limits, false, "what will not be accepted"),
    SECTION("energy", energy, false, "what pumping costs"),
    SECTION("filling", filling, false, "its hours and days: float switches, draws, weather"),
    SECTION("surge", surge, false, "what happens, for how long"),
    SECTION("choose", choose, false, "between what a choice of valves must hold"),
    SECTION("study", study, false, "what is varied (read by the command study)"),
};
#undef SECTION
#undef FIELD

static const struct section case_section = {"case", "the sections of a case file",
                                            sizeof case_keys / sizeof *case_keys, case_keys};

static bool init_draft(struct draft *draft, const char *path, const char *text)
{
    draft->site = draft_take(draft, 1, sizeof *draft->site);
    draft->network = draft_take(draft, 1, sizeof *draft->network);
    if (!draft->site || !draft->network) {
        return false;
    }
    draft->site->path = path;
    draft->site->text = text;
    draft->site->network = draft->network;
    draft_name_points(draft);
    draft_name_links(draft);
    return true;
}

/* The runs, and points and pipes from tables. What is lost of them is not blamed on those who name
 * it. */
static void read_network(struct draft *draft, const struct tree *from_tables,
                         const struct tree *runs)
{
    struct tables tables;
    struct faults *faults = draft->reader.faults;
    int before = faults_count(faults, FAULT_ERROR);
    const bool has_tables = read_tables(draft, from_tables, &tables);
    if (has_tables) {
        read_point_table(draft, &tables);
    }
    draft->has_lost_names |= faults_count(faults, FAULT_ERROR) > before;
    before = faults_count(faults, FAULT_ERROR);
    read_runs(draft, runs);
    const int wanted = runs && runs->kind == TREE_MAP ? runs->count : 0;
    draft->has_lost_parts =
        faults_count(faults, FAULT_ERROR) > before || draft->network->run_count != wanted;
    before = faults_count(faults, FAULT_ERROR);
    if (has_tables) {
        read_pipe_table(draft, &tables);
    }
    const bool is_whole = !draft->has_lost_parts && faults_count(faults, FAULT_ERROR) == before;
    draft->has_lost_names |= !is_whole && (from_tables || !runs || runs->kind != TREE_MAP);
    if (is_whole) {
        shared_suction_find(draft);
        finish_ends(draft);
    }
}

/* The order is that of need: heads need the water, runs need their ends, events need the parts. */
static void read_sections(struct draft *draft, const struct tree *root)
{
    struct case_words words;
    const struct target targets[] = {{&case_section, &words}};
    if (!keys_read(&draft->reader, root, "case", 1, targets)) {
        draft->has_lost_names = true; /* perhaps; the sections that are there are read */
    }
    if (!words.runs && !words.tables) {
        draft->has_lost_names = true;
        (void)draft_error(draft, root->place,
                          "case: 'runs' is missing (rows of parts between two ends)");
    }
    draft->site->name = words.name ? words.name : "unnamed site";
    read_water(draft, words.water);
    read_energy(draft, words.energy);
    read_losses(draft, words.losses);
    read_limits(draft, words.limits);
    read_types(draft, words.types);
    read_tanks(draft, words.tanks);
    read_points(draft, words.points);
    read_outlets(draft, words.outlets);
    read_pumps(draft, words.pumps);
    read_network(draft, words.tables, words.runs);
    read_surge(draft, words.surge);
    read_filling(draft, words.filling);
    read_choose(draft, words.choose);
}

static bool read_tree(const char *path, const char *text, const struct tree *root,
                      struct draft *draft)
{
    struct faults *faults = draft->reader.faults;
    struct failure failure;
    if (!root || !init_draft(draft, path, text)) {
        return false;
    }
    draft->root = root;
    read_sections(draft, root);
    if (faults_count(faults, FAULT_ERROR) > 0) {
        return false;
    }
    return network_check(draft->network, &failure) || faults_add_failure(faults, &failure);
}

/* --- the study of a wrong case --- */

/* Bytes of a case that are read again for the values of its study, at most. */
enum { AGAIN_MOST = 8 << 20 };

/* Whether what is wrong with a case read anew is told at this place; then `reason` has it. */
static bool is_refused(const struct draft *draft, struct tree *root, struct place place,
                       struct arena *arena, struct failure *reason)
{
    struct faults faults;
    struct draft again = {.reader = {.arena = arena,
                                     .faults = &faults,
                                     .units = draft->reader.units,
                                     .shelf = draft->reader.shelf}};
    faults_init(&faults, arena);
    (void)read_tree(draft->site->path, draft->site->text, root, &again);
    for (int i = 0; i < faults.count; i++) {
        const struct failure *failure = &faults.list[i].failure;
        if (faults.list[i].level == FAULT_ERROR && failure->place.line == place.line &&
            failure->place.column == place.column) {
            *reason = *failure;
            return true;
        }
    }
    return false;
}

/* Whether no value of an input is taken where it is put. The case is wrong as it is; only what is
 * told at the value's own place counts. `budget`: bytes that may still be read. */
static bool is_refused_throughout(const struct draft *draft, struct tree *root,
                                  const struct case_study *study, int input, size_t *budget,
                                  struct failure *first)
{
    const struct study_input *here = &study->study.inputs[input];
    const struct spread *spread = &study->study.design.spreads[input];
    const int count = spread_level_count(spread, 3);
    bool is_wrong = true;
    for (int level = 0; level < count && is_wrong; level++) {
        struct failure reason = {0};
        struct case_change change;
        const size_t cost = strlen(draft->site->text) + 4096;
        struct arena *arena = cost <= *budget ? arena_new() : NULL;
        if (!arena) {
            return false;
        }
        *budget -= cost;
        const char *text = study_input_text(here, spread_level(spread, level, count), arena);
        case_change_make(&study->paths[input], text ? text : "", &change);
        case_change_stand(&change, here->place);
        is_wrong = text && is_refused(draft, root, here->place, arena, &reason);
        case_change_undo(&change);
        *first = level == 0 ? reason : *first;
        arena_free(arena);
    }
    return is_wrong;
}

/* Its tables, which may be long, are not read again and again; and with two things of one name, who
 * knows which is meant. */
static void tell_study(struct draft *draft, struct tree *root)
{
    struct case_study study;
    size_t budget = AGAIN_MOST;
    if (!check_study(draft, root, &study) || draft->has_twins || tree_find(root, "tables")) {
        return;
    }
    for (int i = 0; i < study.study.design.input_count; i++) {
        const struct study_input *here = &study.study.inputs[i];
        struct failure first = {0};
        if (study.paths[i].map && is_refused_throughout(draft, root, &study, i, &budget, &first)) {
            (void)draft_error(draft, here->place,
                              "study: %.60s: none of its values can be read: %s", here->path,
                              first.message);
        }
    }
}

static bool read_with_units(const char *path, const char *text, size_t size, struct draft *draft)
{
    struct faults *faults = draft->reader.faults;
    struct shelf shelf = {.arena = draft->reader.arena};
    struct tree *root = tree_read(path, text, size, draft->reader.arena, faults);
    const bool is_read_again = root && (tree_find(root, "study") || tree_find(root, "choose"));
    draft->reader.shelf = is_read_again ? &shelf : NULL;
    if (!read_tree(path, text, root, draft)) {
        if (root && draft->site && draft->network && !faults->memory_ended) {
            tell_study(draft, root);
        }
        draft->reader.shelf = NULL;
        return false;
    }
    draft->reader.shelf = NULL;
    draft->site->files = shelf.first;
    explain_doubts(draft->site, faults);
    return true;
}

bool read_site_tree(const char *path, const char *text, const struct tree *root,
                    struct units *units, struct shelf *shelf, struct arena *arena,
                    struct site **site, struct faults *faults)
{
    struct draft draft = {
        .reader = {.arena = arena, .faults = faults, .units = units, .shelf = shelf}};
    const bool is_good = read_tree(path, text, root, &draft);
    faults_sort(faults);
    *site = is_good && !faults->memory_ended ? draft.site : NULL;
    return *site != NULL;
}

bool read_site_units(const char *path, const char *text, size_t size, struct units *units,
                     struct arena *arena, struct site **site, struct faults *faults)
{
    struct draft draft = {.reader = {.arena = arena, .faults = faults, .units = units}};
    const bool is_good = read_with_units(path, text, size, &draft);
    faults_sort(faults);
    *site = is_good && !faults->memory_ended ? draft.site : NULL;
    return *site != NULL;
}

bool read_site_text(const char *path, const char *text, size_t size, struct arena *arena,
                    struct site **site, struct faults *faults)
{
    struct failure failure;
    struct units *units = units_new(&failure);
    *site = NULL;
    if (!units) {
        return faults_add_failure(faults, &failure);
    }
    const bool is_good = read_site_units(path, text, size, units, arena, site, faults);
    units_free(units);
    return is_good;
}

bool read_site(const char *path, struct arena *arena, struct site **site, struct faults *faults)
{
    struct failure failure;
    size_t size = 0;
    *site = NULL;
    const char *kept = arena_text(arena, path);
    if (!kept) {
        return faults_add_memory(faults, "the case");
    }
    const char *text = file_read(kept, TREE_SIZE_MOST, arena, &size, &failure);
    if (!text) {
        return faults_add_failure(faults, &failure);
    }
    return read_site_text(kept, text, size, arena, site, faults);
}

/* Its water and types again from the text: a draft does not outlive the reading of a case. */
static const struct non_return *make_alone(const struct site *site,
                                           const struct valve_choice *choice, struct draft *draft)
{
    struct case_words words = {0};
    const struct target targets[] = {{&case_section, &words}};
    const struct tree *root = tree_read(site->path, site->text, strlen(site->text),
                                        draft->reader.arena, draft->reader.faults);
    if (!root || !init_draft(draft, site->path, site->text) ||
        !keys_read(&draft->reader, root, "case", 1, targets)) {
        return NULL;
    }
    read_water(draft, words.water);
    read_types(draft, words.types);
    return make_valve(draft, choice);
}

bool read_valve_of_case(const struct site *site, const char *type, double bore,
                        enum mounting mounting, struct place asked, struct arena *arena,
                        const struct non_return **valve, struct faults *faults)
{
    struct failure failure;
    struct draft draft = {.reader = {.arena = arena, .faults = faults}};
    const struct valve_choice choice = {
        .type = type, .bore = bore, .mounting = mounting, .strainer = -1, .place = asked};
    draft.reader.units = units_new(&failure);
    if (!draft.reader.units) {
        return faults_add_failure(faults, &failure);
    }
    *valve = make_alone(site, &choice, &draft);
    units_free(draft.reader.units);
    return *valve != NULL && !faults->memory_ended;
}

void case_sections(struct sections *sections)
{
    static const struct section *const list[] = {
        &case_section,      &water_section,      &tank_section,         &point_section,
        &point_law_section, &tee_section,        &outlet_section,       &outlet_law_section,
        &pump_section,      &run_section,        &own_type_section,     &losses_section,
        &limits_section,    &energy_section,     &surge_section,        &event_section,
        &measured_section,  &air_vessel_section, &air_valve_section,    &creep_section,
        &choose_section,    &study_section,      &study_spread_section, &tables_section};
    sections->count = 0;
    for (size_t i = 0; i < sizeof list / sizeof list[0]; i++) {
        sections_add(sections, list[i]);
    }
    add_filling_sections(sections);
    parts_add_sections(sections);
}
