/* HTML: the few forms a report is made of. Whatever comes from a case goes through html_text. */
#ifndef IO_REPORT_HTML_H
#define IO_REPORT_HTML_H

#include "io/results/sheet.h"
#include "io/results/trade_table.h"

#include <stdio.h>

/* Text with everything escaped that HTML gives a meaning, in content and in quoted attributes;
 * what is no UTF-8, and control characters, become U+FFFD. NULL reads as "". */
void html_text(FILE *out, const char *text);

/* Before, text escaped, after: html_wrap(out, "<td>", name, "</td>"). */
void html_wrap(FILE *out, const char *before, const char *text, const char *after);

/* A number with `decimals` or HTML_DIGITS (the minus sign a true one); NAN and infinite: a dash
 * with "not known" for those who cannot see it. */
void html_number(FILE *out, double number, int decimals);

/* A unit with raised digits, "m3/h" and "m/s2", as HTML. */
void html_unit(FILE *out, const char *unit);

/* "before 1.2 after" where the value is known, else nothing. */
void html_measure(FILE *out, const char *before, double value, int decimals, const char *after);

/* Instead of the decimals of a struct trade_column: a text; yes or no; four digits. */
enum { HTML_TEXT = -1, HTML_YES = -2, HTML_DIGITS = -3 };

/* Opens a table in a box of its own that scrolls when the page is narrow; `caption` is escaped. */
void html_table_open(FILE *out, const char *caption);
void html_table_close(FILE *out);
/* Columns from `first_number` on hold numbers; `count`: none. */
void html_heads(FILE *out, int count, const char *const heads[], int first_number);

/* Rows `first` to before `end` of a sheet, the first column the head of its row. `mask` (a field
 * along them, or NULL): only rows where it is not 0. Columns the sheet lacks are left out. */
struct html_rows {
    size_t first;
    size_t end;
    const char *mask;
};
void html_sheet(FILE *out, const struct sheet *sheet, const char *caption,
                const struct trade_column *columns, const struct html_rows *rows);

#endif
