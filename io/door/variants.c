#include "io/door/variants.h"

#include "io/door/door.h"
#include "io/door/table.h"

#include <ctype.h>
#include <math.h>
#include <string.h>

/* The case with one value changed, to learn whether the door takes it. */
static bool is_taken(struct variants *variants, int input, double coordinate,
                     struct failure *reason)
{
    struct faults faults;
    struct site *site = NULL;
    struct case_change change;
    struct arena *arena = arena_new();
    if (!arena) {
        return fail_memory(reason, "the study");
    }
    faults_init(&faults, arena);
    const char *text =
        study_input_text(&variants->case_study.study.inputs[input], coordinate, arena);
    case_change_make(&variants->case_study.paths[input], text ? text : "", &change);
    const bool is_good = read_site_tree(variants->site->path, variants->site->text, variants->root,
                                        variants->units, &variants->shelf, arena, &site, &faults);
    case_change_undo(&change);
    if (!is_good) {
        *reason = *faults_first(&faults);
        reason->place.file = variants->site->path;
    }
    arena_free(arena);
    return is_good;
}

/* An input of which the door takes not one value is a mistake in the study, such as a misspelt
 * key: better told now than a thousand times in the rows. */
static bool check_input(struct variants *variants, int input)
{
    const struct spread *spread = &variants->case_study.study.design.spreads[input];
    const int count = spread_level_count(spread, 3);
    struct failure first = {0};
    for (int level = 0; level < count; level++) {
        struct failure reason = {0};
        if (is_taken(variants, input, spread_level(spread, level, count), &reason)) {
            return true;
        }
        first = level == 0 ? reason : first;
    }
    const struct study_input *here = &variants->case_study.study.inputs[input];
    return faults_add(&variants->faults, FAULT_ERROR, here->place,
                      "study: %.60s: none of its values can be read: %s", here->path,
                      first.message);
}

/* The case as a tree, and what reads its quantities. */
static bool open_case(struct variants *variants)
{
    struct failure failure = {0};
    const struct site *site = variants->site;
    variants->units = units_new(&failure);
    if (!variants->units) {
        return faults_add_failure(&variants->faults, &failure);
    }
    variants->root =
        tree_read(site->path, site->text, strlen(site->text), variants->arena, &variants->faults);
    return variants->root != NULL;
}

/* Whether it may name a file: a few letters behind a point, as ".csv" or ".txt". */
static bool is_file_name(const char *text)
{
    enum { LETTERS_MOST = 4 };
    const char *point = strrchr(text, '.');
    size_t letters = 0;
    while (point && isalpha((unsigned char)point[letters + 1])) {
        letters++;
    }
    return letters > 0 && letters <= LETTERS_MOST && point[letters + 1] == '\0';
}

/* Puts a table on the shelf; one that is not there is told by who needs it. */
static void hold_table(struct variants *variants, const struct tree *node)
{
    struct faults faults;
    struct arena *arena = arena_new();
    if (arena) {
        faults_init(&faults, arena);
        const struct reader reader = {.arena = arena, .faults = &faults};
        const char *path = table_path(&reader, variants->site->path, node->text, node->place);
        if (path) {
            shelf_hold(&variants->shelf, path, TABLE_SIZE_MOST);
        }
        arena_free(arena);
    }
}

/* All tables that stand somewhere in the case: values of its study may be such. */
static void hold_tables(struct variants *variants)
{
    const struct tree *above[TREE_DEEPEST + 2] = {0};
    int depth = 0;
    for (const struct tree *node = variants->root; node;) {
        if (node->kind == TREE_TEXT && is_file_name(node->text)) {
            hold_table(variants, node);
        }
        if (node->first) {
            above[depth++] = node;
            node = node->first;
            continue;
        }
        while (!node->next && depth > 0) {
            node = above[--depth];
        }
        node = node->next;
    }
}

/* The study of an opened case. */
static bool read_all(struct variants *variants)
{
    struct faults *faults = &variants->faults;
    struct site *site = variants->site;
    struct failure failure = {0};
    const struct reader reader = {.arena = variants->arena,
                                  .faults = faults,
                                  .units = variants->units,
                                  .water = &site->water};
    if (!read_study(&reader, variants->root, site, &variants->case_study)) {
        return false;
    }
    hold_tables(variants);
    variants->shelf.is_closed = true; /* variants are read while rows are kept in the same arena */
    bool is_good = true;
    for (int i = 0; i < variants->case_study.study.design.input_count; i++) {
        is_good = check_input(variants, i) && is_good;
    }
    if (!is_good) {
        return false;
    }
    variants->count = design_count(&variants->case_study.study.design);
    variants->coordinates =
        design_make(&variants->case_study.study.design, variants->arena, &failure);
    return variants->coordinates || faults_add_failure(faults, &failure);
}

static void begin(struct variants *variants, struct site *site, struct arena *arena)
{
    *variants = (struct variants){
        .arena = arena, .site = site, .shelf = {.arena = arena, .first = site->files}};
    faults_init(&variants->faults, arena);
}

bool variants_init(struct variants *variants, struct site *site, struct arena *arena)
{
    begin(variants, site, arena);
    const bool is_good = open_case(variants) && read_all(variants);
    faults_sort(&variants->faults);
    return is_good;
}

void variants_clear(struct variants *variants)
{
    units_free(variants->units);
    variants->units = NULL;
}

bool variants_check(struct site *site, struct arena *arena, struct faults *faults)
{
    struct variants variants;
    if (!site->text || !strstr(site->text, "study")) {
        return true; /* a cheap look, which is right of most cases */
    }
    begin(&variants, site, arena);
    const bool is_good =
        open_case(&variants) && (!tree_find(variants.root, "study") || read_all(&variants));
    faults_sort(&variants.faults);
    for (int i = 0; !is_good && i < variants.faults.count; i++) {
        if (variants.faults.list[i].level == FAULT_ERROR) {
            (void)faults_add_failure(faults, &variants.faults.list[i].failure);
        }
    }
    if (variants.faults.memory_ended) {
        (void)faults_add_memory(faults, "the study");
    }
    variants_clear(&variants);
    return is_good;
}

const struct site *variants_site(void *user, int variant, struct arena *arena, struct row *row,
                                 struct failure *failure)
{
    struct variants *variants = user;
    const struct study *study = &variants->case_study.study;
    const double *coordinate =
        variants->coordinates + (ptrdiff_t)variant * study->design.input_count;
    struct case_change changes[DESIGN_INPUT_MAX];
    struct faults faults;
    struct site *site = NULL;
    int count = 0;
    bool is_good = true;
    faults_init(&faults, arena);
    for (int i = 0; i < study->design.input_count && is_good; i++) {
        if (isnan(coordinate[i])) {
            continue;
        }
        const char *text = study_input_text(&study->inputs[i], coordinate[i], arena);
        is_good = text || fail_memory(failure, "a variant of the study");
        if (text) {
            case_change_make(&variants->case_study.paths[i], text, &changes[count++]);
        }
    }
    if (is_good && !read_site_tree(variants->site->path, variants->site->text, variants->root,
                                   variants->units, &variants->shelf, arena, &site, &faults)) {
        if (faults.memory_ended) {
            (void)fail_memory(failure, "a variant of the study");
        } else {
            row_end(row, ROW_REFUSED, faults_first(&faults)->message);
        }
    }
    while (count > 0) {
        case_change_undo(&changes[--count]);
    }
    return site;
}
