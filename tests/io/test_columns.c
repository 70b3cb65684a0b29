/* Columns as gnuplot and spreadsheets want them (RFC 4180 for commas). */
#include "io/results/columns.h"

#include <criterion/criterion.h>
#include <math.h>
#include <stdlib.h>

static char *text_of(enum columns_form form)
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
    columns_sheet(&sheet, form, out);
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
