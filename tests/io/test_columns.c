/* Columns as gnuplot and spreadsheets want them (RFC 4180 for commas). */
#include "io/results/columns.h"
#include "io/results/octave.h"
#include "io/results/shape.h"

#include <criterion/criterion.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

enum { OCTAVE = COLUMNS_COMMA + 1 };

static char *text_of(int form)
{
    static const double times[] = {0.0, 0.5};
    static const char *const names[] = {"a, \"b\"", "c"};
    const double heads[] = {1.0, (double)NAN, 3.25, 4.0};
    char *text = NULL;
    size_t size = 0;
    struct sheet sheet;
    FILE *out = open_memstream(&text, &size);
    cr_assert(out);
    sheet_init(&sheet, "/x");
    int time = sheet_dimension(&sheet, "time", 2);
    int gauge = sheet_dimension(&sheet, "gauge", 2);
    sheet_numbers(&sheet, (struct field_head){"time", "s", ""}, time, times);
    sheet_texts(&sheet, (struct field_head){"gauge", "1", ""}, gauge, names);
    sheet_grid(&sheet, (struct field_head){"head", "m", ""}, time, gauge, heads);
    sheet_attribute_text(&sheet, "ending", "");
    sheet_attribute_number(&sheet, "lost", -INFINITY);
    if (form == OCTAVE) {
        octave_sheet(&sheet, out);
    } else {
        columns_sheet(&sheet, form == COLUMNS_COMMA ? COLUMNS_COMMA : COLUMNS_BLANK, out);
    }
    fclose(out);
    return text;
}

Test(columns, stand_with_blanks_between_for_gnuplot)
{
    char *text = text_of(COLUMNS_BLANK);
    cr_assert_str_eq(text, "\"time [s]\"  \"head a, 'b' [m]\"  \"head c [m]\"\n"
                           "0  1  nan\n0.5  3.25  4\n\n\n"
                           "gauge\n\"a, 'b'\"\nc\n");
    free(text);
}

Test(columns, stand_with_commas_between_for_a_spreadsheet)
{
    char *text = text_of(COLUMNS_COMMA);
    cr_assert_str_eq(text, "time [s],\"head a, \"\"b\"\" [m]\",head c [m]\r\n"
                           "0,1,\r\n0.5,3.25,4\r\n\r\n"
                           "gauge\r\n\"a, \"\"b\"\"\"\r\nc\r\n");
    free(text);
}

/* A name must start nothing where a person opens the table (OWASP, CSV injection). */
Test(columns, hold_no_formula_for_a_spreadsheet)
{
    static const char *const names[] = {"=1+1", "+a", "-b", "@c", "=a,\"b\"", "-", "a=b"};
    const double heads[] = {-1, -2, -3, -4, -5, -6, -7};
    char *text = NULL;
    size_t size = 0;
    struct sheet sheet;
    FILE *out = open_memstream(&text, &size);
    cr_assert(out);
    sheet_init(&sheet, "/x");
    int point = sheet_dimension(&sheet, "point", 7);
    sheet_texts(&sheet, (struct field_head){"point", "1", ""}, point, names);
    sheet_numbers(&sheet, (struct field_head){"head", "m", ""}, point, heads);
    columns_sheet(&sheet, COLUMNS_COMMA, out);
    fclose(out);
    cr_assert_str_eq(text,
                     "point,head [m]\r\n'=1+1,-1\r\n'+a,-2\r\n'-b,-3\r\n'@c,-4\r\n"
                     "\"'=a,\"\"b\"\"\",-5\r\n-,-6\r\na=b,-7\r\n",
                     "%s", text);
    free(text);
}

/* As `save -text` of GNU Octave 7.3 writes the same variables, but for its first line and for
 * double in place of single quotes; its `load` gave them back. */
Test(columns, stand_as_variables_for_octave)
{
    char *text = text_of(OCTAVE);
    cr_assert_str_eq(text, "# name: time\n# type: matrix\n# rows: 2\n# columns: 1\n 0\n 0.5\n\n\n"
                           "# name: gauge\n# type: cell\n# rows: 2\n# columns: 1\n"
                           "# name: <cell-element>\n# type: string\n# elements: 1\n# length: 6\n"
                           "a, \"b\"\n\n\n"
                           "# name: <cell-element>\n# type: string\n# elements: 1\n# length: 1\n"
                           "c\n\n\n\n\n\n"
                           "# name: head\n# type: matrix\n# rows: 2\n# columns: 2\n"
                           " 1 NaN\n 3.25 4\n\n\n"
                           "# name: ending\n# type: string\n# elements: 0\n# length: 0\n\n\n"
                           "# name: lost\n# type: scalar\n-Inf\n\n\n");
    free(text);
}

/* Fields of a sheet whose lengths another program changed. */
Test(columns, lie_along_one_another_or_it_is_told)
{
    static const double numbers[] = {0.0, 0.5, 1.0, 1.5, 2.0, 2.5};
    static const char *const names[] = {"a", "b"};
    static const struct wish wishes[] = {{"time", false, false, "time", NULL},
                                         {"gauge", true, false, "gauge", NULL},
                                         {"head", false, false, "time", "gauge"},
                                         {"flow", false, true, "time", NULL}};
    struct sheet sheet;
    struct failure failure = {0};
    sheet_init(&sheet, "/x");
    const int time = sheet_dimension(&sheet, "time", 3);
    const int gauge = sheet_dimension(&sheet, "gauge", 2);
    sheet_numbers(&sheet, (struct field_head){"time", "s", ""}, time, numbers);
    sheet_texts(&sheet, (struct field_head){"gauge", "1", ""}, gauge, names);
    cr_expect_eq(shape_of(&sheet, 4, wishes, &failure), SHAPE_LACKS);
    sheet_grid(&sheet, (struct field_head){"head", "m", ""}, time, gauge, numbers);
    cr_expect_eq(shape_of(&sheet, 4, wishes, &failure), SHAPE_GOOD);
    struct sheet other = sheet;
    other.fields[2].dimension[0] = gauge; /* as many values in all */
    other.fields[2].dimension[1] = time;
    cr_expect_eq(shape_of(&other, 4, wishes, &failure), SHAPE_ODD);
    cr_expect_str_eq(
        failure.message,
        "results '/x': 'head' (6 values) does not lie along 'time' (3) and 'gauge' (2);"
        " another program changed the file: make the results anew");
    other = sheet;
    sheet_texts(&other, (struct field_head){"flow", "1", ""}, gauge, names);
    cr_expect_eq(shape_of(&other, 4, wishes, &failure), SHAPE_LACKS, "text instead of numbers");
    other = sheet;
    sheet_numbers(&other, (struct field_head){"flow", "1", ""}, gauge, numbers);
    cr_expect_eq(shape_of(&other, 4, wishes, &failure), SHAPE_ODD);
    cr_expect(strstr(failure.message, "'flow' (2 values) does not lie along 'time' (3);"), "%s",
              failure.message);
}
