#include "models/failure.h"

#include <criterion/criterion.h>
#include <string.h>

static const struct place here = {"site.yaml", 41, 18};

Test(failure, fail_returns_false_and_keeps_kind_and_place)
{
    struct failure failure = {0};
    cr_assert_not(fail(&failure, FAILURE_INPUT, here, "pump '%s': no head", "lift"));
    cr_assert_eq(failure.kind, FAILURE_INPUT);
    cr_assert_str_eq(failure.place.file, "site.yaml");
    cr_assert_eq(failure.place.line, 41);
    cr_assert_eq(failure.place.column, 18);
    cr_assert_str_eq(failure.message, "pump 'lift': no head");
}

Test(failure, message_too_long_is_cut_and_closed)
{
    struct failure failure = {0};
    char text[2 * FAILURE_MESSAGE_SIZE];
    memset(text, 'x', sizeof text - 1);
    text[sizeof text - 1] = '\0';
    (void)fail(&failure, FAILURE_FILE, here, "%s", text);
    cr_assert_eq(strlen(failure.message), FAILURE_MESSAGE_SIZE - 1);
}

Test(failure, second_failure_replaces_the_first_whole)
{
    struct failure failure = {0};
    const struct place nowhere = {0};
    (void)fail(&failure, FAILURE_INPUT, here, "a long message about the first thing");
    (void)fail(&failure, FAILURE_FILE, nowhere, "short");
    cr_assert_eq(failure.kind, FAILURE_FILE);
    cr_assert_null(failure.place.file);
    cr_assert_str_eq(failure.message, "short");
}

Test(failure, memory_failure_names_what_was_wanted)
{
    struct failure failure = {0};
    cr_assert_not(fail_memory(&failure, "a steady answer"));
    cr_assert_eq(failure.kind, FAILURE_MEMORY);
    cr_assert_null(failure.place.file);
    cr_assert_not_null(strstr(failure.message, "a steady answer"));
}
