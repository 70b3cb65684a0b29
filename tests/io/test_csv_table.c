/* Tables: columns by their heads, units in the heads, faults at their place. */
#include "io/door/table.h"

#include <criterion/criterion.h>
#include <string.h>

static const struct column columns[] = {
    {"distance", QUANTITY_LENGTH, false, PLAUSIBLE_PIPE_LENGTH},
    {"elevation", QUANTITY_LENGTH, false, PLAUSIBLE_BY_QUANTITY}};

struct desk {
    struct arena *arena;
    struct faults faults;
    struct reader reader;
};

static void open_desk(struct desk *desk)
{
    struct failure failure;
    desk->arena = arena_new();
    faults_init(&desk->faults, desk->arena);
    desk->reader = (struct reader){.arena = desk->arena, .faults = &desk->faults};
    desk->reader.units = units_new(&failure);
    cr_assert_not_null(desk->reader.units);
}

static void close_desk(struct desk *desk)
{
    units_free(desk->reader.units);
    arena_free(desk->arena);
}

static void check_good(const char *text, int rows, double last_distance, double last_elevation)
{
    struct desk desk;
    struct table table;
    open_desk(&desk);
    cr_assert(table_read_text(&desk.reader, "t.csv", text, strlen(text), 2, columns, &table), "%s",
              text);
    cr_assert_eq(table.row_count, rows);
    cr_expect_float_eq(table.values[2 * (rows - 1)], last_distance, 1e-12);
    cr_expect_float_eq(table.values[2 * (rows - 1) + 1], last_elevation, 1e-12);
    close_desk(&desk);
}

Test(csv_table, columns_are_found_by_their_heads)
{
    check_good("distance [m],elevation [m]\n0,1\n40,3.5\n", 2, 40, 3.5);
    check_good("elevation [cm];note;distance [km]\n100;\"a;b\";0\n350;;0.04", 2, 40, 3.5);
    check_good("\xEF\xBB\xBF# survey\r\n\r\ndistance [m] , elevation [m]\r\n 0 , 1 \r\n", 1, 0, 1);
    check_good("distance [ft],elevation [m]\n100,1\n# end\n\n", 1, 30.48, 1);
}

static void check_bad(const char *text, int line, int column, const char *fragment)
{
    struct desk desk;
    struct table table;
    open_desk(&desk);
    cr_expect_not(table_read_text(&desk.reader, "t.csv", text, strlen(text), 2, columns, &table));
    const struct failure *first = faults_first(&desk.faults);
    cr_assert_not_null(first);
    cr_expect_not_null(strstr(first->message, fragment), "%s", first->message);
    cr_expect_eq(first->place.line, line, "%s: line %d", text, first->place.line);
    cr_expect_eq(first->place.column, column, "%s: column %d", text, first->place.column);
    close_desk(&desk);
}

Test(csv_table, faults_are_told_at_their_place)
{
    check_bad("", 1, 1, "the table is empty");
    check_bad("distance [m]\n0\n", 1, 1, "'elevation [m]' is missing");
    check_bad("distance,elevation [m]\n", 1, 1, "its unit belongs in the head");
    check_bad("distance [m],elevation [s]\n", 1, 14, "'s' is not a unit of length");
    check_bad("distance [m],distance [m],elevation [m]\n", 1, 14, "stands here twice");
    check_bad("distance [m],elevation [m]\n0,high\n", 2, 3, "'high' is not a number");
    check_bad("distance [m],elevation [m]\n0,nan\n", 2, 3, "'nan' is not a number");
    check_bad("distance [m],elevation [m]\n0,1e99\n", 2, 3, "too large");
    check_bad("distance [m],elevation [m]\n0,1\n\n5\n", 4, 1, "fewer cells");
    check_bad("distance [m],elevation [m]\n0,\"1\n", 2, 3, "not closed");
    check_bad("distance [m],elevation [m\n", 1, 14, "is not a column's head");
    check_bad("distance [m],elevation [m]\n0,\xFF\n", 2, 3, "not UTF-8");
}

Test(csv_table, all_bad_rows_are_told_in_one_go)
{
    static const char text[] = "distance [m],elevation [m]\na,1\n1,b\n2,3\nc,d\n";
    struct desk desk;
    struct table table;
    open_desk(&desk);
    cr_expect_not(
        table_read_text(&desk.reader, "t.csv", text, sizeof text - 1, 2, columns, &table));
    cr_expect_eq(faults_count(&desk.faults, FAULT_ERROR), 3);
    cr_expect_eq(table.row_count, 1);
    close_desk(&desk);
}

Test(csv_table, paths_stay_below_the_case)
{
    struct desk desk;
    const struct place nowhere = {0};
    open_desk(&desk);
    cr_expect_str_eq(
        table_path(&desk.reader, SOURCE_DIR "/c.yaml", "cases/lesson-surge-picture.csv", nowhere),
        SOURCE_DIR "/cases/lesson-surge-picture.csv");
    cr_expect_str_eq(
        table_path(&desk.reader, SOURCE_DIR "/cases/c.yaml", "alder-beck-main.csv", nowhere),
        SOURCE_DIR "/cases/alder-beck-main.csv");
    cr_expect_null(table_path(&desk.reader, "a/c.yaml", "../e.csv", nowhere));
    cr_expect_null(table_path(&desk.reader, "a/c.yaml", "d/../../e.csv", nowhere));
    cr_expect_null(table_path(&desk.reader, "a/c.yaml", "/etc/passwd", nowhere));
    cr_expect_null(table_path(&desk.reader, "a/c.yaml", "", nowhere));
    cr_expect_eq(faults_count(&desk.faults, FAULT_ERROR), 4);
    /* A name may begin with dots; this one is looked for, and not there. */
    cr_expect_null(table_path(&desk.reader, "a/c.yaml", "..e.csv", nowhere));
    const struct failure *last = &desk.faults.list[desk.faults.count - 1].failure;
    cr_expect_not_null(strstr(last->message, "looked for"), "%s", last->message);
    close_desk(&desk);
}
