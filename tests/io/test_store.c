/* What goes into a results file comes back; what is half done is never seen. The file's form is
 * checked from outside by tests/io/results_file.py with h5py. */
#include "io/results/reader.h"
#include "io/results/store.h"
#include "io/results/whole_file.h"

#include <criterion/criterion.h>
#include <dirent.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

static const char *const names[] = {"spring", "header \xC3\xA9"};
static const double times[] = {0.0, 0.5, 1.0 / 3.0};
static const double heads[] = {1.0, 2.0, 3.0, 4.0, 5.0, 6.0};
static const double counts[] = {3.0, -1.0};

static void fill(struct sheet *sheet)
{
    sheet_init(sheet, "/surge/runs/main");
    int time = sheet_dimension(sheet, "time", 3);
    int gauge = sheet_dimension(sheet, "gauge", 2);
    sheet_numbers(sheet, (struct field_head){"time", "s", "time"}, time, times);
    sheet_texts(sheet, (struct field_head){"gauge", "1", "gauge"}, gauge, names);
    sheet_grid(sheet, (struct field_head){"head", "m", "head"}, time, gauge, heads);
    sheet_wholes(sheet, (struct field_head){"shuts", "1", "times shut"}, gauge, counts);
    sheet_attribute_number(sheet, "mass_residual", 1.25e-7);
    sheet_attribute_text(sheet, "ending", "done");
}

static void make(const char *path, struct failure *failure)
{
    struct sheet sheet;
    struct store *store = store_new(failure);
    cr_assert(store);
    fill(&sheet);
    cr_assert(store_sheet(store, &sheet, failure), "%s", failure->message);
    cr_assert(store_finish(store, path, failure), "%s", failure->message);
    store_free(store);
}

static int entries(const char *folder)
{
    int count = 0;
    DIR *list = opendir(folder);
    cr_assert(list);
    while (readdir(list)) {
        count++;
    }
    closedir(list);
    return count - 2;
}

Test(store, gives_back_every_field_and_attribute)
{
    char folder[] = "/tmp/downsurge-test-XXXXXX";
    char path[64];
    struct failure failure = {0};
    struct sheet sheet;
    int left_out = -1;
    cr_assert(mkdtemp(folder));
    snprintf(path, sizeof path, "%s/a.h5", folder);
    make(path, &failure);
    struct arena *arena = arena_new();
    struct reader *reader = reader_open(path, &failure);
    cr_assert(reader, "%s", failure.message);
    left_out = 0;
    cr_assert(reader_sheet(reader, "/surge/runs/main", &sheet, &left_out, arena, &failure));
    cr_assert_eq(left_out, 0);
    cr_assert_eq(sheet.field_count, 4);
    cr_assert_str_eq(sheet.fields[0].name, "time");
    cr_assert_str_eq(sheet_find(&sheet, "gauge")->texts[1], names[1]);
    cr_assert_eq(memcmp(sheet_find(&sheet, "head")->numbers, heads, sizeof heads), 0);
    cr_assert_str_eq(sheet_find(&sheet, "head")->units, "m");
    cr_assert_eq(sheet_find(&sheet, "shuts")->numbers[1], -1.0);
    cr_assert_eq(sheet_find(&sheet, "shuts")->kind, FIELD_WHOLE);
    cr_assert_eq(sheet_find_attribute(&sheet, "mass_residual")->number, 1.25e-7);
    cr_assert_str_eq(sheet_find_attribute(&sheet, "ending")->text, "done");
    reader_close(reader);
    arena_free(arena);
    cr_assert_eq(entries(folder), 1, "something was left beside the file");
    unlink(path);
    rmdir(folder);
}

Test(store, refuses_a_dimension_without_values)
{
    struct failure failure = {0};
    struct sheet sheet;
    struct store *store = store_new(&failure);
    cr_assert(store);
    sheet_init(&sheet, "/x");
    sheet_numbers(&sheet, (struct field_head){"head", "m", "head"}, sheet_dimension(&sheet, "p", 3),
                  times);
    cr_assert_not(store_sheet(store, &sheet, &failure));
    store_free(store);
}

Test(reader, refuses_what_is_no_results_file)
{
    struct failure failure = {0};
    cr_assert_null(reader_open(__FILE__, &failure));
    cr_assert_eq(failure.kind, FAILURE_INPUT);
    cr_assert_null(reader_open("/nowhere/at/all.h5", &failure));
    cr_assert(strstr(failure.message, "No such file"));
}

Test(whole_file, changes_nothing_until_it_is_finished)
{
    char folder[] = "/tmp/downsurge-test-XXXXXX";
    char path[64];
    char text[8] = "";
    struct failure failure = {0};
    cr_assert(mkdtemp(folder));
    snprintf(path, sizeof path, "%s/a.txt", folder);
    cr_assert(whole_file_write(path, 3, "old", &failure));
    struct whole_file *file = whole_file_open(path, &failure);
    cr_assert(file);
    fputs("new and longer", whole_file_stream(file));
    fflush(whole_file_stream(file));
    FILE *old = fopen(path, "r");
    cr_assert_eq(fread(text, 1, 7, old), 3);
    fclose(old);
    cr_assert_str_eq(text, "old");
    whole_file_abandon(file);
    cr_assert_eq(entries(folder), 1, "an abandoned file was left behind");
    unlink(path);
    rmdir(folder);
}

Test(whole_file, tells_why_it_cannot_be_written)
{
    struct failure failure = {0};
    cr_assert_not(whole_file_write("/nowhere/at/all.txt", 1, "x", &failure));
    cr_assert_eq(failure.kind, FAILURE_FILE);
    cr_assert(strstr(failure.message, "No such file or directory"), "%s", failure.message);
    cr_assert_not(whole_file_write("/tmp", 1, "x", &failure));
    cr_assert_eq(failure.kind, FAILURE_FILE);
}
