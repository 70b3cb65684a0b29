#include "io/door/case_path.h"

#include "io/door/lost.h"
#include "io/nearest.h"

#include <stdlib.h>
#include <string.h>

/* What a part is, by the key that opens it. */
static const char *const type_keys[] = {"non-return", "pipe",    "pump",      "valve",
                                        "strainer",   "fitting", "bend",      "tee",
                                        "elbow",      "reducer", "regulator", "outlet"};

static const char *const named_sections[] = {"tanks", "points", "outlets", "pumps", "types"};

/* What is looked for, and what comes near it. */
struct search {
    struct tree *root;
    const struct site *site;
    const char *path;
    struct place place;
    struct arena *arena;
    struct faults *faults;
    struct draft *draft; /* of a wrong case, which may lack parts that its tree has; or NULL */
    struct nearest nearest;
};

static bool refuse(struct search *search, const char *what, const char *word)
{
    const char *found = search->nearest.found;
    return faults_add(search->faults, FAULT_ERROR, search->place, "study: '%.80s': %s '%.60s'%s",
                      search->path, what, word, nearest_hint(&(struct hint){{0}}, found, ""));
}

static struct tree *find_child(const struct tree *map, const char *key)
{
    for (struct tree *child = map && map->kind == TREE_MAP ? map->first : NULL; child;
         child = child->next) {
        if (child->key && strcmp(child->key, key) == 0) {
            return child;
        }
    }
    return NULL;
}

static bool is_same_place(struct place a, struct place b)
{
    return a.line == b.line && a.column == b.column;
}

static bool is_named(const struct tree *part, const char *name)
{
    const struct tree *said = find_child(part, "name");
    return said && said->kind == TREE_TEXT && strcmp(said->text, name) == 0;
}

/* The entry of a run's list at a place, or of a stated name. */
static struct tree *find_part(const struct tree *root, const struct place *place, const char *name)
{
    const struct tree *runs = find_child(root, "runs");
    for (struct tree *run = runs && runs->kind == TREE_MAP ? runs->first : NULL; run;
         run = run->next) {
        const struct tree *parts = find_child(run, "parts");
        for (struct tree *part = parts ? parts->first : NULL; part; part = part->next) {
            if (place ? is_same_place(part->place, *place) : is_named(part, name)) {
                return part;
            }
        }
    }
    return NULL;
}

/* Splits `path` at its dot number `dot` (from 0); NULL: it has not so many, or memory ended. */
static char *head_of(const struct search *search, int dot, const char **rest)
{
    const char *at = search->path;
    for (int i = 0; i <= dot; i++) {
        at = strchr(i == 0 ? at : at + 1, '.');
        if (!at) {
            return NULL;
        }
    }
    char *head = arena_text(search->arena, search->path);
    if (head) {
        head[at - search->path] = '\0';
        *rest = at + 1;
    }
    return head;
}

/* Does a key of this name stand there, or does the part's kind stand behind "type"? */
static const char *settle_key(const struct tree *map, const char *key)
{
    if (strcmp(key, "type") != 0 || find_child(map, key)) {
        return key;
    }
    for (size_t i = 0; i < sizeof type_keys / sizeof *type_keys; i++) {
        if (find_child(map, type_keys[i])) {
            return type_keys[i];
        }
    }
    return key;
}

/* Entry number `word` of a list, or the child of a map; NULL: there is none. */
static struct tree *step_down(const struct tree *node, const char *word)
{
    if (node->kind == TREE_MAP) {
        return find_child(node, word);
    }
    long number = strtol(word, NULL, 10);
    struct tree *child = node->kind == TREE_LIST && number > 0 ? node->first : NULL;
    while (child && --number > 0) {
        child = child->next;
    }
    return child;
}

static bool refuse_step(struct search *search, const struct tree *node, const char *word)
{
    if (node->kind != TREE_MAP && faults_is_wrong(search->faults, node->place)) {
        return false; /* told where it stands */
    }
    nearest_start(&search->nearest, word);
    for (const struct tree *known = node->first; known && known->key; known = known->next) {
        nearest_offer(&search->nearest, known->key);
    }
    return refuse(search, "the case has nothing called", word);
}

/* Follows `words` down from `node` to a value. */
static bool walk(struct search *search, struct tree *node, const char *words,
                 struct case_path *found)
{
    char *word = arena_text(search->arena, words);
    while (word) {
        char *dot = strchr(word, '.');
        if (!dot && node->kind == TREE_MAP) {
            const char *key = settle_key(node, word);
            *found = (struct case_path){node, key, find_child(node, key)};
            return true;
        }
        if (dot) {
            *dot = '\0';
        }
        struct tree *child = step_down(node, word);
        if (!child || !dot) {
            return refuse_step(search, node, word);
        }
        node = child;
        word = dot + 1;
    }
    return faults_add_memory(search->faults, "the paths of the study");
}

/* The nodes that bear a name: a part, then open water and machines; a section last. */
static int find_heads(const struct search *search, const char *name, struct tree *nodes[], int room)
{
    int count = 0;
    const int link = network_find_link(search->site->network, name);
    if (link != NETWORK_NONE || search->draft) {
        const struct place *place =
            link != NETWORK_NONE ? &search->site->network->links[link].place : NULL;
        struct tree *part = find_part(search->root, place, name);
        if (part) {
            nodes[count++] = part;
        }
    }
    for (size_t i = 0; i < sizeof named_sections / sizeof *named_sections && count < room; i++) {
        struct tree *node = find_child(find_child(search->root, named_sections[i]), name);
        if (node) {
            nodes[count++] = node;
        }
    }
    struct tree *section = count < room ? find_child(search->root, name) : NULL;
    if (section) {
        nodes[count++] = section;
    }
    return count;
}

static void offer_all(struct search *search, const char *head)
{
    const struct network *network = search->site->network;
    nearest_start(&search->nearest, head);
    for (int i = 0; i < network->link_count; i++) {
        nearest_offer(&search->nearest, network->links[i].name);
    }
    for (size_t i = 0; i < sizeof named_sections / sizeof *named_sections; i++) {
        const struct tree *section = find_child(search->root, named_sections[i]);
        for (const struct tree *child = section ? section->first : NULL; child && child->key;
             child = child->next) {
            nearest_offer(&search->nearest, child->key);
        }
    }
    for (const struct tree *section = search->root->first; section; section = section->next) {
        nearest_offer(&search->nearest, section->key);
    }
}

/* Of several that bear the name (a pump in a run and its machine), the one that says the key now
 * is meant; else the first. */
static struct tree *pick(struct tree *const nodes[], int count, const char *rest)
{
    for (int i = 0; i < count; i++) {
        if (find_child(nodes[i], settle_key(nodes[i], rest))) {
            return nodes[i];
        }
    }
    return nodes[0];
}

bool case_path_find(struct tree *root, const struct site *site, const char *path,
                    struct place place, struct arena *arena, struct draft *draft,
                    struct case_path *found, struct faults *faults)
{
    enum { HEADS_MOST = 7 };
    struct search search = {root, site, path, place, arena, faults, draft, {0}};
    struct tree *nodes[HEADS_MOST];
    const char *rest = NULL;
    nearest_start(&search.nearest, "");
    if (strlen(path) > CASE_PATH_LONGEST) {
        return refuse(&search, "is too long", "");
    }
    char *first = head_of(&search, 0, &rest);
    if (!first) {
        return faults_add(faults, FAULT_ERROR, place,
                          "study: '%.80s' leads nowhere; write a name, a dot and what of it is "
                          "varied, such as water.temperature",
                          path);
    }
    /* A name may have dots in it. */
    char *head = first;
    for (int dot = 0; head; dot++, head = head_of(&search, dot, &rest)) {
        const int count = find_heads(&search, head, nodes, HEADS_MOST);
        if (count > 0) {
            return walk(&search, pick(nodes, count, rest), rest, found);
        }
        if (draft && is_lost(draft, head)) {
            return false;
        }
    }
    offer_all(&search, first);
    return refuse(&search, "the case has nothing called", first);
}

void case_change_make(const struct case_path *path, const char *text, struct case_change *change)
{
    *change = (struct case_change){.map = path->map};
    /* A change before this one may have added the key. */
    struct tree *node = find_child(path->map, path->key);
    if (node) {
        change->node = node;
        change->before = *node;
        node->kind = TREE_TEXT;
        node->text = text;
        node->first = NULL;
        node->count = 0;
        return;
    }
    struct tree *last = path->map->first;
    while (last && last->next) {
        last = last->next;
    }
    change->last = last;
    change->added = (struct tree){.kind = TREE_TEXT,
                                  .place = path->map->place,
                                  .text = text,
                                  .key = path->key,
                                  .key_place = path->map->place};
    if (last) {
        last->next = &change->added;
    } else {
        path->map->first = &change->added;
    }
    path->map->count++;
}

void case_change_stand(struct case_change *change, struct place place)
{
    struct tree *node = change->node ? change->node : &change->added;
    node->place = place;
    node->key_place = change->node ? node->key_place : place;
}

void case_change_undo(struct case_change *change)
{
    if (change->node) {
        *change->node = change->before;
        return;
    }
    if (change->last) {
        change->last->next = NULL;
    } else {
        change->map->first = NULL;
    }
    change->map->count--;
}
