#include "io/report/html.h"

#include "io/results/shape.h"
#include "models/letters.h"

#include <math.h>
#include <string.h>

static const char *entity(char letter)
{
    switch (letter) {
    case '&':
        return "&amp;";
    case '<':
        return "&lt;";
    case '>':
        return "&gt;";
    case '"':
        return "&quot;";
    case '\'':
        return "&#39;";
    default:
        return NULL;
    }
}

/* So many bytes of a text, whole letters. */
static void html_piece(FILE *out, const char *text, size_t count)
{
    static const char strange[] = "\xEF\xBF\xBD"; /* U+FFFD */
    for (const char *end = text + count; text < end;) {
        size_t length = letter_length(text);
        unsigned char letter = (unsigned char)*text;
        const char *named = entity(*text);
        bool is_control = (letter < 0x20 && !strchr("\t\n\r", letter)) || letter == 0x7f;
        if (length == 0 || is_control) {
            (void)fputs(strange, out);
            length = 1;
        } else if (named) {
            (void)fputs(named, out);
        } else {
            (void)fwrite(text, 1, length, out);
        }
        text += length;
    }
}

void html_text(FILE *out, const char *text)
{
    html_piece(out, text, text ? strlen(text) : 0);
}

void html_unit(FILE *out, const char *unit)
{
    for (const char *at = unit; *at;) {
        const size_t length = strcspn(at, "23");
        const bool is_power = length > 0 && (at[length - 1] == 'm' || at[length - 1] == 's');
        html_piece(out, at, length);
        at += length;
        if (is_power && *at) {
            (void)fputs(*at == '2' ? "\xC2\xB2" : "\xC2\xB3", out);
            at++;
        } else if (*at) {
            html_piece(out, at++, 1);
        }
    }
}

void html_wrap(FILE *out, const char *before, const char *text, const char *after)
{
    (void)fputs(before, out);
    html_text(out, text);
    (void)fputs(after, out);
}

void html_number(FILE *out, double number, int decimals)
{
    char text[64];
    if (!isfinite(number)) {
        (void)fputs("<span aria-hidden=\"true\">\xE2\x80\x93</span><span class=\"unseen\">not known"
                    "</span>",
                    out);
        return;
    }
    if (fabs(number) >= 1e12 || decimals == HTML_DIGITS) {
        (void)snprintf(text, sizeof text, "%.4g", number);
    } else {
        (void)snprintf(text, sizeof text, "%.*f", decimals, number);
    }
    bool is_nothing = strspn(text, "-0.") == strlen(text); /* -0.00 is 0.00 */
    if (text[0] == '-' && !is_nothing) {
        (void)fputs("\xE2\x88\x92", out); /* U+2212, the true minus */
    }
    (void)fputs(text[0] == '-' ? text + 1 : text, out);
}

void html_measure(FILE *out, const char *before, double value, int decimals, const char *after)
{
    if (isfinite(value)) {
        (void)fputs(before, out);
        html_number(out, value, decimals);
        (void)fputs(after, out);
    }
}

void html_table_open(FILE *out, const char *caption)
{
    html_wrap(out, "<div class=\"scroll\" role=\"region\" tabindex=\"0\" aria-label=\"", caption,
              "\">\n");
    html_wrap(out, "<table>\n<caption>", caption, "</caption>\n");
}

void html_table_close(FILE *out)
{
    (void)fputs("</tbody>\n</table>\n</div>\n", out);
}

void html_heads(FILE *out, int count, const char *const heads[], int first_number)
{
    (void)fputs("<thead><tr>", out);
    for (int i = 0; i < count; i++) {
        html_wrap(out,
                  i < first_number ? "<th scope=\"col\">" : "<th scope=\"col\" class=\"number\">",
                  heads[i], "</th>");
    }
    (void)fputs("</tr></thead>\n<tbody>\n", out);
}

static bool is_counted(const struct trade_column *column)
{
    return column->decimals >= 0 || column->decimals == HTML_DIGITS;
}

static void put_cell(FILE *out, const struct field *field, size_t row,
                     const struct trade_column *column, bool is_head)
{
    bool is_text = field->kind == FIELD_TEXT;
    const char *tag = is_head ? "th" : "td";
    const bool is_number = !is_text && is_counted(column);
    (void)fprintf(out, "<%s%s%s>", tag, is_head ? " scope=\"row\"" : "",
                  !is_number ? ""
                  : is_head  ? " class=\"short\""
                             : " class=\"number\"");
    if (is_text) {
        html_text(out, field->texts[row]);
    } else if (column->decimals == HTML_YES) {
        (void)fputs(fabs(field->numbers[row]) > 0.0 ? "yes" : "no", out);
    } else {
        html_number(out, column->factor * field->numbers[row], column->decimals);
    }
    (void)fprintf(out, "</%s>", tag);
}

static void put_unit(FILE *out, const char *unit)
{
    if (unit[0]) {
        (void)fputs(" <span class=\"unit\">", out);
        html_unit(out, unit);
        (void)fputs("</span>", out);
    }
}

/* A head may be a name of the case; at its points the line may be broken. */
static void put_head(FILE *out, const char *head)
{
    for (const char *at = head; *at;) {
        const size_t length = strcspn(at, ".") + (strchr(at, '.') ? 1 : 0);
        html_piece(out, at, length);
        at += length;
        (void)fputs(*at ? "<wbr>" : "", out);
    }
}

static void put_heads(FILE *out, const struct sheet *sheet, const struct trade_column *columns)
{
    const char *head = "";
    (void)fputs("<thead><tr>", out);
    for (const struct trade_column *column = columns; column->field; column++) {
        const struct field *field = sheet_find(sheet, column->field);
        bool is_number = field && field->kind != FIELD_TEXT && is_counted(column) &&
                         column != columns; /* the head of a row stands left */
        if (!field) {
            continue;
        }
        head = column->head[0] ? column->head : head;
        (void)fprintf(out, "<th scope=\"col\"%s>", is_number ? " class=\"number\"" : "");
        put_head(out, strcmp(head, "+-") == 0 ? "right within" : head);
        put_unit(out, column->unit);
        (void)fputs("</th>", out);
    }
    (void)fputs("</tr></thead>\n<tbody>\n", out);
}

/* Whether the columns that the sheet has lie beside one another; else it is said in their place. */
static bool has_rows(FILE *out, const struct sheet *sheet, const struct trade_column *columns,
                     const char *mask)
{
    struct failure failure = {0};
    struct wish wishes[SHEET_FIELD_MAX];
    size_t count = 0;
    for (const struct trade_column *column = columns; column->field && count + 1 < SHEET_FIELD_MAX;
         column++) {
        const struct field *field = sheet_find(sheet, column->field);
        wishes[count++] = (struct wish){column->field, field && field->kind == FIELD_TEXT, true,
                                        columns->field, NULL};
    }
    if (mask) {
        wishes[count++] = (struct wish){mask, false, true, columns->field, NULL};
    }
    if (shape_of(sheet, count, wishes, &failure) != SHAPE_ODD) {
        return true;
    }
    html_wrap(out, "<p>A table is left out: ", failure.message, ".</p>\n");
    return false;
}

void html_sheet(FILE *out, const struct sheet *sheet, const char *caption,
                const struct trade_column *columns, const struct html_rows *rows)
{
    if (!has_rows(out, sheet, columns, rows->mask)) {
        return;
    }
    const struct field *mask = rows->mask ? sheet_find(sheet, rows->mask) : NULL;
    html_table_open(out, caption);
    put_heads(out, sheet, columns);
    for (size_t row = rows->first; row < rows->end; row++) {
        bool is_hidden = mask && mask->numbers && row < mask->count && mask->numbers[row] == 0.0;
        if (is_hidden) {
            continue;
        }
        (void)fputs("<tr>", out);
        for (const struct trade_column *column = columns; column->field; column++) {
            const struct field *field = sheet_find(sheet, column->field);
            if (field && row < field->count) {
                put_cell(out, field, row, column, column == columns);
            }
        }
        (void)fputs("</tr>\n", out);
    }
    html_table_close(out);
}
