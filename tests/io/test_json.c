/* What json.h writes is JSON of RFC 8259 (7: strings, 6: numbers); read back by Python's json in
 * tests/io/results_file.py, here the bytes. */
#include "io/results/json.h"

#include <criterion/criterion.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

static char *text_of(void (*write)(struct json *json))
{
    char *text = NULL;
    size_t size = 0;
    struct json json;
    FILE *out = open_memstream(&text, &size);
    cr_assert(out);
    json_start(&json, out);
    json_open_array(&json);
    write(&json);
    json_close_array(&json);
    fclose(out);
    return text;
}

static void write_texts(struct json *json)
{
    json_text(json, "a \"b\" \\ \n\t\x01 \xC3\xA9");
    json_text(json, "cut \xC3");
    json_text(json, NULL);
}

Test(json, escapes_what_must_be_and_leaves_utf8)
{
    char *text = text_of(write_texts);
    cr_assert_str_eq(text,
                     "[\"a \\\"b\\\" \\\\ \\n\\u0009\\u0001 \xC3\xA9\",\"cut \\ufffd\",null]\n");
    free(text);
}

static void write_numbers(struct json *json)
{
    json_number(json, 0.1);
    json_number(json, (double)NAN);
    json_number(json, -(double)INFINITY);
    json_truth(json, true);
}

Test(json, writes_all_digits_and_no_nan)
{
    char *text = text_of(write_numbers);
    cr_assert_str_eq(text, "[0.10000000000000001,null,null,true]\n");
    cr_assert_eq(strtod(text + 1, NULL), 0.1);
    free(text);
}
