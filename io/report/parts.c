/* The parts of every run in the words of the case, equal ones together: what to buy and cut. */
#include "io/door/tree.h"
#include "io/report/html.h"
#include "io/report/sections.h"
#include "models/pipe.h"

#include <stdlib.h>
#include <string.h>

enum {
    ITEM_TEXT_SIZE = 300,
    NAMES_SIZE = 300,
    ITEMS_MAX = 400,
    RUNS_MOST = 200 /* with a table of their own */
};

struct item {
    char text[ITEM_TEXT_SIZE];
    char names[NAMES_SIZE]; /* of those that have one, commas between */
    double length;          /* m of pipe; 0: pieces */
    int pieces;
};

struct items {
    int count;
    bool is_full;
    struct item *list; /* [ITEMS_MAX] */
};

/* Keys that say where or how many, not what. */
static bool is_aside(const char *key)
{
    static const char *const asides[] = {"name", "end", "start", "length", "count", "profile"};
    for (size_t i = 0; i < sizeof asides / sizeof asides[0]; i++) {
        if (strcmp(key, asides[i]) == 0) {
            return true;
        }
    }
    return false;
}

static void append(size_t size, char text[], const char *between, const char *more)
{
    size_t at = strlen(text);
    (void)snprintf(text + at, size - at, "%s%s", at > 0 ? between : "", more);
}

/* "pipe pvc-u 63 pn10", "non-return ball, size DN50, mounting vertical up", "union". */
static void describe(const struct tree *part, char text[ITEM_TEXT_SIZE])
{
    text[0] = '\0';
    if (part->kind == TREE_TEXT) {
        append(ITEM_TEXT_SIZE, text, "", part->text);
    }
    for (const struct tree *child = part->first; part->kind == TREE_MAP && child;
         child = child->next) {
        if (child->kind == TREE_TEXT && !is_aside(child->key)) {
            append(ITEM_TEXT_SIZE, text, ", ",
                   strcmp(child->key, "fitting") == 0 ? "" : child->key);
            append(ITEM_TEXT_SIZE, text, " ", child->text);
        }
    }
}

static int pieces_of(const struct tree *part)
{
    const struct tree *count = part->kind == TREE_MAP ? tree_find(part, "count") : NULL;
    long pieces = count && count->kind == TREE_TEXT ? strtol(count->text, NULL, 10) : 1;
    return pieces > 0 && pieces < 100000 ? (int)pieces : 1;
}

/* Length of the pipe that this part of the case became, m; 0: it is none. */
static double length_of(const struct network *network, const struct run *run,
                        const struct tree *part)
{
    for (int i = run->first_link; i < run->first_link + run->link_count; i++) {
        const struct link *link = &network->links[i];
        if (link->element->pipe && link->place.line == part->place.line &&
            link->place.column == part->place.column) {
            return link->element->pipe(link->data)->friction.length;
        }
    }
    return 0.0;
}

static void add(struct items *items, const char *text, double length, int pieces, const char *name)
{
    int at = 0;
    while (at < items->count && (strcmp(items->list[at].text, text) != 0 ||
                                 (items->list[at].length > 0.0) != (length > 0.0))) {
        at++;
    }
    if (at == ITEMS_MAX) {
        items->is_full = true;
        return;
    }
    struct item *item = &items->list[at];
    if (at == items->count) {
        memset(item, 0, sizeof *item);
        (void)snprintf(item->text, sizeof item->text, "%s", text);
        items->count++;
    }
    item->length += length;
    item->pieces += pieces;
    if (name && *name) {
        append(sizeof item->names, item->names, ", ", name);
    }
}

static void put_items(const struct items *items, const char *caption, FILE *out)
{
    static const char *const heads[] = {"part", "quantity", "named"};
    html_table_open(out, caption);
    html_heads(out, 3, heads, 3);
    for (int i = 0; i < items->count; i++) {
        const struct item *item = &items->list[i];
        html_wrap(out, "<tr><th scope=\"row\">", item->text, "</th><td>");
        if (item->length > 0.0) {
            html_number(out, item->length, 2);
            (void)fprintf(out, " m in %d length%s", item->pieces, item->pieces == 1 ? "" : "s");
        } else {
            (void)fprintf(out, "%d", item->pieces);
        }
        html_wrap(out, "</td><td>", item->names, "</td></tr>\n");
    }
    html_table_close(out);
    if (items->is_full) {
        (void)fputs("<p>There are more kinds of parts than this table holds.</p>\n", out);
    }
}

static const struct run *find_run(const struct network *network, const char *name)
{
    for (int i = 0; i < network->run_count; i++) {
        if (strcmp(network->runs[i].name, name) == 0) {
            return &network->runs[i];
        }
    }
    return NULL;
}

/* One run's table; what is in it is added to `all` too. */
static void put_run(const struct network *network, const struct tree *node, struct items *own,
                    struct items *all, FILE *out)
{
    char caption[200];
    char text[ITEM_TEXT_SIZE];
    const struct run *run = find_run(network, node->key);
    const struct tree *parts = node->kind == TREE_MAP ? tree_find(node, "parts") : NULL;
    own->count = 0;
    for (const struct tree *part = parts ? parts->first : NULL; run && part; part = part->next) {
        const struct tree *name = part->kind == TREE_MAP ? tree_find(part, "name") : NULL;
        describe(part, text);
        double length = length_of(network, run, part);
        add(own, text, length, pieces_of(part), name ? name->text : NULL);
        add(all, text, length, pieces_of(part), name ? name->text : NULL);
    }
    if (network->run_count > RUNS_MOST) {
        return;
    }
    html_wrap(out, "<h3>Run: ", node->key, "</h3>\n");
    if (run) {
        html_wrap(out, "<p>From ", material_end(network, run->from), "");
        html_wrap(out, " to ", material_end(network, run->to), ".</p>\n");
    }
    (void)snprintf(caption, sizeof caption, "Parts of %.150s", node->key);
    put_items(own, caption, out);
}

void section_parts(const struct material *material, FILE *out)
{
    struct faults faults;
    if (!material->site) {
        html_wrap(out, "<p>There is no list of parts: ", material->case_why, ".</p>\n");
        return;
    }
    const struct site *site = material->site;
    faults_init(&faults, material->arena);
    const struct tree *tree =
        tree_read(site->path, site->text, strlen(site->text), material->arena, &faults);
    const struct tree *runs = tree ? tree_find(tree, "runs") : NULL;
    struct items own = {.list = arena_take(material->arena, ITEMS_MAX, sizeof(struct item))};
    struct items all = {.list = arena_take(material->arena, ITEMS_MAX, sizeof(struct item))};
    if (tree && !runs) {
        (void)fputs("<p>The case names no runs; its pipes stand in its tables.</p>\n", out);
        return;
    }
    if (!runs || !own.list || !all.list) {
        (void)fputs("<p>Memory ended before the parts could be listed.</p>\n", out);
        return;
    }
    (void)fputs("<p>As the case lists them, with the valves it has now; where the choice names "
                "another valve, that one is to be bought. Tanks, supports, anchors, glue and "
                "spares are not in it. Measure on the spot before cutting.</p>\n",
                out);
    for (const struct tree *run = runs->first; run; run = run->next) {
        put_run(site->network, run, &own, &all, out);
    }
    if (site->network->run_count > RUNS_MOST) {
        (void)fprintf(out, "<p>With more than %d runs only their sum is listed.</p>\n", RUNS_MOST);
    }
    (void)fputs("<h3>All runs together</h3>\n", out);
    put_items(&all, "Parts of all runs", out);
}
