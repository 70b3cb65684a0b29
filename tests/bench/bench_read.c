/* What reading costs: a large network from tables beside a bare pass over the same files (cells
 * split, numbers turned to doubles, nothing kept), and a long case file beside a bare pass of the
 * YAML library over the same text.
 *     bench_read [--full] [CASE ...]      cases: scripts/make-grid; with --full also a case file of
 * 50 MB, which the program refuses for its size: what its limits save */
#include "io/door/door.h"
#include "io/door/tree.h"
#include "tests/bench/measure.h"

#include <libfyaml.h>
#include <stdlib.h>
#include <string.h>

/* --- tables --- */

enum { READ_SECONDS, READ_PIPES, READ_POINTS };

static bool do_case(void *what, double value[])
{
    struct arena *arena = arena_new();
    struct site *site = NULL;
    struct faults faults;
    if (!arena) {
        return false;
    }
    faults_init(&faults, arena);
    const double begun = measure_seconds();
    const bool is_good = read_site(what, arena, &site, &faults);
    value[READ_SECONDS] = measure_seconds() - begun;
    if (is_good) {
        value[READ_PIPES] = site->network->link_count;
        value[READ_POINTS] = site->network->point_count;
    } else {
        faults_write(&faults, FAULT_ERROR, stderr);
    }
    arena_free(arena);
    return is_good;
}

/* Cells of one file, numbers among them by strtod. */
static bool pass_over(const char *path, double *sum)
{
    FILE *file = fopen(path, "rb");
    if (!file || fseek(file, 0, SEEK_END) != 0) {
        return false;
    }
    const long size = ftell(file);
    char *text = size >= 0 ? malloc((size_t)size + 1) : NULL;
    rewind(file);
    if (!text || fread(text, 1, (size_t)size, file) != (size_t)size) {
        return false;
    }
    (void)fclose(file);
    text[size] = '\0';
    for (char *cell = text; *cell;) {
        char *end = cell;
        while (*end && *end != ',' && *end != '\n') {
            end++;
        }
        *sum += (*cell >= '0' && *cell <= '9') || *cell == '-' ? strtod(cell, NULL) : 1.0;
        cell = *end ? end + 1 : end;
    }
    free(text);
    return true;
}

static bool do_bare_tables(void *what, double value[])
{
    char path[4096];
    const char *slash = strrchr(what, '/');
    const int folder = slash ? (int)(slash - (const char *)what) + 1 : 0;
    double sum = 0.0;
    const double begun = measure_seconds();
    (void)snprintf(path, sizeof path, "%.*spoints.csv", folder, (const char *)what);
    bool is_good = pass_over(path, &sum);
    (void)snprintf(path, sizeof path, "%.*spipes.csv", folder, (const char *)what);
    is_good = pass_over(path, &sum) && is_good;
    value[READ_SECONDS] = measure_seconds() - begun;
    value[READ_PIPES] = sum;
    return is_good;
}

static bool measure_tables(char *path)
{
    double read[MEASURE_VALUES];
    double bare[MEASURE_VALUES];
    double memory = 0.0;
    double bare_memory = 0.0;
    char what[96];
    if (!measure_best(5, do_case, path, read, &memory) ||
        !measure_best(5, do_bare_tables, path, bare, &bare_memory)) {
        return false;
    }
    const double each = 1e6 * read[READ_SECONDS] / read[READ_PIPES];
    printf("tables of %.0f pipes and %.0f points: %.3f s and %.0f MiB; a bare pass %.3f s\n",
           read[READ_PIPES], read[READ_POINTS], read[READ_SECONDS], memory, bare[READ_SECONDS]);
    (void)snprintf(what, sizeof what, "tables of %.0e pipes, each", read[READ_PIPES]);
    measure_row(what, each, "us", "(microseconds)", each, WISH_AT_MOST, 0.5);
    measure_row("  the same", read[READ_SECONDS], "s", "a bare pass, strtod",
                read[READ_SECONDS] / bare[READ_SECONDS], WISH_NONE, 0.0);
    return true;
}

/* --- a long case file --- */

struct text {
    char *text;
    size_t size;
};

/* A case of `runs` runs of two parts. */
static bool make_text(struct text *text, int runs)
{
    static const char head[] = "site: many runs\ntanks:\n  west: {level: 80 m, fixed: true}\n"
                               "  east: {level: 78 m, fixed: true}\nruns:\n";
    static const size_t longest = 200; /* bytes of a run */
    text->text = malloc(sizeof head + (size_t)runs * longest);
    if (!text->text) {
        return false;
    }
    char *at = text->text + snprintf(text->text, sizeof head, "%s", head);
    for (int i = 0; i < runs; i++) {
        at += snprintf(at, longest,
                       "  run %d: # one of many\n    from: west\n    to: east\n    parts:\n"
                       "      - {pipe: pvc-u 63 pn10, length: %d.5 m}\n      - {bend: 90 deg}\n",
                       i, 10 + i % 90);
    }
    text->size = (size_t)(at - text->text);
    return true;
}

static bool do_tree(void *what, double value[])
{
    const struct text *text = what;
    struct arena *arena = arena_new();
    struct faults faults;
    if (!arena) {
        return false;
    }
    faults_init(&faults, arena);
    const double begun = measure_seconds();
    const struct tree *root = tree_read("bench", text->text, text->size, arena, &faults);
    value[READ_SECONDS] = measure_seconds() - begun;
    arena_free(arena);
    return root != NULL;
}

static bool do_whole(void *what, double value[])
{
    const struct text *text = what;
    struct arena *arena = arena_new();
    struct faults faults;
    struct site *site;
    if (!arena) {
        return false;
    }
    faults_init(&faults, arena);
    const double begun = measure_seconds();
    const bool is_good = read_site_text("bench", text->text, text->size, arena, &site, &faults);
    value[READ_SECONDS] = measure_seconds() - begun;
    value[READ_PIPES] = is_good ? site->network->link_count : 0;
    if (!is_good) {
        faults_write(&faults, FAULT_ERROR, stderr);
    }
    arena_free(arena);
    return is_good;
}

static bool do_library(void *what, double value[])
{
    const struct text *text = what;
    const struct fy_parse_cfg options = {.flags = FYPCF_QUIET};
    const double begun = measure_seconds();
    struct fy_parser *parser = fy_parser_create(&options);
    if (!parser || fy_parser_set_string(parser, text->text, text->size) != 0) {
        return false;
    }
    for (struct fy_event *event = fy_parser_parse(parser); event; event = fy_parser_parse(parser)) {
        fy_parser_event_free(parser, event);
    }
    fy_parser_destroy(parser);
    value[READ_SECONDS] = measure_seconds() - begun;
    return true;
}

enum {
    RUN_NODES = 12,
    RUNS_MOST = TREE_NODES_MOST / TREE_TIMES / RUN_NODES, /* that a case may have */
    RUNS_FULL = 370000                                    /* 50 MB */
};

static bool measure_yaml(int runs, int times)
{
    struct text text;
    double read[MEASURE_VALUES];
    double whole[MEASURE_VALUES];
    double bare[MEASURE_VALUES];
    double memory = 0.0;
    if (!make_text(&text, runs) || !measure_best(times, do_tree, &text, read, &memory) ||
        !measure_best(times, do_library, &text, bare, &memory) ||
        !measure_best(times, do_whole, &text, whole, &memory)) {
        return false;
    }
    const double size = (double)text.size / 1048576.0;
    printf(
        "a case file of %.1f MiB: %.3f s to a tree, %.3f s to a site of %.0f links and %.0f MiB; "
        "the library alone %.3f s\n",
        size, read[READ_SECONDS], whole[READ_SECONDS], whole[READ_PIPES], memory,
        bare[READ_SECONDS]);
    char what[96];
    (void)snprintf(what, sizeof what, "YAML of %.1f MiB to a tree", size);
    measure_row(what, read[READ_SECONDS], "s", "libfyaml's events",
                read[READ_SECONDS] / bare[READ_SECONDS], WISH_NONE, 0.0);
    measure_row("  the same to a site", whole[READ_SECONDS], "s", "libfyaml's events",
                whole[READ_SECONDS] / bare[READ_SECONDS], WISH_NONE, 0.0);
    free(text.text);
    return true;
}

int main(int count, char *argument[])
{
    bool is_good = true;
    const bool is_full = count > 1 && strcmp(argument[1], "--full") == 0;
    for (int i = is_full ? 2 : 1; i < count; i++) {
        is_good = measure_tables(argument[i]) && is_good;
    }
    is_good = measure_yaml(RUNS_MOST, 3) && (!is_full || measure_yaml(RUNS_FULL, 1)) && is_good;
    return is_good ? 0 : 1;
}
