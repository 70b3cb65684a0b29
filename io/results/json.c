#include "io/results/json.h"

#include "models/letters.h"

#include <assert.h>
#include <math.h>
#include <string.h>

void json_start(struct json *json, FILE *out)
{
    memset(json, 0, sizeof *json);
    json->out = out;
}

static void new_line(const struct json *json)
{
    (void)fprintf(json->out, "\n%*s", json->depth, "");
}

/* What stands before a value: nothing after a key, else a comma after the one before. */
static void begin(struct json *json)
{
    if (json->after_key) {
        json->after_key = false;
        return;
    }
    if (json->has_one[json->depth]) {
        (void)fputc(',', json->out);
    }
    json->has_one[json->depth] = true;
}

static void open(struct json *json, char bracket)
{
    begin(json);
    (void)fputc(bracket, json->out);
    assert(json->depth < JSON_DEPTH_MAX);
    json->depth++;
    json->has_one[json->depth] = false;
}

static void close(struct json *json, char bracket)
{
    json->depth--;
    (void)fputc(bracket, json->out);
    if (json->depth == 0) {
        (void)fputc('\n', json->out);
    }
}

void json_open_object(struct json *json)
{
    open(json, '{');
}

void json_close_object(struct json *json)
{
    bool has_one = json->has_one[json->depth];
    if (has_one) {
        json->depth--;
        new_line(json);
        json->depth++;
    }
    close(json, '}');
}

void json_open_array(struct json *json)
{
    open(json, '[');
}

void json_close_array(struct json *json)
{
    close(json, ']');
}

static void put_text(FILE *out, const char *text)
{
    (void)fputc('"', out);
    while (*text) {
        unsigned char letter = (unsigned char)*text;
        size_t length = letter_length(text);
        if (length == 0) {
            (void)fputs("\\ufffd", out);
            text++;
            continue;
        }
        if (letter == '"' || letter == '\\') {
            (void)fprintf(out, "\\%c", letter);
        } else if (letter == '\n') {
            (void)fputs("\\n", out);
        } else if (letter < 0x20 || letter == 0x7F) {
            (void)fprintf(out, "\\u%04x", letter);
        } else {
            (void)fwrite(text, 1, length, out);
        }
        text += length;
    }
    (void)fputc('"', out);
}

void json_key(struct json *json, const char *key)
{
    begin(json);
    new_line(json);
    put_text(json->out, key);
    (void)fputs(": ", json->out);
    json->after_key = true;
}

void json_text(struct json *json, const char *text)
{
    begin(json);
    if (text) {
        put_text(json->out, text);
    } else {
        (void)fputs("null", json->out);
    }
}

void json_number(struct json *json, double number)
{
    begin(json);
    if (isfinite(number)) {
        (void)fprintf(json->out, "%.17g", number);
    } else {
        (void)fputs("null", json->out);
    }
}

void json_truth(struct json *json, bool is_true)
{
    begin(json);
    (void)fputs(is_true ? "true" : "false", json->out);
}

static void put_value(struct json *json, const struct field *field, size_t at)
{
    if (field->kind == FIELD_TEXT) {
        json_text(json, field->texts[at] ? field->texts[at] : "");
    } else {
        json_number(json, field->numbers[at]);
    }
}

static void put_row(struct json *json, const struct field *field, size_t first, size_t count)
{
    json_open_array(json);
    for (size_t i = 0; i < count; i++) {
        put_value(json, field, first + i);
    }
    json_close_array(json);
}

static void put_values(struct json *json, const struct sheet *sheet, const struct field *field)
{
    size_t outer = field->rank > 0 ? sheet->dimensions[field->dimension[0]].count : 1;
    if (field->rank == 0) {
        put_value(json, field, 0);
        return;
    }
    if (field->rank == 1) {
        put_row(json, field, 0, outer);
        return;
    }
    size_t inner = sheet->dimensions[field->dimension[1]].count;
    json_open_array(json);
    for (size_t i = 0; i < outer; i++) {
        put_row(json, field, i * inner, inner);
    }
    json_close_array(json);
}

static void put_field(struct json *json, const struct sheet *sheet, const struct field *field)
{
    json_key(json, field->name);
    json_open_object(json);
    json_key(json, "units");
    json_text(json, field->units);
    json_key(json, "long_name");
    json_text(json, field->long_name);
    json_key(json, "dimensions");
    json_open_array(json);
    for (int i = 0; i < field->rank; i++) {
        json_text(json, sheet->dimensions[field->dimension[i]].name);
    }
    json_close_array(json);
    json_key(json, "values");
    put_values(json, sheet, field);
    json_close_object(json);
}

void json_sheet(struct json *json, const struct sheet *sheet)
{
    json_open_object(json);
    json_key(json, "attributes");
    json_open_object(json);
    for (int i = 0; i < sheet->attribute_count; i++) {
        const struct attribute *attribute = &sheet->attributes[i];
        json_key(json, attribute->name);
        if (attribute->text) {
            json_text(json, attribute->text);
        } else {
            json_number(json, attribute->number);
        }
    }
    json_close_object(json);
    json_key(json, "fields");
    json_open_object(json);
    for (int i = 0; i < sheet->field_count; i++) {
        put_field(json, sheet, &sheet->fields[i]);
    }
    json_close_object(json);
    json_close_object(json);
}
