#include "io/results/octave.h"

#include <math.h>
#include <string.h>

static void put_number(double number, FILE *out)
{
    if (isnan(number)) {
        (void)fputs("NaN", out);
    } else if (isinf(number)) {
        (void)fputs(number > 0.0 ? "Inf" : "-Inf", out);
    } else {
        (void)fprintf(out, "%.17g", number);
    }
}

static void put_name(const char *name, FILE *out)
{
    (void)fprintf(out, "# name: %s\n", name);
}

/* `length` counts bytes, so that line ends and marks inside a text mean nothing. */
static void put_text(const char *name, const char *text, FILE *out)
{
    put_name(name, out);
    (void)fputs("# type: string\n", out);
    if (*text) {
        (void)fprintf(out, "# elements: 1\n# length: %zu\n%s", strlen(text), text);
    } else {
        (void)fputs("# elements: 0\n# length: 0", out);
    }
    (void)fputs("\n\n\n", out);
}

static void put_size(size_t rows, size_t columns, FILE *out)
{
    (void)fprintf(out, "# rows: %zu\n# columns: %zu\n", rows, columns);
}

static void put_texts(const struct field *field, FILE *out)
{
    put_name(field->name, out);
    (void)fputs("# type: cell\n", out);
    put_size(field->count, 1, out);
    for (size_t i = 0; i < field->count; i++) {
        put_text("<cell-element>", field->texts[i] ? field->texts[i] : "", out);
    }
    (void)fputs("\n\n\n", out);
}

static void put_matrix(const struct sheet *sheet, const struct field *field, FILE *out)
{
    const size_t columns =
        field->rank == 2 ? sheet->dimensions[field->dimension[1]].count : (size_t)1;
    const size_t rows = columns > 0 ? field->count / columns : 0;
    put_name(field->name, out);
    (void)fputs("# type: matrix\n", out);
    put_size(rows, columns, out);
    for (size_t i = 0; i < rows * columns; i++) {
        (void)fputc(' ', out);
        put_number(field->numbers[i], out);
        (void)fputs((i + 1) % columns == 0 ? "\n" : "", out);
    }
    (void)fputs("\n\n", out);
}

static void put_scalar(const char *name, double number, FILE *out)
{
    put_name(name, out);
    (void)fputs("# type: scalar\n", out);
    put_number(number, out);
    (void)fputs("\n\n\n", out);
}

void octave_field(const struct sheet *sheet, const struct field *field, FILE *out)
{
    if (field->kind == FIELD_TEXT && field->rank == 0) {
        put_text(field->name, field->texts[0] ? field->texts[0] : "", out);
    } else if (field->kind == FIELD_TEXT) {
        put_texts(field, out);
    } else if (field->rank == 0) {
        put_scalar(field->name, field->numbers[0], out);
    } else {
        put_matrix(sheet, field, out);
    }
}

void octave_sheet(const struct sheet *sheet, FILE *out)
{
    for (int i = 0; i < sheet->field_count; i++) {
        octave_field(sheet, &sheet->fields[i], out);
    }
    for (int i = 0; i < sheet->attribute_count; i++) {
        const struct attribute *attribute = &sheet->attributes[i];
        if (sheet_find(sheet, attribute->name)) {
            continue;
        }
        if (attribute->text) {
            put_text(attribute->name, attribute->text, out);
        } else {
            put_scalar(attribute->name, attribute->number, out);
        }
    }
}
