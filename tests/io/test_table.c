/* Tables and prose on a terminal: heads, units, aligned columns; lines that fit. */
#include "io/terminal/prose.h"
#include "io/terminal/table.h"

#include <criterion/criterion.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

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

Test(table, folds_the_text_of_the_last_column_below_itself)
{
    static const struct column two[] = {
        {"when", "", TABLE_TEXT}, {"what then", "", TABLE_TEXT}, {NULL, NULL, 0}};
    struct arena *arena = arena_new();
    struct table *table = table_new(two, arena);
    char *text = NULL;
    size_t size = 0;
    FILE *out = open_memstream(&text, &size);
    const struct terminal narrow = {.out = out, .messages = stderr, .width = 30};
    table_text(table, "stuck");
    table_text(table, "no water, and the pump may run dry");
    table_print(table, &narrow);
    fclose(out);
    cr_assert_str_eq(text, "  when   what then\n"
                           "  stuck  no water, and the\n"
                           "         pump may run dry\n");
    free(text);
    arena_free(arena);
}

static char *say(int width, const char *words)
{
    char *text = NULL;
    size_t size = 0;
    FILE *out = open_memstream(&text, &size);
    const struct terminal terminal = {.out = out, .messages = stderr, .width = width};
    cr_assert(out);
    prose_tell(&terminal, "%s", words);
    fclose(out);
    return text;
}

Test(prose, breaks_at_blanks_but_not_before_a_unit)
{
    /* Counted by hand: 20 columns. */
    char *text = say(20, "Water falls by 12.5 m there and stays.\n\n  one\n");
    cr_assert_str_eq(text, "Water falls by\n12.5 m there and\nstays.\n\n  one\n");
    free(text);
}

Test(prose, goes_on_below_the_second_column_of_a_list)
{
    char *text = say(24, "  tank    level 2 m, brim 3 m\n");
    cr_assert_str_eq(text, "  tank    level 2 m,\n          brim 3 m\n");
    free(text);
}

Test(prose, is_eighty_columns_wide_where_there_is_no_terminal)
{
    char words[200];
    memset(words, 'x', sizeof words);
    words[60] = words[120] = ' ';
    words[180] = '\0';
    char *text = say(0, words);
    cr_assert_eq(strcspn(text, "\n"), 60);
    free(text);
}

Test(prose, keeps_messages_for_programs_on_one_line)
{
    char *text = NULL;
    size_t size = 0;
    FILE *out = open_memstream(&text, &size);
    const struct terminal terminal = {.out = stdout, .messages = out};
    struct prose prose;
    prose_messages(&prose, &terminal);
    for (int i = 0; i < 60; i++) {
        prose_add(&prose, "word ");
    }
    prose_add(&prose, "end\n");
    fclose(out);
    cr_assert_eq(strcspn(text, "\n"), 60 * 5 + 3);
    free(text);
}
