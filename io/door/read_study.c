#include "io/door/read_study.h"

#include "io/door/lost.h"
#include "io/door/number.h"
#include "io/door/study_types.h"
#include "io/nearest.h"

#include <math.h>
#include <string.h>

struct study_words {
    const struct tree *vary, *measures, *limits, *compare;
    int combine, run, samples, seed, levels;
};

#define FIELD(name) offsetof(struct study_words, name)
static const struct key study_keys[] = {
    {.name = "vary",
     .kind = KEY_NODE,
     .offset = FIELD(vary),
     .is_required = true,
     .help = "such as delivery.type: [ball, duckbill] or all, pond.level: -1 .. 0 m, or -1 0 m"},
    {.name = "combine",
     .kind = KEY_CHOICE,
     .offset = FIELD(combine),
     .choices = "grid|one at a time|latin hypercube|sobol|importance",
     .fallback = "grid",
     .help = "which values meet; importance tells how much each input matters"},
    {.name = "samples",
     .kind = KEY_WHOLE,
     .offset = FIELD(samples),
     .range = RANGE_POSITIVE,
     .help = "variants of a latin hypercube or sobol; for importance times inputs + 2"},
    {.name = "seed",
     .kind = KEY_WHOLE,
     .offset = FIELD(seed),
     .fallback = "1",
     .help = "the same seed gives the same samples"},
    {.name = "levels",
     .kind = KEY_WHOLE,
     .offset = FIELD(levels),
     .range = RANGE_POSITIVE,
     .fallback = "5",
     .help = "values of a range in a grid or one at a time; at least 2"},
    {.name = "measures",
     .kind = KEY_NODE,
     .offset = FIELD(measures),
     .is_required = true,
     .help = "a list: what is kept of each variant, such as flow of delivery"},
    {.name = "limits",
     .kind = KEY_NODE,
     .offset = FIELD(limits),
     .help = "a map: a measure and what it keeps to, such as at most 20 m"},
    {.name = "compare",
     .kind = KEY_NODE,
     .offset = FIELD(compare),
     .help = "up to 3 measures weighed against one another; else the first two"},
    {.name = "run",
     .kind = KEY_CHOICE,
     .offset = FIELD(run),
     .choices = "steady|surge|fill",
     .help = "surge runs the section surge from each steady answer, fill the section filling; "
             "else as the measures need"},
};
#undef FIELD

const struct section study_section = {"study", "many variants of the case",
                                      sizeof study_keys / sizeof *study_keys, study_keys};

struct draft_study {
    const struct reader *reader;
    struct tree *root;
    const struct site *site;
    struct draft *draft; /* of a case that is wrong; NULL: it is right */
    struct study *study;
    struct measure *measures; /* [STUDY_MEASURE_MAX] */
};

static bool memory(const struct draft_study *draft)
{
    return faults_add_memory(draft->reader->faults, "the study");
}

/* --- what is varied --- */

static bool read_inputs(const struct draft_study *draft, const struct tree *vary,
                        struct case_study *result)
{
    struct arena *arena = draft->reader->arena;
    struct faults *faults = draft->reader->faults;
    bool is_good = true;
    if (vary->kind != TREE_MAP || vary->count == 0 || vary->count > DESIGN_INPUT_MAX) {
        return faults_add(faults, FAULT_ERROR, vary->place,
                          "study: vary: a map of 1 to %d inputs is expected, such as "
                          "'water.temperature: 4 11 24 degC'",
                          DESIGN_INPUT_MAX);
    }
    const size_t count = (size_t)vary->count;
    struct study_input *inputs = arena_take(arena, count, sizeof *inputs);
    struct spread *spreads = arena_take(arena, count, sizeof *spreads);
    result->paths = arena_take(arena, count, sizeof *result->paths);
    if (!inputs || !spreads || !result->paths) {
        return memory(draft);
    }
    int i = 0;
    for (const struct tree *child = vary->first; child; child = child->next, i++) {
        inputs[i] = (struct study_input){.path = child->key, .place = child->key_place};
        const bool is_found = case_path_find(draft->root, draft->site, child->key, child->key_place,
                                             arena, draft->draft, &result->paths[i], faults);
        const bool is_read = study_types_read(draft->reader, draft->site, draft->root, vary, child,
                                              &result->paths[i], &inputs[i], &spreads[i]);
        if (!is_found || !is_read) {
            result->paths[i].map = NULL;
            is_good = false;
        }
    }
    draft->study->inputs = inputs;
    draft->study->design.input_count = vary->count;
    draft->study->design.spreads = spreads;
    return is_good;
}

/* --- measures --- */

static const char *subject_name(enum measure_subject subject)
{
    switch (subject) {
    case MEASURE_OF_SITE:
        return "the site";
    case MEASURE_OF_LINK:
        return "part";
    case MEASURE_OF_POINT:
        return "point";
    case MEASURE_OF_TANK:
        return "tank";
    case MEASURE_OF_PUMP:
        return "pump";
    case MEASURE_OF_VALVE:
        break;
    }
    return "non-return valve";
}

/* Between a measure's kind and the name of what it is taken of. */
static const char *const between[] = {" of ", " at ", " by ", " in ", " through "};
enum { BETWEEN_COUNT = sizeof between / sizeof *between };

static bool refuse_kind(const struct draft_study *draft, const char *name, struct place place)
{
    struct nearest nearest;
    char words[CASE_PATH_LONGEST];
    (void)snprintf(words, sizeof words, "%s", name);
    for (size_t i = 0; i < BETWEEN_COUNT; i++) {
        char *at = strstr(words, between[i]);
        if (at) {
            *at = '\0';
        }
    }
    nearest_start(&nearest, words);
    for (int i = 0; i < measure_kind_count(); i++) {
        nearest_offer(&nearest, measure_kind_at(i)->words);
    }
    if (nearest.found && strcmp(nearest.found, words) == 0) {
        return faults_add(draft->reader->faults, FAULT_ERROR, place,
                          "study: '%.80s' is no measure; did you mean '%s' followed by 'of' and a "
                          "name?",
                          name, nearest.found);
    }
    return faults_add(draft->reader->faults, FAULT_ERROR, place, "study: '%.80s' is no measure%s",
                      name,
                      nearest_hint(&(struct hint){{0}}, nearest.found,
                                   ", such as 'flow of delivery'; 'downsurge catalogue measures' "
                                   "lists them"));
}

static bool refuse_subject(const struct draft_study *draft, const struct measure *measure,
                           struct place place)
{
    const struct network *network = draft->site->network;
    struct nearest nearest;
    const enum measure_subject subject = measure->kind->subject;
    if (draft->draft && is_lost(draft->draft, measure->subject)) {
        return false;
    }
    nearest_start(&nearest, measure->subject);
    for (int i = 0; subject == MEASURE_OF_POINT && i < network->point_count; i++) {
        nearest_offer(&nearest, network->points[i].name);
    }
    for (int i = 0; subject == MEASURE_OF_TANK && i < network->tank_count; i++) {
        nearest_offer(&nearest, network->tanks[i].name);
    }
    for (int i = 0; subject == MEASURE_OF_LINK && i < network->link_count; i++) {
        nearest_offer(&nearest, network->links[i].name);
    }
    for (int i = 0; subject == MEASURE_OF_PUMP && i < draft->site->pump_place_count; i++) {
        nearest_offer(&nearest, network->links[draft->site->pump_places[i].link].name);
    }
    for (int i = 0; subject == MEASURE_OF_VALVE && i < draft->site->valve_count; i++) {
        nearest_offer(&nearest, network->links[draft->site->valves[i].link].name);
    }
    return faults_add(draft->reader->faults, FAULT_ERROR, place,
                      "study: '%.80s': no %s is called '%.60s'%s", measure->name,
                      subject_name(subject), measure->subject,
                      nearest_hint(&(struct hint){{0}}, nearest.found, ""));
}

/* " of delivery": the name; NULL when nothing of that form stands there. */
static const char *find_subject_name(const char *rest)
{
    for (size_t i = 0; i < BETWEEN_COUNT; i++) {
        const size_t length = strlen(between[i]);
        if (strncmp(rest, between[i], length) == 0 && rest[length] != '\0') {
            return rest + length;
        }
    }
    return NULL;
}

/* Index of the measure of this name, added when it is new; -1: told. */
static int add_measure(const struct draft_study *draft, const char *name, struct place place)
{
    struct study *study = draft->study;
    const char *rest = NULL;
    for (int i = 0; i < study->measure_count; i++) {
        if (strcmp(study->measures[i].name, name) == 0) {
            return i;
        }
    }
    struct measure measure = {.kind = measure_kind_find(name, &rest), .name = name};
    const bool needs_name = measure.kind && measure.kind->subject != MEASURE_OF_SITE;
    measure.subject = needs_name ? find_subject_name(rest) : NULL;
    if (!measure.kind || (needs_name && !measure.subject)) {
        (void)refuse_kind(draft, name, place);
        return -1;
    }
    if (measure_find_subject(&measure, draft->site) == NETWORK_NONE) {
        (void)refuse_subject(draft, &measure, place);
        return -1;
    }
    if (study->measure_count == STUDY_MEASURE_MAX) {
        (void)faults_add(draft->reader->faults, FAULT_ERROR, place, "study: more measures than %d",
                         STUDY_MEASURE_MAX);
        return -1;
    }
    draft->measures[study->measure_count] = measure;
    return study->measure_count++;
}

static bool read_measures(const struct draft_study *draft, const struct tree *list)
{
    bool is_good = true;
    if (list->kind != TREE_LIST || list->count == 0) {
        return faults_add(draft->reader->faults, FAULT_ERROR, list->place,
                          "study: measures: a list is expected, such as "
                          "[flow of delivery, slam head of delivery]");
    }
    for (const struct tree *child = list->first; child; child = child->next) {
        const char *name = child->kind == TREE_TEXT ? child->text : tree_kind_name(child->kind);
        is_good = add_measure(draft, name, child->place) >= 0 && is_good;
    }
    return is_good;
}

static bool read_compare(const struct draft_study *draft, const struct tree *list)
{
    struct study *study = draft->study;
    if (!list) {
        study->compare_count = study->measure_count < 2 ? study->measure_count : 2;
        study->compare[1] = 1;
        return true;
    }
    if (list->kind != TREE_LIST || list->count == 0 || list->count > STUDY_COMPARE_MAX) {
        return faults_add(draft->reader->faults, FAULT_ERROR, list->place,
                          "study: compare: a list of 1 to %d measures is expected",
                          STUDY_COMPARE_MAX);
    }
    for (const struct tree *child = list->first; child; child = child->next) {
        const int index =
            add_measure(draft, child->kind == TREE_TEXT ? child->text : tree_kind_name(child->kind),
                        child->place);
        if (index < 0) {
            return false;
        }
        study->compare[study->compare_count++] = index;
    }
    return true;
}

/* --- limits --- */

static enum quantity quantity_of(const char *unit)
{
    static const struct {
        const char *unit;
        enum quantity quantity;
    } table[] = {
        {"m3 s-1", QUANTITY_FLOW},    {"m", QUANTITY_HEAD},
        {"m s-1", QUANTITY_VELOCITY}, {"Pa", QUANTITY_PRESSURE},
        {"W", QUANTITY_POWER},        {"s", QUANTITY_TIME},
        {"m3", QUANTITY_VOLUME},      {"J", QUANTITY_ENERGY},
        {"J m-3", QUANTITY_PRESSURE}, /* the same dimension */
    };
    for (size_t i = 0; i < sizeof table / sizeof *table; i++) {
        if (strcmp(table[i].unit, unit) == 0) {
            return table[i].quantity;
        }
    }
    return QUANTITY_NUMBER;
}

static bool read_limit(const struct draft_study *draft, const struct tree *node,
                       struct study_limit *limit)
{
    static const char most[] = "at most ";
    static const char least[] = "at least ";
    char name[2 * CASE_PATH_LONGEST];
    const char *subject = NULL;
    const struct measure_kind *kind = measure_kind_find(node->key, &subject);
    limit->measure = add_measure(draft, node->key, node->key_place);
    if (!kind) {
        return false;
    }
    struct tree rest = *node;
    limit->is_upper = strncmp(node->text, most, sizeof most - 1) == 0;
    if (limit->is_upper) {
        rest.text += sizeof most - 1;
    } else if (strncmp(node->text, least, sizeof least - 1) == 0) {
        rest.text += sizeof least - 1;
    } else {
        return faults_add(draft->reader->faults, FAULT_ERROR, node->place,
                          "study: limits: %.60s: write 'at most' or 'at least' and a value",
                          node->key);
    }
    const struct key key = {
        .name = node->key, .kind = KEY_QUANTITY, .quantity = quantity_of(kind->unit)};
    (void)snprintf(name, sizeof name, "%s %s", node->key, node->text);
    limit->name = arena_text(draft->reader->arena, name);
    if (!limit->name) {
        return memory(draft);
    }
    return key_read_value(draft->reader, &key, &rest, "study: limits", &limit->value) &&
           limit->measure >= 0;
}

static bool read_study_limits(const struct draft_study *draft, const struct tree *map)
{
    bool is_good = true;
    if (!map) {
        return true;
    }
    if (map->kind != TREE_MAP || map->count > STUDY_LIMIT_MAX) {
        return faults_add(draft->reader->faults, FAULT_ERROR, map->place,
                          "study: limits: a map of at most %d limits is expected, such as "
                          "'slam head of delivery: at most 20 m'",
                          STUDY_LIMIT_MAX);
    }
    struct study_limit *limits =
        arena_take(draft->reader->arena, (size_t)map->count, sizeof *limits);
    if (!limits) {
        return memory(draft);
    }
    for (const struct tree *child = map->first; child; child = child->next) {
        is_good = read_limit(draft, child, &limits[draft->study->limit_count++]) && is_good;
    }
    draft->study->limits = limits;
    return is_good;
}

/* --- the whole --- */

static bool settle_run(const struct draft_study *draft, const struct tree *node, int run)
{
    struct study *study = draft->study;
    struct faults *faults = draft->reader->faults;
    unsigned needed = STUDY_STEADY;
    for (int i = 0; i < study->measure_count; i++) {
        needed |= study->measures[i].kind->run;
    }
    study->runs = run > 0 ? needed | (unsigned)run : needed;
    if (run >= 0 && (needed & ~(unsigned)run) != 0) {
        return faults_add(faults, FAULT_ERROR, node->place,
                          "study: some measures need the %s; leave out 'run'",
                          (needed & ~(unsigned)run) == STUDY_FILL ? "filling" : "surge");
    }
    if ((study->runs & STUDY_SURGE) != 0 && !tree_find(draft->root, "surge")) {
        return faults_add(faults, FAULT_ERROR, node->place,
                          "study: some measures need the surge, and the case has no section surge");
    }
    return (study->runs & STUDY_FILL) == 0 || tree_find(draft->root, "filling") ||
           faults_add(faults, FAULT_ERROR, node->place,
                      "study: some measures need the filling, and the case has no section filling");
}

/* All that is varied could be read. */
static bool has_spreads(const struct design *design)
{
    bool is_good = design->input_count > 0;
    for (int i = 0; i < design->input_count; i++) {
        const struct spread *spread = &design->spreads[i];
        is_good &= spread->kind == SPREAD_LISTED ? spread->count > 0 : spread->low < spread->high;
    }
    return is_good;
}

static bool settle_design(const struct draft_study *draft, const struct tree *node,
                          const struct study_words *words)
{
    struct design *design = &draft->study->design;
    struct faults *faults = draft->reader->faults;
    design->kind = (enum design_kind)words->combine;
    design->samples = words->samples;
    design->seed = (uint64_t)words->seed;
    design->levels = words->levels;
    const bool is_sampled = design->kind == DESIGN_LATIN_HYPERCUBE ||
                            design->kind == DESIGN_SOBOL || design->kind == DESIGN_IMPORTANCE;
    bool is_good = true;
    if (is_sampled && words->samples < 1) {
        is_good = tree_find(node, "samples") ||
                  faults_add(faults, FAULT_ERROR, node->place,
                             "study: 'samples' is missing; write how many, such as samples: 256");
    }
    if (words->levels >= 0 && words->levels < 2) {
        is_good = faults_add(faults, FAULT_ERROR, node->place, "study: levels: must be at least 2");
    }
    if (!is_good || words->levels < 0 || (is_sampled && words->samples < 1) ||
        !has_spreads(design)) {
        return false;
    }
    return design_count(design) > 0 ||
           faults_add(faults, FAULT_ERROR, node->place,
                      "study: more than %d variants; vary less at once, or sample",
                      DESIGN_VARIANT_MAX);
}

static bool read_node(struct draft_study draft, const struct tree *node, struct case_study *result)
{
    struct study_words words;
    const struct reader *reader = draft.reader;
    const struct target targets[] = {{&study_section, &words}};
    *result = (struct case_study){0};
    draft.measures = arena_take(reader->arena, STUDY_MEASURE_MAX, sizeof *draft.measures);
    if (!draft.measures) {
        return memory(&draft);
    }
    result->study.measures = draft.measures;
    bool is_good = keys_read(reader, node, "study", 1, targets);
    is_good = (!words.vary || read_inputs(&draft, words.vary, result)) && is_good;
    is_good = (!words.measures || read_measures(&draft, words.measures)) && is_good;
    is_good = read_compare(&draft, words.compare) && is_good;
    is_good = read_study_limits(&draft, words.limits) && is_good;
    const bool is_settled = node->kind == TREE_MAP && settle_design(&draft, node, &words);
    return settle_run(&draft, node, words.run) && is_settled && is_good;
}

bool read_study(const struct reader *reader, struct tree *root, const struct site *site,
                struct case_study *result)
{
    const struct tree *node = tree_find(root, "study");
    if (!node) {
        *result = (struct case_study){0};
        return faults_add(reader->faults, FAULT_ERROR, root->place,
                          "the case has no section study; it says what is varied, such as study: "
                          "{vary: {water.temperature: 4 11 24 degC}, measures: [...]}");
    }
    return read_node((struct draft_study){reader, root, site, NULL, &result->study, NULL}, node,
                     result);
}

bool check_study(struct draft *draft, struct tree *root, struct case_study *study)
{
    const struct tree *node = tree_find(root, "study");
    struct study *into = &study->study;
    const struct draft_study whole = {&draft->reader, root, draft->site, draft, into, NULL};
    return node && (read_node(whole, node, study) || into->inputs);
}

const char *study_input_base(const struct case_study *study, int input, double *number)
{
    const struct study_input *here = &study->study.inputs[input];
    const struct tree *node = study->paths[input].node;
    const char *end = node && node->kind == TREE_TEXT ? number_read(node->text, number) : NULL;
    if (!end || strcmp(end + strspn(end, " "), here->unit) != 0) {
        *number = (double)NAN;
    }
    return node && node->kind == TREE_TEXT ? node->text : "";
}

const char *study_input_text(const struct study_input *input, double coordinate,
                             struct arena *arena)
{
    char text[CASE_PATH_LONGEST];
    if (isnan(coordinate)) {
        return NULL;
    }
    if (input->label_count > 0) {
        return input->labels[(int)coordinate];
    }
    (void)snprintf(text, sizeof text, "%.17g %s", coordinate, input->unit);
    return arena_text(arena, text);
}
