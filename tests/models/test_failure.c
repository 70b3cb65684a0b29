#include "models/failure.h"
#include "models/letters.h"

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

/* Subject first, reason and remedy last: both must come through. */
Test(failure, message_too_long_loses_its_middle)
{
    struct failure failure = {0};
    char text[20000];
    for (size_t length = 500; length < sizeof text;
         length = length < 800 ? length + 1 : length * 3) {
        memset(text, 'x', length);
        text[length] = '\0';
        (void)fail(&failure, FAILURE_FILE, here, "file '%s': cannot be read", text);
        const size_t whole = length + strlen("file '': cannot be read");
        cr_assert_eq(strlen(failure.message),
                     whole < FAILURE_MESSAGE_SIZE ? whole : FAILURE_MESSAGE_SIZE - 1);
        cr_assert_eq(strncmp(failure.message, "file 'xxx", 9), 0);
        cr_assert(strstr(failure.message, "xxx': cannot be read"));
        cr_assert_eq(strstr(failure.message, " ... ") != NULL, whole >= FAILURE_MESSAGE_SIZE);
    }
}

/* Letters of two, three and four bytes (RFC 3629, 3), so that every cut falls into one sooner or
 * later; the number of letters is what iconv(1) and every other reader would count. */
Test(failure, no_letter_is_cut)
{
    static const char *const letters[] = {"\xC3\xBC", "\xE6\xB0\xB4", "\xF0\x9F\x92\xA7"};
    for (int kind = 0; kind < 3; kind++) {
        char text[4 * FAILURE_MESSAGE_SIZE] = "";
        for (size_t at = 0; at + 5 < sizeof text; at += strlen(letters[kind])) {
            memcpy(text + at, letters[kind], strlen(letters[kind]) + 1);
        }
        for (int shift = 0; shift < 8; shift++) {
            struct failure failure = {0};
            (void)fail(&failure, FAILURE_INPUT, here, "%.*s%s!", shift, "abcdefgh", text);
            for (const char *at = failure.message; *at; at += letter_length(at)) {
                cr_assert_gt(letter_length(at), 0, "at %td of '%s'", at - failure.message,
                             failure.message);
            }
            cr_assert_geq(strlen(failure.message), FAILURE_MESSAGE_SIZE - 8);
        }
    }
}

Test(failure, half_letters_become_question_marks)
{
    struct failure failure = {0};
    (void)fail(&failure, FAILURE_INPUT, here, "'%.3s' and '%s'", "\xC3\xBC\xC3\xBC", "caf\xE9");
    cr_assert_str_eq(failure.message, "'\xC3\xBC?' and 'caf?'");
    (void)fail(&failure, FAILURE_INPUT, here, "\x80\xFF\xF0\x9F\x92z\xC0\xAF");
    cr_assert_str_eq(failure.message, "???z?");
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
