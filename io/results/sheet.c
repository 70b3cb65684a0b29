#include "io/results/sheet.h"

#include <string.h>

void sheet_init(struct sheet *sheet, const char *path)
{
    memset(sheet, 0, sizeof *sheet);
    sheet->path = path;
}

int sheet_dimension(struct sheet *sheet, const char *name, size_t count)
{
    if (sheet->dimension_count == SHEET_DIMENSION_MAX) {
        sheet->is_full = true;
        return SHEET_DIMENSION_MAX - 1;
    }
    sheet->dimensions[sheet->dimension_count].name = name;
    sheet->dimensions[sheet->dimension_count].count = count;
    return sheet->dimension_count++;
}

void sheet_field(struct sheet *sheet, const struct field *field)
{
    if (sheet->field_count == SHEET_FIELD_MAX) {
        sheet->is_full = true;
        return;
    }
    struct field *place = &sheet->fields[sheet->field_count++];
    *place = *field;
    place->count = 1;
    for (int i = 0; i < place->rank; i++) {
        place->count *= sheet->dimensions[place->dimension[i]].count;
    }
}

static struct field field_of(struct field_head head, enum field_kind kind, int rank, int dimension)
{
    struct field field = {0};
    field.name = head.name;
    field.units = head.units;
    field.long_name = head.long_name;
    field.kind = kind;
    field.rank = rank;
    field.dimension[0] = dimension;
    return field;
}

void sheet_numbers(struct sheet *sheet, struct field_head head, int dimension,
                   const double *numbers)
{
    struct field field = field_of(head, FIELD_NUMBER, 1, dimension);
    field.numbers = numbers;
    sheet_field(sheet, &field);
}

void sheet_wholes(struct sheet *sheet, struct field_head head, int dimension, const double *numbers)
{
    struct field field = field_of(head, FIELD_WHOLE, 1, dimension);
    field.numbers = numbers;
    sheet_field(sheet, &field);
}

void sheet_texts(struct sheet *sheet, struct field_head head, int dimension,
                 const char *const *texts)
{
    struct field field = field_of(head, FIELD_TEXT, 1, dimension);
    field.texts = texts;
    sheet_field(sheet, &field);
}

void sheet_grid(struct sheet *sheet, struct field_head head, int slow, int fast,
                const double *numbers)
{
    struct field field = field_of(head, FIELD_NUMBER, 2, slow);
    field.dimension[1] = fast;
    field.numbers = numbers;
    sheet_field(sheet, &field);
}

static struct attribute *next_attribute(struct sheet *sheet, const char *name)
{
    if (sheet->attribute_count == SHEET_ATTRIBUTE_MAX) {
        sheet->is_full = true;
        return &sheet->attributes[SHEET_ATTRIBUTE_MAX - 1];
    }
    struct attribute *attribute = &sheet->attributes[sheet->attribute_count++];
    attribute->name = name;
    return attribute;
}

void sheet_attribute_text(struct sheet *sheet, const char *name, const char *text)
{
    next_attribute(sheet, name)->text = text ? text : "";
}

void sheet_attribute_number(struct sheet *sheet, const char *name, double number)
{
    struct attribute *attribute = next_attribute(sheet, name);
    attribute->text = NULL;
    attribute->number = number;
}

const struct field *sheet_find(const struct sheet *sheet, const char *name)
{
    for (int i = 0; i < sheet->field_count; i++) {
        if (strcmp(sheet->fields[i].name, name) == 0) {
            return &sheet->fields[i];
        }
    }
    return NULL;
}

const struct attribute *sheet_find_attribute(const struct sheet *sheet, const char *name)
{
    for (int i = 0; i < sheet->attribute_count; i++) {
        if (strcmp(sheet->attributes[i].name, name) == 0) {
            return &sheet->attributes[i];
        }
    }
    return NULL;
}

const struct field *sheet_scale(const struct sheet *sheet, int dimension)
{
    const struct field *field = sheet_find(sheet, sheet->dimensions[dimension].name);
    return field && field->rank == 1 && field->dimension[0] == dimension ? field : NULL;
}
