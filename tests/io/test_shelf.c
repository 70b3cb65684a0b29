/* A case that is read again and again sees the tables that it saw first, whoever writes to their
 * files meanwhile. */
#include "io/command/study_keep.h"
#include "io/door/door.h"
#include "io/door/read_choose.h"
#include "io/door/shelf.h"
#include "io/door/variants.h"
#include "models/pipe.h"

#include <criterion/criterion.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#define SITE(profile)                                                                              \
    "tanks:\n"                                                                                     \
    "  low: {floor: 0 m, brim: 2 m, level: 1 m}\n"                                                 \
    "  high: {floor: 6 m, brim: 9 m, level: 8 m}\n"                                                \
    "points: {hill: {elevation: 5 m}}\n"                                                           \
    "runs:\n"                                                                                      \
    "  up: {from: high, to: hill, parts: [{pipe: pvc-u 63 pn10, length: 30 m, name: slope, "       \
    "profile: " profile "}]}\n"                                                                    \
    "  down: {from: hill, to: low, parts: [{pipe: pvc-u 63 pn10, length: 20 m}]}\n"                \
    "tables: {pipes: pipes.csv}\n"

/* A folder with a case and its tables: a pipe of 30 m from 6 m down to 5 m over a crest, and one of
 * a table beside it. */
struct folder {
    char path[40];
    char file[80];
    struct arena *arena;
    struct site *site;
    struct faults faults;
};

static void write_file(struct folder *folder, const char *name, const char *text)
{
    (void)snprintf(folder->file, sizeof folder->file, "%s/%s", folder->path, name);
    FILE *out = fopen(folder->file, "w");
    cr_assert(out && fputs(text, out) >= 0 && fclose(out) == 0, "%s", folder->file);
}

static void write_tables(struct folder *folder, double crest, double pipe)
{
    char text[200];
    (void)snprintf(text, sizeof text, "distance [m],elevation [m]\n0,6\n15,%g\n30,5\n", crest);
    write_file(folder, "one.csv", text);
    (void)snprintf(text, sizeof text, "distance [m],elevation [m]\n0,6\n15,%g\n30,5\n", crest + 1);
    write_file(folder, "two.csv", text);
    (void)snprintf(text, sizeof text,
                   "name,from,to,length [m],bore [mm],roughness [mm]\nside,high,low,%g,50,0.01\n",
                   pipe);
    write_file(folder, "pipes.csv", text);
}

static void read_case(struct folder *folder, const char *text)
{
    (void)snprintf(folder->path, sizeof folder->path, "/tmp/downsurge-test-XXXXXX");
    cr_assert(mkdtemp(folder->path) != NULL);
    folder->arena = arena_new();
    faults_init(&folder->faults, folder->arena);
    write_tables(folder, 7, 40);
    write_file(folder, "site.yaml", text);
    cr_assert(read_site(folder->file, folder->arena, &folder->site, &folder->faults), "%s",
              faults_first(&folder->faults)->message);
}

static void clear(struct folder *folder)
{
    static const char *const names[] = {"one.csv",   "two.csv", "pipes.csv",
                                        "site.yaml", "two.TXT", "six.csv"};
    for (size_t i = 0; i < sizeof names / sizeof *names; i++) {
        (void)snprintf(folder->file, sizeof folder->file, "%s/%s", folder->path, names[i]);
        (void)unlink(folder->file);
    }
    cr_expect_eq(rmdir(folder->path), 0);
    arena_free(folder->arena);
}

static double crest_of(const struct site *site)
{
    const struct link *link = &site->network->links[site->network->runs[0].first_link];
    while (link->element != &pipe_element) { /* the tank's mouth stands before it */
        link++;
    }
    const struct pipe *pipe = link->data;
    cr_assert_eq(pipe->profile_count, 3);
    return pipe->profile_elevation[1];
}

static double length_of_table(const struct site *site)
{
    const struct pipe *pipe = site->network->links[site->network->link_count - 1].data;
    return pipe->friction.length;
}

/* A table by any other name counts too, and while variants are read nothing is put on the shelf:
 * others take from its arena then. */
Test(shelf, of_a_study_is_closed_and_holds_tables_by_any_name)
{
    struct folder folder;
    struct variants variants;
    struct failure failure = {0};
    read_case(&folder, SITE("one.csv") "study: {vary: {slope.profile: [one.csv, two.TXT, six.csv]},"
                                       " measures: [flow of slope]}\n");
    write_file(&folder, "two.TXT", "distance [m],elevation [m]\n0,6\n15,8\n30,5\n");
    cr_assert(variants_init(&variants, folder.site, folder.arena));
    write_file(&folder, "two.TXT", "distance [m],elevation [m]\n0,6\n15,3\n30,5\n");
    write_file(&folder, "six.csv", "distance [m],elevation [m]\n0,6\n15,9\n30,5\n");
    const struct site_file *const first = variants.shelf.first;
    const size_t taken = arena_size(folder.arena);
    struct arena *own = arena_new();
    for (int i = 0; i < 3; i++) {
        struct row row = {0};
        const struct site *site = variants_site(&variants, i, own, &row, &failure);
        cr_assert(site != NULL, "%s", failure.message);
        cr_expect_float_eq(crest_of(site), 7 + i, 1e-12, "%d: %g", i, crest_of(site));
    }
    cr_expect_eq(variants.shelf.first, first);
    cr_expect_eq(arena_size(folder.arena), taken);
    arena_free(own);
    variants_clear(&variants);
    clear(&folder);
}

/* The second value of the study names a table that the case itself does not. */
Test(shelf, variants_of_a_study_see_the_tables_as_they_were)
{
    struct folder folder;
    struct variants variants;
    struct failure failure = {0};
    char before[SHA256_TEXT_SIZE];
    char after[SHA256_TEXT_SIZE];
    read_case(&folder, SITE("one.csv") "study: {vary: {slope.profile: [one.csv, two.csv]}, "
                                       "measures: [flow of slope]}\n");
    cr_assert(variants_init(&variants, folder.site, folder.arena), "%s",
              faults_first(&variants.faults)->message);
    study_keep_fingerprint(&variants, before);
    write_tables(&folder, 2, 400);
    study_keep_fingerprint(&variants, after);
    cr_expect_str_eq(after, before);
    cr_expect_eq(variants.count, 2);
    for (int i = 0; i < variants.count; i++) {
        struct row row = {0};
        const struct site *site = variants_site(&variants, i, folder.arena, &row, &failure);
        cr_assert(site != NULL, "%s", failure.message);
        cr_expect_float_eq(crest_of(site), 7 + i, 1e-12, "%d: %g", i, crest_of(site));
        cr_expect_float_eq(length_of_table(site), 40, 1e-12);
    }
    variants_clear(&variants);

    /* Begun anew, it is another study. */
    struct site *site = NULL;
    (void)snprintf(folder.file, sizeof folder.file, "%s/site.yaml", folder.path);
    cr_assert(read_site(folder.file, folder.arena, &site, &folder.faults));
    cr_assert(variants_init(&variants, site, folder.arena));
    study_keep_fingerprint(&variants, after);
    cr_expect_str_neq(after, before);
    cr_expect_float_eq(length_of_table(site), 400, 1e-12);
    variants_clear(&variants);
    clear(&folder);
}

Test(shelf, sites_of_a_choice_see_the_tables_as_they_were)
{
    struct folder folder;
    const struct envelope_site *sites = NULL;
    read_case(&folder, SITE("one.csv") "choose: {levels: {high: 7 8 m}}\n");
    write_tables(&folder, 2, 400);
    cr_assert_eq(read_choose_sites(folder.site, folder.arena, &sites, &folder.faults), 3);
    for (int i = 0; i < 3; i++) {
        cr_expect_float_eq(crest_of(sites[i].site), 7, 1e-12);
        cr_expect_float_eq(length_of_table(sites[i].site), 40, 1e-12);
    }
    clear(&folder);
}

/* What is read from it may be written to, and costs a case that is read once nothing. */
Test(shelf, gives_copies_and_is_made_where_a_case_is_read_again)
{
    struct folder folder;
    struct failure failure = {0};
    size_t size = 0;
    read_case(&folder, SITE("one.csv"));
    cr_expect_null(folder.site->files);
    struct shelf shelf = {.arena = folder.arena};
    (void)snprintf(folder.file, sizeof folder.file, "%s/one.csv", folder.path);
    shelf_hold(&shelf, "/nowhere", 1000);
    cr_expect_null(shelf.first);
    shelf_hold(&shelf, folder.file, 1000);
    cr_assert_not_null(shelf.first);
    const struct site_file *const held = shelf.first;
    char *text = shelf_read(&shelf, folder.file, 1000, folder.arena, &size, &failure);
    cr_assert(text && size == strlen(text));
    memset(text, 'x', size);
    text = shelf_read(&shelf, folder.file, 1000, folder.arena, &size, &failure);
    cr_expect_eq(strncmp(text, "distance", 8), 0, "%s", text);
    cr_expect_eq(shelf.first, held);
    clear(&folder);
}
