#include "io/door/lost.h"

#include <string.h>

/* Each question goes through the case's runs, so of a case with very many wrong names the rest is
 * left for its next reading. */
enum { QUESTIONS_MOST = 1000 };

/* "main" of "main/pipe-2" is this key, or the name itself is. */
static bool is_of(const char *key, const char *name)
{
    const size_t length = strlen(key);
    return strncmp(key, name, length) == 0 && (name[length] == '\0' || name[length] == '/');
}

static bool has_key_of(const struct tree *section, const char *name)
{
    for (const struct tree *child = section ? section->first : NULL; child && child->key;
         child = child->next) {
        if (is_of(child->key, name)) {
            return true;
        }
    }
    return false;
}

/* Any text of a run's parts may be the name of one, also behind a misspelt key. */
static bool holds(const struct tree *node, const char *name)
{
    const struct tree *next[TREE_DEEPEST + 1] = {node->first}; /* to be looked at, by depth */
    int depth = 0;
    while (depth >= 0) {
        const struct tree *at = next[depth];
        if (!at) {
            depth--;
            continue;
        }
        next[depth] = at->next;
        if (at->kind == TREE_TEXT && strcmp(at->text, name) == 0) {
            return true;
        }
        if (at->first && depth < TREE_DEEPEST) {
            next[++depth] = at->first;
        }
    }
    return false;
}

static bool has_part(const struct tree *runs, const char *name)
{
    for (const struct tree *run = runs ? runs->first : NULL; run; run = run->next) {
        const struct tree *parts = run->kind == TREE_MAP ? tree_find(run, "parts") : run;
        if (parts && holds(parts, name)) {
            return true;
        }
    }
    return false;
}

/* Whether the draft knows a part of this name, of a run that was made to its end. */
static bool has_whole(const struct draft *draft, const char *name)
{
    const int link = names_find(&draft->links, name);
    const int index = link >= 0 ? draft->network->links[link].run : NETWORK_NONE;
    if (draft->has_twins || index == NETWORK_NONE || index >= draft->network->run_count) {
        return false;
    }
    const struct run *run = &draft->network->runs[index];
    return link >= run->first_link && link < run->first_link + run->link_count;
}

bool is_lost(struct draft *draft, const char *name)
{
    static const char *const sections[] = {"tanks", "points", "outlets", "runs"};
    if (draft->has_lost_names || !draft->has_lost_parts) {
        return draft->has_lost_names;
    }
    if (has_whole(draft, name)) {
        return false; /* there, and not what is asked for */
    }
    for (size_t i = 0; i < sizeof sections / sizeof *sections; i++) {
        if (has_key_of(tree_find(draft->root, sections[i]), name)) {
            return true;
        }
    }
    return ++draft->lost_questions > QUESTIONS_MOST ||
           has_part(tree_find(draft->root, "runs"), name);
}
