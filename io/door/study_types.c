#include "io/door/study_types.h"

#include "models/name.h"

#include <string.h>

static const char word_for_all[] = "all";

/* The valve whose part of the case is `map`; NULL: none. */
static const struct non_return *find_valve(const struct site *site, const struct tree *map)
{
    for (int i = 0; i < site->valve_count; i++) {
        const struct link *link = &site->network->links[site->valves[i].link];
        if (link->place.line == map->place.line && link->place.column == map->place.column) {
            return link->data;
        }
    }
    return NULL;
}

/* Whether the study also varies `key` of the same part: "delivery.type", "delivery.size". */
static bool varies(const struct tree *vary, const struct tree *values, const char *key)
{
    const char *dot = strrchr(values->key, '.');
    const size_t length = dot ? (size_t)(dot - values->key) + 1 : 0;
    for (const struct tree *child = vary->first; child; child = child->next) {
        if (strncmp(child->key, values->key, length) == 0 &&
            strcmp(child->key + length, key) == 0) {
            return true;
        }
    }
    return false;
}

struct wanted {
    const struct site *site;
    const struct non_return *valve; /* NULL: its part is wrong, which is told; all types fit */
    bool is_foot;
    bool any_size;
    bool any_mounting;
};

static bool fits(const struct wanted *wanted, const struct non_return_type *type)
{
    const double margin = 1e-6; /* m; a size is a round number of millimetres */
    const struct non_return *valve = wanted->valve;
    struct non_return made;
    if (!valve) {
        return type->form != NON_RETURN_IDEAL;
    }
    if (type->form == NON_RETURN_IDEAL || type->is_foot != wanted->is_foot ||
        name_is_same(type->name, valve->type)) {
        return false;
    }
    const bool is_made =
        valve->bore > type->smallest - margin && valve->bore < type->largest + margin;
    non_return_make(type, valve->bore, valve->mounting, &wanted->site->water, &made);
    const bool may_stand = (made.mountings & (1U << (unsigned)valve->mounting)) != 0;
    return (is_made || wanted->any_size) && (may_stand || wanted->any_mounting);
}

static struct tree *add(const struct reader *reader, struct tree *list, struct tree *last,
                        const char *text)
{
    struct tree *node = arena_take(reader->arena, 1, sizeof *node);
    if (node) {
        *node = (struct tree){.kind = TREE_TEXT, .place = list->place, .text = text};
        *(last ? &last->next : &list->first) = node;
        list->count++;
    }
    return node;
}

static bool is_foot_form(enum non_return_form form)
{
    for (int i = 0; i < non_return_type_count(); i++) {
        if (non_return_type_at(i)->form == form) {
            return non_return_type_at(i)->is_foot;
        }
    }
    return false;
}

static const struct tree *child_of(const struct tree *map, const char *key)
{
    return map && map->kind == TREE_MAP ? tree_find(map, key) : NULL;
}

/* Whether `values` says so of a non-return valve, and the case calls no type of its own so. */
static bool is_all(const struct tree *root, const struct tree *values, const struct case_path *path)
{
    return values->kind == TREE_TEXT && strcmp(values->text, word_for_all) == 0 && path->map &&
           path->node && strcmp(path->key, "non-return") == 0 &&
           !child_of(child_of(child_of(root, "types"), "non-return"), word_for_all);
}

bool study_types_read(const struct reader *reader, const struct site *site, const struct tree *root,
                      const struct tree *vary, const struct tree *values,
                      const struct case_path *path, struct study_input *input,
                      struct spread *spread)
{
    if (!is_all(root, values, path)) {
        return read_study_values(reader, values, input, spread);
    }
    const struct non_return *valve = find_valve(site, path->map);
    const struct wanted wanted = {site, valve, valve && is_foot_form(valve->form),
                                  varies(vary, values, "size"), varies(vary, values, "mounting")};
    struct tree list = {.kind = TREE_LIST, .place = values->place, .key = values->key};
    struct tree *last = valve ? add(reader, &list, NULL, path->node->text) : NULL;
    for (int i = 0; (last || !valve) && i < non_return_type_count(); i++) {
        if (fits(&wanted, non_return_type_at(i))) {
            last = add(reader, &list, last, non_return_type_at(i)->name);
        }
    }
    return last ? read_study_values(reader, &list, input, spread)
                : faults_add_memory(reader->faults, "the study");
}
