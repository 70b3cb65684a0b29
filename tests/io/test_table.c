/* Tables on a terminal: heads, units, aligned columns. */
#include "io/terminal/table.h"

#include <criterion/criterion.h>
#include <math.h>
#include <stdlib.h>

static const struct column columns[] = {
    {"pump", "", TABLE_TEXT}, {"flow", "L/s", 2}, {"note", "", TABLE_TEXT}, {NULL, NULL, 0}};

static char *print(struct table *table)
{
    char *text = NULL;
    size_t size = 0;
    FILE *out = open_memstream(&text, &size);
    const struct terminal terminal = {.out = out, .messages = stderr};
    cr_assert(out);
    table_print(table, &terminal);
    fclose(out);
    return text;
}

Test(table, puts_decimal_points_under_one_another)
{
    struct arena *arena = arena_new();
    struct table *table = table_new(columns, arena);
    table_text(table, "lift");
    table_number(table, 3.14159);
    table_text(table, "");
    table_text(table, "h\xC3\xB6her");
    table_number(table, -12.0);
    table_text(table, "x");
    table_text(table, "idle");
    table_number(table, (double)NAN);
    table_text(table, "");
    char *text = print(table);
    cr_assert_str_eq(text, "  pump     flow  note\n"
                           "            L/s\n"
                           "  lift     3.14\n"
                           "  h\xC3\xB6her  -12.00  x\n"
                           "  idle        -\n");
    free(text);
    arena_free(arena);
}

Test(table, never_shows_minus_nought_and_nothing_without_rows)
{
    struct arena *arena = arena_new();
    struct table *table = table_new(columns, arena);
    char *empty = print(table);
    cr_assert_str_eq(empty, "");
    free(empty);
    table_text(table, "a");
    table_number(table, -1e-9);
    table_text(table, "");
    char *text = print(table);
    cr_assert_str_eq(text, "  pump  flow  note\n         L/s\n  a     0.00\n");
    free(text);
    arena_free(arena);
}
