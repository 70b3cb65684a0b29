/* The index of names against a plain list of the same names: whatever is found, missing or taken
 * must be what a search through the list says. */
#include "io/door/names.h"

#include <criterion/criterion.h>
#include <stdio.h>
#include <string.h>

enum { COUNT = 20000, SIZE = 24 };

/* Names of several makes: numbered, alike but for their first letters, of one letter, empty. */
static void make_name(int i, char name[SIZE])
{
    static const char *const before[] = {"n", "", "main/pipe-", ""};
    static const char *const behind[] = {"", "-end", "", ""};
    (void)snprintf(name, SIZE, "%s%d%s", before[i % 4], i / 4, behind[i % 4]);
}

static const char *tell(const void *owner, int index)
{
    const char(*text)[SIZE] = owner;
    return text[index];
}

Test(names, each_is_found_where_it_was_put_and_nothing_else)
{
    struct arena *arena = arena_new();
    struct names names;
    char(*text)[SIZE] = arena_take(arena, COUNT, SIZE);
    names_init(&names, arena, text, tell);
    for (int i = 0; i < COUNT; i++) {
        make_name(i, text[i]);
        cr_assert_eq(names_find(&names, text[i]), -1, "'%s' before it came", text[i]);
        cr_assert_eq(names_claim(&names, text[i], i), NAMES_NEW);
    }
    cr_assert_eq(names.count, COUNT);
    for (int i = 0; i < COUNT; i++) {
        char longer[SIZE + 1];
        cr_assert_eq(names_find(&names, text[i]), i);
        (void)snprintf(longer, sizeof longer, "%s-", text[i]);
        cr_assert_eq(names_find(&names, longer), -1);
    }
    arena_free(arena);
}

Test(names, a_taken_name_tells_who_has_it_and_stays_with_them)
{
    struct arena *arena = arena_new();
    struct names names;
    char again[] = "p7";
    static const char text[][SIZE] = {[7] = "p7", [8] = ""};
    names_init(&names, arena, text, tell);
    cr_assert(names_reserve(&names, 3));
    cr_assert_eq(names_claim(&names, "p7", 7), NAMES_NEW);
    cr_assert_eq(names_claim(&names, "", 8), NAMES_NEW);
    cr_assert_eq(names_claim(&names, again, 9), 7);
    cr_assert_eq(names_find(&names, "p7"), 7);
    cr_assert_eq(names_find(&names, ""), 8);
    cr_assert_eq(names.count, 2);
    arena_free(arena);
}
