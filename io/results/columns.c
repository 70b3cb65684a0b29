#include "io/results/columns.h"

#include <math.h>
#include <string.h>

struct line {
    FILE *out;
    enum columns_form form;
    bool has_one;
};

/* RFC 4180 ends a line with CR LF. */
static void end_line(FILE *out, enum columns_form form)
{
    (void)fputs(form == COLUMNS_COMMA ? "\r\n" : "\n", out);
}

static void put_between(struct line *line)
{
    if (line->has_one) {
        (void)fputs(line->form == COLUMNS_COMMA ? "," : "  ", line->out);
    }
    line->has_one = true;
}

/* What a spreadsheet would take for a formula, which could fetch or start things. */
static bool is_formula(const struct line *line, const char *text)
{
    return line->form == COLUMNS_COMMA && text[0] && strchr("=+-@", text[0]) && text[1];
}

/* Text with something in it that the form gives a meaning to goes into quotes. Inside, RFC 4180
 * doubles a quote; gnuplot has no way to write one, so that it becomes a single quote there. */
static void put_text(struct line *line, const char *text)
{
    const char *marks = line->form == COLUMNS_COMMA ? ",\"\r\n" : " \t\"#\r\n";
    bool is_quoted = (!*text && line->form == COLUMNS_BLANK) || strpbrk(text, marks);
    put_between(line);
    if (!is_quoted) {
        (void)fprintf(line->out, "%s%s", is_formula(line, text) ? "'" : "", text);
        return;
    }
    (void)fputs(is_formula(line, text) ? "\"'" : "\"", line->out);
    for (; *text; text++) {
        if (*text == '"') {
            (void)fputs(line->form == COLUMNS_COMMA ? "\"\"" : "'", line->out);
        } else {
            bool is_break = line->form == COLUMNS_BLANK && (*text == '\n' || *text == '\r');
            (void)fputc(is_break ? ' ' : *text, line->out);
        }
    }
    (void)fputc('"', line->out);
}

static void put_number(struct line *line, double number)
{
    put_between(line);
    if (!isfinite(number)) {
        (void)fputs(line->form == COLUMNS_COMMA ? "" : "nan", line->out);
        return;
    }
    (void)fprintf(line->out, "%.10g", number);
}

static void put_value(struct line *line, const struct field *field, size_t at)
{
    if (field->kind == FIELD_TEXT) {
        put_text(line, field->texts[at] ? field->texts[at] : "");
    } else {
        put_number(line, field->numbers[at]);
    }
}

static void put_head(struct line *line, const struct field *field, const char *of)
{
    char text[512];
    bool has_unit = strcmp(field->units, "1") != 0;
    (void)snprintf(text, sizeof text, "%s%s%s%s%s%s", field->name, *of ? " " : "", of,
                   has_unit ? " [" : "", has_unit ? field->units : "", has_unit ? "]" : "");
    put_text(line, text);
}

static size_t width_of(const struct sheet *sheet, const struct field *field)
{
    return field->rank == 2 ? sheet->dimensions[field->dimension[1]].count : 1;
}

/* What column `at` of a grid stands for. */
static void name_column(const struct sheet *sheet, const struct field *field, size_t at,
                        size_t size, char name[])
{
    name[0] = '\0';
    if (field->rank < 2) {
        return;
    }
    const struct field *scale = sheet_scale(sheet, field->dimension[1]);
    if (scale && scale->kind == FIELD_TEXT) {
        (void)snprintf(name, size, "%s", scale->texts[at] ? scale->texts[at] : "");
    } else if (scale) {
        (void)snprintf(name, size, "%.6g", scale->numbers[at]);
    } else {
        (void)snprintf(name, size, "%zu", at + 1);
    }
}

static bool is_wanted(const struct sheet *sheet, const struct field *field, int dimension,
                      const struct field *only)
{
    if (field->rank == 0 || field->dimension[0] != dimension) {
        return false;
    }
    return !only || field == only || field == sheet_scale(sheet, dimension);
}

static void put_heads(const struct sheet *sheet, int dimension, const struct field *only,
                      struct line *line)
{
    char name[256];
    for (int i = 0; i < sheet->field_count; i++) {
        const struct field *field = &sheet->fields[i];
        size_t width = is_wanted(sheet, field, dimension, only) ? width_of(sheet, field) : 0;
        for (size_t column = 0; column < width; column++) {
            name_column(sheet, field, column, sizeof name, name);
            put_head(line, field, name);
        }
    }
    end_line(line->out, line->form);
}

void columns_along(const struct sheet *sheet, int dimension, const struct field *only,
                   enum columns_form form, FILE *out)
{
    struct line line = {out, form, false};
    put_heads(sheet, dimension, only, &line);
    for (size_t row = 0; row < sheet->dimensions[dimension].count; row++) {
        line.has_one = false;
        for (int i = 0; i < sheet->field_count; i++) {
            const struct field *field = &sheet->fields[i];
            size_t width = is_wanted(sheet, field, dimension, only) ? width_of(sheet, field) : 0;
            for (size_t column = 0; column < width; column++) {
                put_value(&line, field, row * width + column);
            }
        }
        end_line(out, form);
    }
}

static void put_single(const struct field *field, enum columns_form form, FILE *out)
{
    struct line line = {out, form, false};
    put_head(&line, field, "");
    end_line(out, form);
    line.has_one = false;
    put_value(&line, field, 0);
    end_line(out, form);
}

void columns_sheet(const struct sheet *sheet, enum columns_form form, FILE *out)
{
    bool has_one = false;
    for (int i = 0; i < sheet->dimension_count; i++) {
        (void)fputs(!has_one ? "" : form == COLUMNS_COMMA ? "\r\n" : "\n\n", out);
        columns_along(sheet, i, NULL, form, out);
        has_one = true;
    }
    for (int i = 0; i < sheet->field_count; i++) {
        if (sheet->fields[i].rank == 0) {
            (void)fputs(!has_one ? "" : form == COLUMNS_COMMA ? "\r\n" : "\n\n", out);
            put_single(&sheet->fields[i], form, out);
            has_one = true;
        }
    }
}

void columns_field(const struct sheet *sheet, const struct field *field, enum columns_form form,
                   FILE *out)
{
    if (field->rank == 0) {
        put_single(field, form, out);
    } else {
        columns_along(sheet, field->dimension[0], field, form, out);
    }
}
