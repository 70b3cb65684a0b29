/* The sites of a choice: the case read again for each water with each set of levels. */
#include "io/door/case_path.h"
#include "io/door/door.h"
#include "io/door/read_choose.h"
#include "io/door/shelf.h"
#include "models/letters.h"

#include <stdio.h>
#include <string.h>

enum { TEXT_SIZE = 40, NAME_SIZE = 160 };

/* One combination: which of the temperatures, which level of each tank. */
struct combination {
    int temperature;
    int level[CHOOSE_TANKS_MOST];
};

struct reading {
    const struct site *base;
    struct tree *root;
    struct units *units;
    struct shelf shelf;
    struct arena *arena;
    struct faults *faults;
};

static struct tree *child_of(const struct tree *map, const char *key)
{
    for (struct tree *child = map && map->kind == TREE_MAP ? map->first : NULL; child;
         child = child->next) {
        if (strcmp(child->key, key) == 0) {
            return child;
        }
    }
    return NULL;
}

/* The next combination, the last tank's level running fastest; false: that was the last. */
static bool step(const struct choose_plan *plan, struct combination *at)
{
    for (int i = plan->tank_count - 1; i >= 0; i--) {
        if (++at->level[i] < plan->tanks[i].count) {
            return true;
        }
        at->level[i] = 0;
    }
    return ++at->temperature < plan->temperature_count;
}

static const char *write_value(struct reading *reading, double value, const char *unit)
{
    char text[TEXT_SIZE];
    (void)snprintf(text, sizeof text, "%.17g %s", value, unit);
    return arena_text(reading->arena, text);
}

/* Puts one value into the case's tree. */
static bool change(struct reading *reading, struct tree *map, const char *key, const char *text,
                   struct case_change *made)
{
    const struct case_path path = {map, key, child_of(map, key)};
    if (!text) {
        return faults_add_memory(reading->faults, "the sites of the choice");
    }
    case_change_make(&path, text, made);
    return true;
}

static void name_site(const struct reading *reading, const struct combination *at, size_t size,
                      char name[])
{
    const struct choose_plan *plan = &reading->base->choose;
    size_t used = 0;
    name[0] = '\0';
    if (plan->temperature_count > 0) {
        used += (size_t)snprintf(name, size, "%.4g degC", plan->temperature_c[at->temperature]);
    }
    for (int i = 0; i < plan->tank_count && used < size; i++) {
        const struct choose_levels *levels = &plan->tanks[i];
        const char *tank = reading->base->network->tanks[levels->tank].name;
        used += (size_t)snprintf(name + used, size - used, "%s%.*s at %.4g m", used ? ", " : "",
                                 (int)letters_within(tank, 40), tank, levels->level[at->level[i]]);
    }
}

/* Changes what the combination says; how many changes are made stands in *count. */
static bool change_all(struct reading *reading, const struct combination *at,
                       struct case_change changes[], int *count)
{
    const struct choose_plan *plan = &reading->base->choose;
    if (plan->temperature_count > 0) {
        struct tree *water = child_of(reading->root, "water"); /* there, by read_choose */
        if (!change(reading, water, "temperature",
                    write_value(reading, plan->temperature_c[at->temperature], "degC"),
                    &changes[*count])) {
            return false;
        }
        ++*count;
    }
    for (int i = 0; i < plan->tank_count; i++) {
        const struct choose_levels *levels = &plan->tanks[i];
        struct tree *tank = child_of(child_of(reading->root, "tanks"),
                                     reading->base->network->tanks[levels->tank].name);
        if (!change(reading, tank, "level", write_value(reading, levels->level[at->level[i]], "m"),
                    &changes[*count])) {
            return false;
        }
        ++*count;
    }
    return true;
}

static bool read_one(struct reading *reading, const struct combination *at,
                     struct envelope_site *out)
{
    struct case_change changes[CHOOSE_TANKS_MOST + 1];
    char name[NAME_SIZE];
    int count = 0;
    struct site *site = NULL;
    struct faults faults; /* what the case assumes was told once */
    faults_init(&faults, reading->arena);
    bool is_good = change_all(reading, at, changes, &count);
    if (is_good) {
        is_good = read_site_tree(reading->base->path, reading->base->text, reading->root,
                                 reading->units, &reading->shelf, reading->arena, &site, &faults);
        if (!is_good) {
            (void)faults_add_failure(reading->faults, faults_first(&faults));
        }
    }
    while (count > 0) {
        case_change_undo(&changes[--count]);
    }
    name_site(reading, at, sizeof name, name);
    *out = (struct envelope_site){site, arena_text(reading->arena, name)};
    return is_good && (out->name || faults_add_memory(reading->faults, "the sites"));
}

static bool read_all(struct reading *reading, int room, struct envelope_site *list, int *count)
{
    const struct site *base = reading->base;
    struct combination at = {0};
    struct failure failure = {0};
    bool is_good = true;
    reading->root =
        tree_read(base->path, base->text, strlen(base->text), reading->arena, reading->faults);
    reading->units = units_new(&failure);
    if (!reading->root || !reading->units) {
        return reading->root && faults_add_failure(reading->faults, &failure);
    }
    do {
        is_good = *count < room && read_one(reading, &at, &list[*count]);
        *count += is_good;
    } while (is_good && step(&base->choose, &at));
    return is_good;
}

int read_choose_sites(const struct site *site, struct arena *arena,
                      const struct envelope_site **sites, struct faults *faults)
{
    const bool has_envelope = site->choose.temperature_count > 0 || site->choose.tank_count > 0;
    struct reading reading = {.base = site,
                              .shelf = {.arena = arena, .first = site->files},
                              .arena = arena,
                              .faults = faults};
    struct envelope_site *list = arena_take(arena, CHOOSE_WATERS_MOST + 1, sizeof *list);
    int count = 1;
    if (!list) {
        (void)faults_add_memory(faults, "the sites of the choice");
        return -1;
    }
    list[0] = (struct envelope_site){site, ""};
    *sites = list;
    if (!has_envelope) {
        return count;
    }
    const bool is_good = read_all(&reading, CHOOSE_WATERS_MOST + 1, list, &count);
    units_free(reading.units);
    return is_good ? count : -1;
}
