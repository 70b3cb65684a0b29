/* What goes into a results file comes back; what is half done is never seen. The file's form is
 * checked from outside by tests/io/results_file.py with h5py. */
#include "io/results/crc32c.h"
#include "io/results/leftovers.h"
#include "io/results/reader.h"
#include "io/results/store.h"
#include "io/results/whole_file.h"

#include <criterion/criterion.h>
#include <dirent.h>
#include <fcntl.h>
#include <math.h>
#include <signal.h>
#include <stdlib.h>
#include <string.h>
#include <sys/file.h>
#include <sys/stat.h>
#include <sys/wait.h>
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
    struct store *store = store_new(path, failure);
    cr_assert(store);
    fill(&sheet);
    cr_assert(store_sheet(store, &sheet, failure), "%s", failure->message);
    cr_assert(store_finish(store, failure), "%s", failure->message);
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
    struct store *store = store_new("/tmp/downsurge-never", &failure);
    cr_assert(store);
    sheet_init(&sheet, "/x");
    sheet_numbers(&sheet, (struct field_head){"head", "m", "head"}, sheet_dimension(&sheet, "p", 3),
                  times);
    cr_assert_not(store_sheet(store, &sheet, &failure));
    store_free(store);
}

enum { MANY = 20000 };

/* Two long arrays with little ones before, between and behind, and one of ordinary text. */
static void fill_long(struct sheet *sheet, const double numbers[MANY])
{
    sheet_init(sheet, "/long");
    int gauge = sheet_dimension(sheet, "gauge", 2);
    int time = sheet_dimension(sheet, "time", MANY);
    sheet_texts(sheet, (struct field_head){"gauge", "1", "gauge"}, gauge, names);
    sheet_numbers(sheet, (struct field_head){"time", "s", "time"}, time, numbers);
    sheet_wholes(sheet, (struct field_head){"shuts", "1", "times shut"}, gauge, counts);
    sheet_numbers(sheet, (struct field_head){"head", "m", "head"}, time, numbers);
}

static void change_byte(const char *path, long at)
{
    FILE *file = fopen(path, "r+b");
    cr_assert(file);
    fseek(file, at, SEEK_SET);
    int letter = fgetc(file);
    fseek(file, at, SEEK_SET);
    fputc(letter ^ 1, file);
    fclose(file);
}

/* What goes to the disk past HDF5 is found by HDF5, and one bit wrong anywhere is noticed. */
Test(store, long_arrays_come_back_and_no_bit_of_the_file_may_change)
{
    char path[] = "/tmp/downsurge-test-XXXXXX";
    static double numbers[MANY];
    struct failure failure = {0};
    struct sheet sheet;
    int left_out = 0;
    for (int i = 0; i < MANY; i++) {
        numbers[i] = sin(i);
    }
    close(mkstemp(path));
    struct store *store = store_new(path, &failure);
    cr_assert(store);
    fill_long(&sheet, numbers);
    cr_assert(store_sheet(store, &sheet, &failure), "%s", failure.message);
    cr_assert(store_finish(store, &failure), "%s", failure.message);
    store_free(store);
    struct arena *arena = arena_new();
    struct reader *reader = reader_open(path, &failure);
    cr_assert(reader, "%s", failure.message);
    cr_assert(reader_sheet(reader, "/long", &sheet, &left_out, arena, &failure));
    cr_assert_eq(memcmp(sheet_find(&sheet, "time")->numbers, numbers, sizeof numbers), 0);
    cr_assert_eq(memcmp(sheet_find(&sheet, "head")->numbers, numbers, sizeof numbers), 0);
    cr_assert_str_eq(sheet_find(&sheet, "gauge")->texts[0], names[0]);
    reader_close(reader);
    arena_free(arena);
    FILE *file = fopen(path, "rb");
    fseek(file, 0, SEEK_END);
    const long size = ftell(file);
    fclose(file);
    for (long at = 100; at < size; at += size / 9) {
        change_byte(path, at);
        cr_assert_null(reader_open(path, &failure), "byte %ld", at);
        cr_assert(strstr(failure.message, "is damaged"), "%s", failure.message);
        change_byte(path, at);
    }
    reader = reader_open(path, &failure);
    cr_assert(reader);
    reader_close(reader);
    unlink(path);
}

/* RFC 3720, B.4 (from memory, with the check value of "123456789"; computed again by another
 * program); both ways of summing the same. */
Test(crc32c, is_that_of_the_standard)
{
    static const unsigned char nine[] = "123456789";
    static unsigned char bytes[CRC32C_LANES][32];
    const unsigned char *lanes[CRC32C_LANES];
    uint32_t sums[CRC32C_LANES] = {0};
    uint32_t by_table[CRC32C_LANES] = {0};
    for (int lane = 0; lane < CRC32C_LANES; lane++) {
        lanes[lane] = bytes[lane];
        for (int i = 0; i < 32; i++) {
            static const int first[] = {0, 255, 0, 31};
            static const int rise[] = {0, 0, 1, -1};
            bytes[lane][i] = (unsigned char)(first[lane % 4] + rise[lane % 4] * i);
        }
    }
    crc32c_lanes(32, lanes, sums);
    crc32c_lanes_by_table(32, lanes, by_table);
    cr_assert_eq(crc32c(0, 9, nine), 0xE3069283);
    cr_assert_eq(crc32c(crc32c(0, 4, nine), 5, nine + 4), 0xE3069283);
    for (int lane = 0; lane < CRC32C_LANES; lane++) {
        static const uint32_t known[] = {0x8A9136AA, 0x62A8AB43, 0x46DD794E, 0x113FDB5C};
        cr_assert_eq(sums[lane], known[lane % 4], "lane %d", lane);
        cr_assert_eq(by_table[lane], known[lane % 4], "lane %d", lane);
        cr_assert_eq(crc32c(0, 32, lanes[lane]), known[lane % 4]);
    }
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
    struct whole_file *file = whole_file_open(path, NULL, &failure);
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

static void put_bytes(const char *path, const char *bytes, size_t size)
{
    FILE *file = fopen(path, "w");
    cr_assert(file && fwrite(bytes, 1, size, file) == size && fclose(file) == 0);
}

/* Whether a file of one kind may replace one that begins so. */
static bool may_replace(const char *path, const char *there, size_t size, const char *kind)
{
    struct failure failure = {0};
    put_bytes(path, there, size);
    const bool may = whole_file_try(path, kind, &failure);
    cr_expect(may || failure.kind == FAILURE_FILE);
    return may;
}

Test(whole_file, replaces_only_its_own_kind_and_keeps_its_rights)
{
    char folder[] = "/tmp/downsurge-test-XXXXXX";
    char path[64];
    struct stat status;
    struct failure failure = {0};
    cr_assert(mkdtemp(folder));
    snprintf(path, sizeof path, "%s/a", folder);
    cr_expect(whole_file_try(path, WHOLE_FILE_RESULTS, &failure), "where nothing is");
    cr_expect_eq(entries(folder), 0);
    cr_expect(may_replace(path, "", 0, WHOLE_FILE_RESULTS));
    cr_expect(may_replace(path, "\x89HDF\r\n\x1a\n\0\0", 10, WHOLE_FILE_RESULTS));
    cr_expect_not(may_replace(path, "\x89HDF", 4, WHOLE_FILE_RESULTS));
    cr_expect_not(may_replace(path, "site: x\n", 8, WHOLE_FILE_RESULTS));
    cr_expect_not(may_replace(path, "site: x\n", 8, WHOLE_FILE_PAGE));
    cr_expect(may_replace(path, "<!DOCTYPE html>\n", 16, WHOLE_FILE_PAGE));
    cr_expect(may_replace(path, "site: x\n", 8, NULL));
    cr_expect_not(may_replace(path, "\x89HDF\r\n\x1a\n\0\0", 10, NULL));
    struct whole_file *file = whole_file_open(path, WHOLE_FILE_RESULTS, &failure);
    cr_assert(file);
    cr_expect_not(whole_file_finish_new(file, &failure), "put over another");
    cr_expect(strstr(failure.message, "File exists"), "%s", failure.message);
    cr_expect_eq(entries(folder), 1);
    unlink(path);
    cr_assert_eq(symlink("elsewhere", path), 0);
    cr_expect_not(whole_file_try(path, NULL, &failure), "a link was replaced");
    unlink(path);
    file = whole_file_open(path, NULL, &failure);
    cr_assert(file && whole_file_finish_new(file, &failure), "%s", failure.message);
    cr_expect_eq(entries(folder), 1);
    put_bytes(path, "old", 3);
    cr_assert_eq(chmod(path, 0640), 0);
    cr_assert(whole_file_write(path, 3, "new", &failure), "%s", failure.message);
    cr_assert_eq(stat(path, &status), 0);
    cr_expect_eq(status.st_mode & 0777, 0640);
    unlink(path);
    rmdir(folder);
}

/* A process that has begun to write "theirs" into `path`, and finishes when *go is closed. */
static pid_t begin_to_write(const char *path, int *go)
{
    int begun[2];
    int finish[2];
    char byte = 0;
    cr_assert(pipe(begun) == 0 && pipe(finish) == 0);
    const pid_t child = fork();
    cr_assert(child >= 0);
    if (child == 0) {
        struct failure failure = {0};
        struct whole_file *file = whole_file_open(path, NULL, &failure);
        close(finish[1]);
        if (!file || !whole_file_put(file, 0, 6, "theirs", &failure) ||
            write(begun[1], "b", 1) != 1 || read(finish[0], &byte, 1) != 0) {
            _exit(1);
        }
        _exit(whole_file_finish(file, &failure) ? 0 : 1);
    }
    close(finish[0]);
    cr_assert_eq(read(begun[0], &byte, 1), 1);
    close(begun[0]);
    close(begun[1]);
    *go = finish[1];
    return child;
}

static void lay(const char *folder, const char *name)
{
    char path[128];
    snprintf(path, sizeof path, "%s/%s", folder, name);
    FILE *file = fopen(path, "w");
    cr_assert(file && fclose(file) == 0);
}

static void remove_folder(const char *folder)
{
    DIR *list = opendir(folder);
    for (struct dirent *entry = readdir(list); entry; entry = readdir(list)) {
        if (entry->d_name[0] != '.') {
            cr_assert_eq(unlinkat(dirfd(list), entry->d_name, 0), 0);
        }
    }
    closedir(list);
    rmdir(folder);
}

Test(whole_file, clears_away_what_a_killed_process_left)
{
    char folder[] = "/tmp/downsurge-test-XXXXXX";
    char path[64];
    int status = 0;
    int go = -1;
    struct failure failure = {0};
    cr_assert(mkdtemp(folder));
    snprintf(path, sizeof path, "%s/a.h5", folder);
    const pid_t child = begin_to_write(path, &go);
    cr_assert_eq(kill(child, SIGKILL), 0);
    cr_assert_eq(waitpid(child, &status, 0), child);
    cr_assert(WIFSIGNALED(status));
    cr_assert_eq(entries(folder), 1, "the killed process left nothing to clear away");
    cr_assert(whole_file_write(path, 4, "ours", &failure), "%s", failure.message);
    cr_assert_eq(entries(folder), 1, "the leftover is still there");
    cr_assert_eq(access(path, R_OK), 0);
    close(go);
    remove_folder(folder);
}

Test(whole_file, leaves_a_living_writer_its_file)
{
    char folder[] = "/tmp/downsurge-test-XXXXXX";
    char path[64];
    char text[8] = "";
    int status = 0;
    int go = -1;
    struct failure failure = {0};
    cr_assert(mkdtemp(folder));
    snprintf(path, sizeof path, "%s/a.h5", folder);
    const pid_t child = begin_to_write(path, &go);
    cr_assert(whole_file_write(path, 4, "ours", &failure), "%s", failure.message);
    cr_assert_eq(entries(folder), 2, "the other one's unfinished file is gone");
    close(go);
    cr_assert_eq(waitpid(child, &status, 0), child);
    cr_assert(WIFEXITED(status) && WEXITSTATUS(status) == 0, "the other one could not finish");
    FILE *file = fopen(path, "r");
    cr_assert_eq(fread(text, 1, 7, file), 6);
    fclose(file);
    cr_assert_str_eq(text, "theirs", "who finishes last is not the one that stands");
    cr_assert_eq(entries(folder), 1);
    remove_folder(folder);
}

/* Names alike, parts of a split file among them, and what an attacker might lay there. */
Test(whole_file, clears_away_nothing_that_is_not_its_own)
{
    static const char *const others[] = {"a.h5.part-000000",       "a.h5.downsurge-12345",
                                         "a.h5.downsurge-ABCDEFG", "b.h5.downsurge-ABCDEF",
                                         "a.h5.downsurge-ABC.EF",  "xa.h5.downsurge-ABCDEF"};
    enum { OTHERS = sizeof others / sizeof *others };
    char folder[] = "/tmp/downsurge-test-XXXXXX";
    char path[64];
    char odd[128];
    struct failure failure = {0};
    cr_assert(mkdtemp(folder));
    for (int i = 0; i < OTHERS; i++) {
        lay(folder, others[i]);
    }
    snprintf(odd, sizeof odd, "%s/a.h5.downsurge-LINKED", folder);
    cr_assert_eq(symlink("b.h5.downsurge-ABCDEF", odd), 0);
    snprintf(odd, sizeof odd, "%s/a.h5.downsurge-PIPE00", folder);
    cr_assert_eq(mkfifo(odd, 0600), 0);
    lay(folder, "a.h5.downsurge-0aZdeF"); /* as ours are called, and held by nobody */
    snprintf(path, sizeof path, "%s/a.h5", folder);
    cr_assert(whole_file_write(path, 1, "x", &failure), "%s", failure.message);
    cr_assert_eq(entries(folder), OTHERS + 3);
    snprintf(odd, sizeof odd, "%s/a.h5.downsurge-0aZdeF", folder);
    cr_assert_neq(access(odd, F_OK), 0, "a leftover is still there");
    remove_folder(folder);
}

/* Whoever clears away holds the lock for a moment: then the name is given up, not the work. */
Test(leftovers, a_file_that_is_being_cleared_away_is_not_held)
{
    char path[] = "/tmp/downsurge-test-XXXXXX";
    const int ours = mkstemp(path);
    const int theirs = open(path, O_RDONLY);
    cr_assert(ours >= 0 && theirs >= 0);
    cr_assert_eq(flock(theirs, LOCK_EX), 0);
    cr_assert_not(leftover_hold(ours));
    unlink(path);
    close(theirs);
    cr_assert_not(leftover_hold(ours), "held without a name");
    close(ours);
}
