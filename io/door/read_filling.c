#include "io/door/read_filling.h"

#include "io/door/filling_tanks.h"
#include "io/door/filling_times.h"
#include "io/door/lost.h"
#include "io/nearest.h"

#include <math.h>
#include <string.h>

struct filling_words {
    double duration, clock;
    const struct tree *tanks, *floats, *pumps, *draws, *timers, *tariff;
};

#define FIELD(name) offsetof(struct filling_words, name)
#define NODE_KEY(word, field, text)                                                                \
    {                                                                                              \
        .name = (word), .kind = KEY_NODE, .offset = FIELD(field), .help = (text)                   \
    }
static const struct key filling_keys[] = {
    {.name = "duration",
     .kind = KEY_QUANTITY,
     .offset = FIELD(duration),
     .quantity = QUANTITY_TIME,
     .range = RANGE_POSITIVE,
     .fallback = "24 h",
     .help = "how long the site is followed (--for goes before it)"},
    {.name = "clock",
     .kind = KEY_QUANTITY,
     .offset = FIELD(clock),
     .quantity = QUANTITY_TIME,
     .range = RANGE_NOT_NEGATIVE,
     .fallback = "0 h",
     .help = "time of the day at the start"},
    NODE_KEY("tanks", tanks, "a map: shape and weather of each tank"),
    NODE_KEY("floats", floats, "a map of float switches"),
    NODE_KEY("pumps", pumps, "a map: rest, dry-run protection and prime of each pump"),
    NODE_KEY("draws", draws, "a list: what is taken over the day"),
    NODE_KEY("timers", timers, "a list: what opens and shuts by the clock"),
    NODE_KEY("tariff", tariff, "price of energy over the day; else the section energy's"),
};
#undef NODE_KEY
#undef FIELD

static const struct section filling_section = {"filling", "the site's hours and days",
                                               sizeof filling_keys / sizeof *filling_keys,
                                               filling_keys};

/* --- pumps --- */

struct pump_words {
    double rest, protect_level, restart_level, starts, prime_volume, prime_leak, prime_time;
    const char *protect_tank;
};

#define FIELD(name) offsetof(struct pump_words, name)
static const struct key pump_keys[] = {
    {.name = "rest",
     .kind = KEY_QUANTITY,
     .offset = FIELD(rest),
     .quantity = QUANTITY_TIME,
     .range = RANGE_NOT_NEGATIVE,
     .fallback = "0 s",
     .help = "at least so long between a stop and the next start"},
    {.name = "dry-run level",
     .kind = KEY_QUANTITY,
     .offset = FIELD(protect_level),
     .quantity = QUANTITY_LENGTH,
     .help = "elevation of the water at which it is stopped whatever its float says"},
    {.name = "restart level",
     .kind = KEY_QUANTITY,
     .offset = FIELD(restart_level),
     .quantity = QUANTITY_LENGTH,
     .help = "at which it may run again; else 0.1 m above the dry-run level"},
    {.name = "dry-run tank",
     .kind = KEY_TEXT,
     .offset = FIELD(protect_tank),
     .help = "whose level is watched; else the tank it draws from"},
    {.name = "starts an hour",
     .kind = KEY_QUANTITY,
     .offset = FIELD(starts),
     .quantity = QUANTITY_NUMBER,
     .range = RANGE_POSITIVE,
     .help = "that its motor stands; else 10"},
    {.name = "foot valve leak",
     .kind = KEY_QUANTITY,
     .offset = FIELD(prime_leak),
     .quantity = QUANTITY_FLOW,
     .range = RANGE_POSITIVE,
     .help = "that drains its suction pipe while it stands"},
    {.name = "suction volume",
     .kind = KEY_QUANTITY,
     .offset = FIELD(prime_volume),
     .quantity = QUANTITY_VOLUME,
     .range = RANGE_POSITIVE,
     .help = "of water until its prime is lost; else that of the pipes before it"},
    {.name = "prime time",
     .kind = KEY_QUANTITY,
     .offset = FIELD(prime_time),
     .quantity = QUANTITY_TIME,
     .range = RANGE_NOT_NEGATIVE,
     .help = "of running after which it primes itself; else it never does"},
};
#undef FIELD

static const struct section filling_pump_section = {
    "filling: pumps", "how each pump is kept", sizeof pump_keys / sizeof *pump_keys, pump_keys};

/* m over the dry-run level, where nothing is said: a float's common difference. */
static const double usual_difference = 0.1;

static struct filling_pump *take_pumps(struct draft *draft)
{
    const int count = draft->site->pump_place_count;
    struct filling_pump *pumps = draft_take(draft, (size_t)count, sizeof *pumps);
    for (int i = 0; pumps && i < count; i++) {
        const struct pump_place *place = &draft->site->pump_places[i];
        pumps[i] = (struct filling_pump){.link = place->link,
                                         .protect_tank = NETWORK_NONE,
                                         .starts_limit = NAN,
                                         .prime_tank = place->from_tank,
                                         .prime_axis = place->axis,
                                         .prime_time = NAN};
    }
    draft->site->filling.pumps = pumps;
    draft->site->filling.pump_count = pumps ? count : 0;
    return pumps;
}

static int find_pump(const struct draft *draft, const char *name)
{
    const struct filling_plan *plan = &draft->site->filling;
    const int link = names_find(&draft->links, name);
    for (int i = 0; link >= 0 && i < plan->pump_count; i++) {
        if (plan->pumps[i].link == link) {
            return i;
        }
    }
    return NETWORK_NONE;
}

static void refuse_pump(struct draft *draft, const char *what, const char *name, struct place place)
{
    const struct filling_plan *plan = &draft->site->filling;
    struct nearest nearest;
    if (is_lost(draft, name)) {
        return;
    }
    nearest_start(&nearest, name);
    for (int i = 0; i < plan->pump_count; i++) {
        nearest_offer(&nearest, draft->network->links[plan->pumps[i].link].name);
    }
    (void)draft_error(draft, place, "%s: no pump of a run is called '%.60s'%s", what, name,
                      nearest_hint(&(struct hint){{0}}, nearest.found, ""));
}

static bool set_protection(struct draft *draft, const struct tree *node,
                           const struct pump_words *words, struct filling_pump *pump)
{
    if (!isfinite(words->protect_level)) {
        return true;
    }
    pump->protect_tank = words->protect_tank
                             ? network_find_tank(draft->network, words->protect_tank)
                             : pump->prime_tank;
    pump->protect_level = words->protect_level;
    pump->restart_level = isfinite(words->restart_level) ? words->restart_level
                                                         : words->protect_level + usual_difference;
    if (pump->protect_tank == NETWORK_NONE) {
        return !(words->protect_tank && is_lost(draft, words->protect_tank)) &&
               draft_error(draft, node->place,
                           "filling pump '%s': %s; give the tank that is watched, 'dry-run tank'",
                           node->key,
                           words->protect_tank ? "there is no tank of that name"
                                               : "it draws from no tank of its own");
    }
    return pump->restart_level > pump->protect_level ||
           draft_error(draft, node->place,
                       "filling pump '%s': its restart level %.4g m must be above its dry-run "
                       "level %.4g m",
                       node->key, pump->restart_level, pump->protect_level);
}

static void read_pump(struct draft *draft, const struct tree *node, struct filling_pump *pumps)
{
    struct pump_words words;
    const struct target targets[] = {{&filling_pump_section, &words}};
    const int index = find_pump(draft, node->key);
    if (index == NETWORK_NONE) {
        refuse_pump(draft, "filling: pumps", node->key, node->key_place);
        return;
    }
    struct filling_pump *pump = &pumps[index];
    const char *subject = keys_subject(&draft->reader, "filling pump", node->key);
    if (!keys_read(&draft->reader, node, subject, 1, targets) ||
        !set_protection(draft, node, &words, pump)) {
        return;
    }
    pump->least_rest = words.rest;
    pump->starts_limit = words.starts;
    if (!isfinite(words.prime_leak)) {
        return;
    }
    pump->prime_leak = words.prime_leak;
    pump->prime_time = words.prime_time;
    pump->prime_volume = isfinite(words.prime_volume)
                             ? words.prime_volume
                             : network_volume_before(draft->network, pump->link);
    if (pump->prime_tank == NETWORK_NONE || !(pump->prime_volume > 0)) {
        (void)draft_error(draft, node->place,
                          "%s: its prime can be followed only when its run begins at a tank, or a "
                          "run with 'suction: yes' leads from one to it, and pipe before the pump "
                          "or a 'suction volume' is said",
                          subject);
        pump->prime_volume = 0;
    }
}

/* --- float switches --- */

struct float_words {
    const char *tank;
    const struct tree *pumps;
    struct numbers on, off;
    int duty, empties, at_start;
};

#define FIELD(name) offsetof(struct float_words, name)
static const struct key float_keys[] = {
    {.name = "tank",
     .kind = KEY_TEXT,
     .offset = FIELD(tank),
     .is_required = true,
     .help = "whose level it feels"},
    {.name = "pumps",
     .kind = KEY_NODE,
     .offset = FIELD(pumps),
     .is_required = true,
     .help = "a list of pumps in order of duty; more pumps than levels: standby"},
    {.name = "on",
     .kind = KEY_QUANTITIES,
     .offset = FIELD(on),
     .quantity = QUANTITY_LENGTH,
     .is_required = true,
     .help = "elevation of the water at which a pump is called; several: one more at each"},
    {.name = "off",
     .kind = KEY_QUANTITIES,
     .offset = FIELD(off),
     .quantity = QUANTITY_LENGTH,
     .is_required = true,
     .help = "at which the call ends; above on: fills the tank, below: empties it"},
    {.name = "duty",
     .kind = KEY_CHOICE,
     .offset = FIELD(duty),
     .choices = "in order|alternating",
     .fallback = "in order",
     .help = "alternating: every start is the next pump's"},
    {.name = "empties",
     .kind = KEY_YES,
     .offset = FIELD(empties),
     .help = "whether it empties its tank, where on and off do not tell"},
    {.name = "at start",
     .kind = KEY_CHOICE,
     .offset = FIELD(at_start),
     .choices = "off|on",
     .fallback = "off",
     .help = "when the first level lies between on and off"},
};
#undef FIELD

static const struct section filling_float_section = {
    "filling: floats", "float switches and their pumps", sizeof float_keys / sizeof *float_keys,
    float_keys};

static bool read_float_pumps(struct draft *draft, const struct tree *list, const char *subject,
                             struct filling_switch *what)
{
    const bool is_one = list->kind == TREE_TEXT;
    if (!is_one && (list->kind != TREE_LIST || list->count == 0)) {
        return draft_error(draft, list->place, "%s: pumps: a list is expected, such as [lift-1]",
                           subject);
    }
    int *pumps = draft_take(draft, (size_t)(is_one ? 1 : list->count), sizeof *pumps);
    what->pumps = pumps;
    for (const struct tree *child = is_one ? list : list->first; pumps && child;
         child = is_one ? NULL : child->next) {
        const char *name = child->kind == TREE_TEXT ? child->text : tree_kind_name(child->kind);
        const int index = find_pump(draft, name);
        if (index == NETWORK_NONE) {
            refuse_pump(draft, subject, name, child->place);
            return false;
        }
        pumps[what->pump_count++] = index;
    }
    return pumps != NULL;
}

static bool check_levels(struct draft *draft, const struct tree *node, const char *subject,
                         const struct filling_switch *what)
{
    const struct tank *tank = &draft->network->tanks[what->tank];
    for (int i = 0; i < what->stage_count; i++) {
        const double on = what->on_level[i];
        const double off = what->off_level[i];
        if (what->is_emptying ? on < off : on > off) {
            return draft_error(draft, node->place,
                               "%s: it %s its tank, but is on at %.4g m and off at %.4g m", subject,
                               what->is_emptying ? "empties" : "fills", on, off);
        }
        if (!(fabs(on - off) > 0)) {
            draft_doubt(draft, node->place,
                        "%s: on and off at the same level %.4g m: it will switch to and fro",
                        subject, on);
        }
        if (!draft->has_wrong_tanks &&
            (fmin(on, off) < tank->floor || fmax(on, off) > tank->brim)) {
            draft_doubt(draft, node->place,
                        "%s: levels %.4g and %.4g m are not both between floor %.4g m and brim "
                        "%.4g m of '%s'",
                        subject, on, off, tank->floor, tank->brim, tank->name);
        }
    }
    return true;
}

/* By its levels, and where these are the same by whether its first pump draws from the tank. */
static bool empties(const struct draft *draft, const struct filling_switch *what)
{
    const double over = what->on_level[0] - what->off_level[0];
    if (fabs(over) > 0 || !what->pumps) {
        return over > 0;
    }
    return draft->site->filling.pumps[what->pumps[0]].prime_tank == what->tank;
}

/* Levels the wrong way round call a pump for what it makes worse: the tank runs over or dry. */
static void doubt_way(struct draft *draft, const struct filling_switch *what)
{
    const char *tank = draft->network->tanks[what->tank].name;
    for (int i = 0; i < what->pump_count; i++) {
        const struct filling_pump *pump = &draft->site->filling.pumps[what->pumps[i]];
        const bool draws = pump->prime_tank == what->tank;
        if (pump->prime_tank != NETWORK_NONE && draws != what->is_emptying) {
            draft_doubt(
                draft, what->place,
                "float '%s': by its levels it %s '%s', but '%s' draws from %s; look whether "
                "'on' and 'off' are the wrong way round",
                what->name, what->is_emptying ? "empties" : "fills", tank,
                draft->network->links[pump->link].name, draws ? "it" : "another tank");
        }
    }
}

static bool read_float(struct draft *draft, const struct tree *node, struct filling_switch *what)
{
    struct float_words words;
    const struct target targets[] = {{&filling_float_section, &words}};
    const char *subject = keys_subject(&draft->reader, "float", node->key);
    if (!keys_read(&draft->reader, node, subject, 1, targets)) {
        return false;
    }
    *what = (struct filling_switch){.name = node->key,
                                    .place = node->key_place,
                                    .tank = network_find_tank(draft->network, words.tank),
                                    .stage_count = words.on.count,
                                    .on_level = words.on.value,
                                    .off_level = words.off.value,
                                    .alternates = words.duty == 1,
                                    .is_on_at_start = words.at_start == 1};
    if (what->tank == NETWORK_NONE) {
        return !is_lost(draft, words.tank) &&
               draft_error(draft, tree_find(node, "tank")->place, "%s: there is no tank '%.60s'",
                           subject, words.tank);
    }
    if (words.on.count != words.off.count) {
        return draft_error(draft, node->place,
                           "%s: %d levels on and %d levels off; there must be as many", subject,
                           words.on.count, words.off.count);
    }
    if (!read_float_pumps(draft, words.pumps, subject, what)) {
        return false;
    }
    what->is_emptying = words.empties >= 0 ? words.empties == 1 : empties(draft, what);
    if (what->pump_count < what->stage_count) {
        return draft_error(draft, node->place, "%s: %d levels call %d pumps; one more pump a level",
                           subject, what->stage_count, what->pump_count);
    }
    doubt_way(draft, what);
    return check_levels(draft, node, subject, what);
}

/* A pump obeys one float. */
static void check_shared(struct draft *draft, const struct filling_plan *plan, int index)
{
    const struct filling_switch *what = &plan->switches[index];
    for (int other = 0; other <= index; other++) {
        for (int i = 0; i < plan->switches[other].pump_count; i++) {
            for (int k = 0; k < what->pump_count; k++) {
                if ((other < index || i < k) && plan->switches[other].pumps[i] == what->pumps[k]) {
                    const int link = plan->pumps[what->pumps[k]].link;
                    (void)draft_error(
                        draft, what->place,
                        "float '%s': pump '%s' is named twice; a pump obeys one float", what->name,
                        draft->network->links[link].name);
                    return;
                }
            }
        }
    }
}

static bool is_map(struct draft *draft, const struct tree *node, const char *subject,
                   const char *example)
{
    return node && (node->kind == TREE_MAP ||
                    draft_error(draft, node->place, "%s: a map of names is expected, such as '%s'",
                                subject, example));
}

static void read_floats(struct draft *draft, const struct tree *node)
{
    struct filling_plan *plan = &draft->site->filling;
    if (!is_map(draft, node, "filling: floats",
                "header float: {tank: header, pumps: [lift-1], on: 13 m, off: 14 m}")) {
        return;
    }
    struct filling_switch *switches = draft_take(draft, (size_t)node->count, sizeof *switches);
    plan->switches = switches;
    for (const struct tree *child = node->first; switches && child; child = child->next) {
        if (read_float(draft, child, &switches[plan->switch_count])) {
            check_shared(draft, plan, plan->switch_count++);
        }
    }
}

/* --- the section --- */

void read_filling(struct draft *draft, const struct tree *node)
{
    struct filling_words words;
    const struct target targets[] = {{&filling_section, &words}};
    struct filling_plan *plan = &draft->site->filling;
    struct filling_pump *pumps = take_pumps(draft);
    memset(&words, 0, sizeof words);
    if (node) {
        plan->is_given = keys_read(&draft->reader, node, "filling", 1, targets);
        plan->duration = isfinite(words.duration) ? words.duration : 0;
        plan->clock = isfinite(words.clock) ? words.clock : 0;
    }
    read_filling_tanks(draft, words.tanks);
    find_filling_mouths(draft);
    if (is_map(draft, words.pumps, "filling: pumps", "lift-1: {rest: 2 min}")) {
        for (const struct tree *child = words.pumps->first; pumps && child; child = child->next) {
            read_pump(draft, child, pumps);
        }
    }
    read_floats(draft, words.floats);
    read_filling_draws(draft, words.draws);
    read_filling_timers(draft, words.timers);
    read_filling_tariff(draft, words.tariff);
}

void add_filling_sections(struct sections *sections)
{
    const struct section *const list[] = {&filling_section,       &filling_tank_section,
                                          &filling_float_section, &filling_pump_section,
                                          &filling_draw_section,  &filling_timer_section,
                                          &filling_tariff_section};
    for (size_t i = 0; i < sizeof list / sizeof list[0]; i++) {
        sections_add(sections, list[i]);
    }
}
