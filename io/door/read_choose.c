#include "io/door/read_choose.h"

#include "io/door/lost.h"
#include "io/nearest.h"

#include <math.h>
#include <string.h>

struct choose_words {
    struct numbers temperature;
    const struct tree *levels, *valves;
    double duration;
    int pumps, finalists;
};

enum { PUMPS_ALONE, PUMPS_AS_STATED };

enum { USUAL_TEMPERATURE = 20 }; /* degC at which water is water at any altitude */

#define FIELD(name) offsetof(struct choose_words, name)
static const struct key choose_keys[] = {
    {.name = "temperature",
     .kind = KEY_QUANTITIES,
     .offset = FIELD(temperature),
     .quantity = QUANTITY_TEMPERATURE,
     .help = "of the coldest and the warmest water, and any between"},
    {.name = "levels",
     .kind = KEY_NODE,
     .offset = FIELD(levels),
     .help = "a map: tanks with their lowest and highest level, such as {sump: -0.6 0.0 m}"},
    {.name = "pumps",
     .kind = KEY_CHOICE,
     .offset = FIELD(pumps),
     .choices = "alone and together|as stated",
     .fallback = "alone and together",
     .help = "alone and together: each running pump also by itself, and each failing by itself"},
    {.name = "valves",
     .kind = KEY_NODE,
     .offset = FIELD(valves),
     .help = "a list of the non-return valves in question; else all; the others stay as they are"},
    {.name = "duration",
     .kind = KEY_QUANTITY,
     .offset = FIELD(duration),
     .quantity = QUANTITY_TIME,
     .plausible = PLAUSIBLE_SURGE_TIME,
     .range = RANGE_POSITIVE,
     .help = "of each surge run; else that of surge"},
    {.name = "finalists",
     .kind = KEY_WHOLE,
     .offset = FIELD(finalists),
     .range = RANGE_POSITIVE,
     .fallback = "3",
     .help = "the best sets of valves, which are run through every case; at most 20"},
};
#undef FIELD

const struct section choose_section = {"choose", "what a choice of valves must hold for",
                                       sizeof choose_keys / sizeof *choose_keys, choose_keys};

/* --- levels --- */

static bool refuse_tank(struct draft *draft, const struct tree *node)
{
    struct nearest nearest;
    if (is_lost(draft, node->key)) {
        return false;
    }
    nearest_start(&nearest, node->key);
    for (int i = 0; i < draft->network->tank_count; i++) {
        nearest_offer(&nearest, draft->network->tanks[i].name);
    }
    return draft_error(draft, node->key_place, "choose: levels: no tank is called '%.60s'%s",
                       node->key, nearest_hint(&(struct hint){{0}}, nearest.found, ""));
}

static bool check_levels(struct draft *draft, const struct tank *tank, const struct tree *node,
                         const struct numbers *levels)
{
    for (int i = 0; i < levels->count; i++) {
        const double level = levels->value[i];
        if (!draft->has_wrong_tanks && (level < tank->floor || level > tank->brim)) {
            return draft_error(draft, node->place,
                               "choose: levels: %s: %.4g m is %s %.4g m; write levels that the "
                               "water can have",
                               tank->name, level,
                               level < tank->floor ? "below its floor" : "above its brim",
                               level < tank->floor ? tank->floor : tank->brim);
        }
    }
    return true;
}

static void read_level(struct draft *draft, const struct tree *node)
{
    static const struct key key = {
        .name = "levels", .kind = KEY_QUANTITIES, .quantity = QUANTITY_LENGTH};
    struct choose_plan *plan = &draft->site->choose;
    struct numbers levels = {0};
    const int tank = network_find_tank(draft->network, node->key);
    if (tank == NETWORK_NONE) {
        (void)refuse_tank(draft, node);
        return;
    }
    if (!key_read_value(&draft->reader, &key, node,
                        keys_subject(&draft->reader, "choose", node->key), &levels) ||
        !check_levels(draft, &draft->network->tanks[tank], node, &levels)) {
        return;
    }
    plan->tanks[plan->tank_count++] = (struct choose_levels){tank, levels.count, levels.value};
}

static void read_levels(struct draft *draft, const struct tree *map)
{
    if (!map) {
        return;
    }
    if (map->kind != TREE_MAP || map->count == 0 || map->count > CHOOSE_TANKS_MOST) {
        (void)draft_error(draft, map->place,
                          "choose: levels: a map of 1 to %d tanks is expected, such as "
                          "{sump: -0.6 0.0 m}; give the others one level where they are described",
                          CHOOSE_TANKS_MOST);
        return;
    }
    for (const struct tree *child = map->first; child; child = child->next) {
        read_level(draft, child);
    }
}

/* --- valves --- */

static int find_valve(const struct draft *draft, const char *name, struct nearest *nearest)
{
    int found = NETWORK_NONE;
    nearest_start(nearest, name);
    for (int i = 0; i < draft->site->valve_count; i++) {
        const char *known = draft->network->links[draft->site->valves[i].link].name;
        nearest_offer(nearest, known);
        found = strcmp(known, name) == 0 ? i : found;
    }
    return found;
}

static void read_valve(struct draft *draft, const struct tree *node, bool asked[])
{
    struct nearest nearest;
    const char *name = node->kind == TREE_TEXT ? node->text : tree_kind_name(node->kind);
    const int valve = find_valve(draft, name, &nearest);
    if (valve == NETWORK_NONE && is_lost(draft, name)) {
        return;
    }
    if (valve == NETWORK_NONE) {
        (void)draft_error(
            draft, node->place, "choose: valves: no non-return valve is called '%.60s'%s", name,
            nearest_hint(&(struct hint){{0}}, nearest.found, "; give it a name where it stands"));
    } else if (asked[valve]) {
        (void)draft_error(draft, node->place, "choose: valves: '%.60s' stands here twice", name);
    } else {
        asked[valve] = true;
    }
}

static void read_valves(struct draft *draft, const struct tree *list)
{
    struct choose_plan *plan = &draft->site->choose;
    const size_t count = (size_t)draft->site->valve_count + 1;
    if (!list) {
        return;
    }
    if (list->kind != TREE_LIST || list->count == 0) {
        (void)draft_error(draft, list->place,
                          "choose: valves: a list of names is expected, such as [delivery]");
        return;
    }
    bool *asked = draft_take(draft, count, sizeof *asked);
    int *valves = draft_take(draft, count, sizeof *valves);
    if (!asked || !valves) {
        return;
    }
    for (const struct tree *child = list->first; child; child = child->next) {
        read_valve(draft, child, asked);
    }
    for (int i = 0; i < draft->site->valve_count; i++) {
        if (asked[i]) {
            valves[plan->valve_count++] = i;
        }
    }
    plan->valves = valves;
}

/* --- the section --- */

static void check_size(struct draft *draft, const struct tree *node)
{
    const struct choose_plan *plan = &draft->site->choose;
    double waters = plan->temperature_count > 0 ? plan->temperature_count : 1;
    for (int i = 0; i < plan->tank_count; i++) {
        waters *= plan->tanks[i].count;
    }
    if (waters > CHOOSE_WATERS_MOST) {
        (void)draft_error(draft, node->place,
                          "choose: temperature and levels make %.0f combinations, at most %d are "
                          "tried; name only the lowest and highest of what matters",
                          waters, CHOOSE_WATERS_MOST);
    }
}

static void check_finalists(struct draft *draft, const struct tree *node, int finalists)
{
    if (finalists > CHOOSE_FINALISTS_MOST) {
        (void)draft_error(draft, tree_find(node, "finalists")->place,
                          "choose: finalists: at most %d", CHOOSE_FINALISTS_MOST);
    }
}

static void check_temperature(struct draft *draft, const struct tree *node,
                              const struct choose_words *words)
{
    if (words->temperature.count > 0 && !tree_find(draft->root, "water")) {
        (void)draft_error(draft, tree_find(node, "temperature")->place,
                          "choose: temperature: the case has no section 'water' to change; write "
                          "one, such as 'water: {temperature: 11 degC}'");
    }
    struct water spare;
    struct failure failure;
    if (!water_init(&spare, USUAL_TEMPERATURE, draft->site->altitude, node->place, &failure)) {
        return; /* the altitude is wrong: told there */
    }
    for (int i = 0; i < words->temperature.count; i++) {
        const double value = words->temperature.value[i];
        if (!water_init(&spare, value, draft->site->altitude, tree_find(node, "temperature")->place,
                        &failure)) {
            (void)faults_add_failure(draft->reader.faults, &failure);
        }
    }
}

void read_choose(struct draft *draft, const struct tree *node)
{
    struct choose_words words;
    struct choose_plan *plan = &draft->site->choose;
    const struct target targets[] = {{&choose_section, &words}};
    if (!node || !keys_read(&draft->reader, node, "choose", 1, targets)) {
        return;
    }
    check_finalists(draft, node, words.finalists);
    check_temperature(draft, node, &words);
    read_levels(draft, words.levels);
    read_valves(draft, words.valves);
    plan->temperature_count = words.temperature.count;
    plan->temperature_c = words.temperature.value;
    plan->pumps_as_stated = words.pumps == PUMPS_AS_STATED;
    plan->duration = isfinite(words.duration) ? words.duration : 0.0;
    plan->finalists = words.finalists;
    check_size(draft, node);
}
