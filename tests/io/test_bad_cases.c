/* Every bad case is refused at its place with its message, and all its faults come in one go.
 * The files in bad/ say in their first line what is expected:
 *   # expect COUNT LINE:COLUMN FRAGMENT OF THE FIRST MESSAGE */
#include "io/door/door.h"
#include "io/door/file.h"

#include <criterion/criterion.h>
#include <dirent.h>
#include <stdio.h>
#include <string.h>

struct expected {
    int count;
    int line;
    int column;
    char fragment[200];
};

static bool read_expected(const char *path, struct expected *expected)
{
    FILE *file = fopen(path, "r");
    char line[256] = "";
    int used = 0;
    if (!file) {
        return false;
    }
    const bool is_read = fgets(line, sizeof line, file) != NULL;
    fclose(file);
    line[strcspn(line, "\n")] = '\0';
    if (!is_read || sscanf(line, "# expect %d %d:%d %n", &expected->count, &expected->line,
                           &expected->column, &used) != 3) {
        return false;
    }
    snprintf(expected->fragment, sizeof expected->fragment, "%s", line + used);
    return true;
}

static void check_file(struct units *units, const char *path)
{
    struct expected expected;
    struct arena *arena = arena_new();
    struct faults faults;
    struct site *site = NULL;
    faults_init(&faults, arena);
    cr_assert(read_expected(path, &expected), "%s: no '# expect' line", path);
    size_t size = 0;
    struct failure failure;
    const char *text = file_read(path, 1 << 20, arena, &size, &failure);
    const struct tree *root = tree_read(path, text, size, arena, &faults);
    cr_expect_not(read_site_tree(path, text, root, units, NULL, arena, &site, &faults),
                  "%s was taken", path);
    cr_expect_null(site);
    const struct failure *first = faults_first(&faults);
    cr_assert_not_null(first, "%s", path);
    cr_expect_not_null(strstr(first->message, expected.fragment), "%s: %s", path, first->message);
    cr_expect_eq(first->place.line, expected.line, "%s: line %d: %s", path, first->place.line,
                 first->message);
    cr_expect_eq(first->place.column, expected.column, "%s: column %d: %s", path,
                 first->place.column, first->message);
    if (faults_count(&faults, FAULT_ERROR) != expected.count) {
        faults_write(&faults, FAULT_ERROR, stderr);
    }
    cr_expect_eq(faults_count(&faults, FAULT_ERROR), expected.count, "%s: %d faults", path,
                 faults_count(&faults, FAULT_ERROR));
    arena_free(arena);
}

Test(bad_cases, are_refused_at_their_place)
{
    DIR *folder = opendir(SOURCE_DIR "/tests/io/bad");
    struct failure failure;
    struct units *units =
        units_new(&failure); /* once: its tables take longer to read than a case */
    int count = 0;
    cr_assert_not_null(folder);
    for (struct dirent *entry = readdir(folder); entry; entry = readdir(folder)) {
        char path[512];
        if (strstr(entry->d_name, ".yaml")) {
            snprintf(path, sizeof path, "%s/tests/io/bad/%s", SOURCE_DIR, entry->d_name);
            check_file(units, path);
            count++;
        }
    }
    closedir(folder);
    units_free(units);
    cr_expect_geq(count, 100);
}

static void check_text(const char *text, size_t size, int line, int column, const char *fragment)
{
    struct arena *arena = arena_new();
    struct faults faults;
    struct site *site = NULL;
    faults_init(&faults, arena);
    cr_expect_not(read_site_text("text.yaml", text, size, arena, &site, &faults));
    const struct failure *first = faults_first(&faults);
    cr_assert_not_null(first);
    cr_expect_not_null(strstr(first->message, fragment), "%s", first->message);
    cr_expect_eq(first->place.line, line, "line %d: %s", first->place.line, first->message);
    cr_expect_eq(first->place.column, column, "column %d: %s", first->place.column, first->message);
    arena_free(arena);
}

Test(bad_texts, that_are_no_text_are_refused)
{
    check_text("", 0, 1, 1, "is empty");
    check_text("# only a comment\n", 17, 1, 1, "is empty");
    check_text("site: caf\xE9\n", 11, 1, 10, "byte 0xE9 is not UTF-8");
    check_text("a: \xC0\xAF\n", 6, 1, 4, "not UTF-8");
    check_text("a: >2\n   x\n", 11, 2, 1, "leave it out, or put the text in double quotes");
    check_text("a: |-1 # x\n  x\n", 15, 2, 1, "a number behind");
    check_text("a: \"\\q\"\n", 8, 1, 5, "invalid escape");
    check_text("a: \xED\xA0\x80\n", 7, 1, 4, "not UTF-8");
    check_text("a: 1\nb: \0x\n", 11, 2, 4, "control character 0x00");
    check_text("a: 1\nb: \033[0m\n", 13, 2, 4, "control character 0x1B");
}

Test(bad_texts, that_are_deep_are_refused)
{
    char text[8000] = "tanks: ";
    memset(text + 7, '[', 4000);
    check_text(text, strlen(text), 1, 23, "deeper in one another");
}

/* What is wrong with a study is told beside what else is wrong. */
Test(bad_texts, with_a_wrong_study_are_told_in_one_go)
{
    static const char text[] = "tanks:\n  low: {level: 0 m, fixed: yes}\n"
                               "  high: {level: 10 m, fixd: yes}\n"
                               "runs: {main: {from: high, to: low, parts: [{pipe: pvc-u 63 pn10, "
                               "length: 50 m}]}}\n"
                               "study:\n  samples: many\n"
                               "  measures: [flow of main, flaw of main]\n"
                               "  vary: {water.temperature: 4 11 degC}\n";
    struct arena *arena = arena_new();
    struct faults faults;
    struct site *site = NULL;
    int found = 0;
    faults_init(&faults, arena);
    cr_expect_not(read_site_text("text.yaml", text, sizeof text - 1, arena, &site, &faults));
    for (int i = 0; i < faults.count; i++) {
        const struct failure *failure = &faults.list[i].failure;
        found |= strstr(failure->message, "fixd") ? 1 : 0;
        found |= failure->place.line == 6 && strstr(failure->message, "samples") ? 2 : 0;
        found |= failure->place.line == 7 && strstr(failure->message, "flaw of main") ? 4 : 0;
        found |= strstr(failure->message, "'flow of main': no part") ? 8 : 0;
    }
    if (found != 15) {
        faults_write(&faults, FAULT_ERROR, stderr);
    }
    cr_expect_eq(found, 15);
    arena_free(arena);
}

/* A valve that is wrong where it stands is told there, not as a wrong study. */
Test(bad_texts, with_a_wrong_valve_are_not_told_as_a_wrong_study)
{
    static const char *const valves[] = {"ball, size: DN9999", "bal, size: DN50", "[ball]"};
    for (int k = 0; k < 3; k++) {
        char text[500];
        (void)snprintf(text, sizeof text,
                       "tanks: {low: {level: 0 m, fixed: yes}, high: {level: 10 m, fixed: yes}}\n"
                       "runs: {main: {from: high, to: low, parts: [{pipe: pvc-u 63 pn10, length: "
                       "50 m},\n  {non-return: %s, name: check}]}}\n"
                       "study: {vary: {check.type: all}, measures: [flow of check]}\n",
                       valves[k]);
        struct arena *arena = arena_new();
        struct faults faults;
        struct site *site = NULL;
        faults_init(&faults, arena);
        cr_expect_not(read_site_text("text.yaml", text, strlen(text), arena, &site, &faults));
        for (int i = 0; i < faults.count; i++) {
            if (faults.list[i].level == FAULT_ERROR) {
                cr_expect_eq(faults.list[i].failure.place.line, 3, "%s: %s", valves[k],
                             faults.list[i].failure.message);
            }
        }
        arena_free(arena);
    }
}

Test(bad_texts, with_aliases_that_multiply_are_refused)
{
    static const char text[] = "a: &a [x, x]\nb: &b [*a, *a]\nc: &c [*b, *b]\nruns: *c\n";
    check_text(text, sizeof text - 1, 1, 7, "anchors");
}

/* Each crashes libfyaml 0.7.12 as its parser is given back; the sign may stand behind marks of
 * lists and values. A '?' in a line is a letter like any other. */
Test(bad_texts, with_keys_marked_by_a_question_are_refused)
{
    static const struct {
        const char *text;
        int line;
        int column;
    } rows[] = {{"? a:\t|", 1, 1},        {"#\r\n- ? a:\t|", 2, 3}, {"a: b\n? c", 2, 1},
                {"? b\n: ? a:\t|", 1, 1}, {"a:\n  ?\n", 2, 3},      {"?", 1, 1}};
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        check_text(rows[i].text, strlen(rows[i].text), rows[i].line, rows[i].column, "with '?'");
    }
    static const char usual[] = "site: where ? there\nruns: ?x\n";
    check_text(usual, sizeof usual - 1, 2, 7, "runs");
}

static void check_path(const char *path, const char *fragment)
{
    struct arena *arena = arena_new();
    struct faults faults;
    struct site *site = NULL;
    faults_init(&faults, arena);
    cr_expect_not(read_site(path, arena, &site, &faults));
    const struct failure *first = faults_first(&faults);
    cr_assert_not_null(first);
    cr_expect_not_null(strstr(first->message, fragment), "%s", first->message);
    cr_expect_str_eq(first->place.file, path);
    arena_free(arena);
}

Test(bad_files, missing_folder_and_device_are_refused)
{
    check_path(SOURCE_DIR "/tests/io/no-such-case.yaml", "cannot be opened");
    check_path(SOURCE_DIR "/tests/io", "is a folder");
    check_path("/dev/zero", "is not an ordinary file");
}

Test(bad_cases, beyond_the_most_kept_are_counted)
{
    static char text[60000] = "tanks:\n";
    struct arena *arena = arena_new();
    struct faults faults;
    struct site *site = NULL;
    for (int i = 0; i < 300; i++) {
        const size_t used = strlen(text);
        snprintf(text + used, sizeof text - used, "  t%d: {level: 1}\n", i);
    }
    faults_init(&faults, arena);
    cr_expect_not(read_site_text("many.yaml", text, strlen(text), arena, &site, &faults));
    cr_expect_eq(faults_count(&faults, FAULT_ERROR), 301); /* and no runs */
    cr_expect_leq(faults.count, 3 * FAULTS_MOST);
    arena_free(arena);
}
