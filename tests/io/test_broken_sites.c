/* A good case with one thing in it broken, row by row: the first fault stands at the very place,
 * says what is wrong and what to do. The rows are in broken/rows.txt, the good case is
 * broken/site.yaml: what stands there => what is put in its place => COUNT LINE:COLUMN => words of
 * the first message where \n is a line end. tests/io/broken.py runs the program on the same rows.
 */
#include "io/door/door.h"

#include <criterion/criterion.h>
#include <stdio.h>
#include <string.h>

#define FOLDER SOURCE_DIR "/tests/io/broken/"

enum { TEXT_ROOM = 20000, ROW_ROOM = 1000, PARTS = 4 };

static void read_whole(const char *path, char text[TEXT_ROOM])
{
    FILE *file = fopen(path, "r");
    cr_assert_not_null(file, "%s", path);
    const size_t size = fread(text, 1, TEXT_ROOM - 1, file);
    fclose(file);
    cr_assert_lt(size, TEXT_ROOM - 1);
    text[size] = '\0';
}

/* Cuts a row at " => "; \n becomes a line end. */
static bool split(char *row, char *part[PARTS])
{
    row[strcspn(row, "\n")] = '\0';
    for (int i = 0; i < PARTS; i++) {
        char *end = strstr(row, i == PARTS - 1 ? "" : " => ");
        part[i] = row;
        if (!end) {
            return false;
        }
        if (i < PARTS - 1) {
            *end = '\0';
            row = end + 4;
        }
        for (char *line = strstr(part[i], "\\n"); line; line = strstr(line, "\\n")) {
            *line++ = '\n';
            memmove(line, line + 1, strlen(line));
        }
    }
    return true;
}

static void check_row(const char *site, int number, char *part[PARTS])
{
    static char text[TEXT_ROOM + ROW_ROOM];
    int count = 0;
    int line = 0;
    int column = 0;
    const char *at = strstr(site, part[0]);
    cr_assert_not_null(at, "row %d: '%s' is not in the good case", number, part[0]);
    cr_assert_eq(sscanf(part[2], "%d %d:%d", &count, &line, &column), 3, "row %d", number);
    const int length = snprintf(text, sizeof text, "%.*s%s%s", (int)(at - site), site, part[1],
                                at + strlen(part[0]));
    struct arena *arena = arena_new();
    struct faults faults;
    struct site *read = NULL;
    faults_init(&faults, arena);
    cr_expect_not(read_site_text("broken.yaml", text, (size_t)length, arena, &read, &faults),
                  "row %d: '%s' was taken", number, part[1]);
    const struct failure *first = faults_first(&faults);
    cr_assert_not_null(first, "row %d: no fault", number);
    cr_expect_not_null(strstr(first->message, part[3]), "row %d: '%s': %s", number, part[1],
                       first->message);
    cr_expect(first->place.line == line && first->place.column == column, "row %d: %d:%d: %s",
              number, first->place.line, first->place.column, first->message);
    cr_expect_eq(faults_count(&faults, FAULT_ERROR), count, "row %d: %d faults", number,
                 faults_count(&faults, FAULT_ERROR));
    arena_free(arena);
}

Test(broken_sites, are_refused_at_their_place_with_a_remedy)
{
    static char site[TEXT_ROOM];
    char row[ROW_ROOM];
    int number = 0;
    read_whole(FOLDER "site.yaml", site);
    FILE *rows = fopen(FOLDER "rows.txt", "r");
    cr_assert_not_null(rows);
    while (fgets(row, sizeof row, rows)) {
        char *part[PARTS];
        number++;
        cr_assert(split(row, part), "row %d is none", number);
        check_row(site, number, part);
    }
    fclose(rows);
    cr_expect_geq(number, 200);
}

Test(broken_sites, are_made_from_a_good_one)
{
    struct arena *arena = arena_new();
    struct faults faults;
    struct site *site = NULL;
    faults_init(&faults, arena);
    cr_expect(read_site(FOLDER "site.yaml", arena, &site, &faults));
    cr_expect_not_null(site);
    arena_free(arena);
}
