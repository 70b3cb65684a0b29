#include "io/command/list.h"
#include "io/command/page.h"
#include "io/nearest.h"
#include "io/results/columns.h"
#include "io/results/json.h"
#include "io/results/octave.h"
#include "io/results/reader.h"
#include "io/terminal/prose.h"
#include "io/terminal/table.h"

#include <string.h>

static const struct option options[] = {
    {"format", 'f', "FORM", "columns csv octave",
     "columns (blanks between, the default), csv, or octave (for Octave's own 'load')"},
    {NULL, 0, NULL, NULL, NULL},
};

struct show {
    const struct request *request;
    const struct page *page;
    const struct reader *reader;
    struct arena *arena;
};

static enum exit_code tell(const struct show *show, const struct failure *failure)
{
    complain_failure(show->request->terminal, failure);
    return exit_code_of(failure);
}

static void put_shape(const struct sheet *sheet, const struct field *field, size_t size,
                      char shape[])
{
    size_t at = 0;
    shape[0] = '\0';
    for (int i = 0; i < field->rank && at < size; i++) {
        const struct dimension *dimension = &sheet->dimensions[field->dimension[i]];
        int written = snprintf(shape + at, size - at, "%s%s %zu", i > 0 ? ", " : "",
                               dimension->name, dimension->count);
        at += written > 0 ? (size_t)written : 0;
    }
}

static void list_sheet(const struct sheet *sheet, struct table *table)
{
    char shape[256];
    char path[512];
    for (int i = 0; i < sheet->field_count; i++) {
        const struct field *field = &sheet->fields[i];
        (void)snprintf(path, sizeof path, "%s/%s", strcmp(sheet->path, "/") == 0 ? "" : sheet->path,
                       field->name);
        put_shape(sheet, field, sizeof shape, shape);
        table_text(table, path);
        table_text(table, shape);
        table_text(table, field->units);
        table_text(table, field->long_name);
    }
}

static void list_attributes(const struct sheet *sheet, const struct terminal *terminal)
{
    for (int i = 0; i < sheet->attribute_count; i++) {
        const struct attribute *attribute = &sheet->attributes[i];
        struct prose prose;
        prose_answers(&prose, terminal);
        prose.extra = 4;
        prose_add(&prose, "  %s%s%s: ", strcmp(sheet->path, "/") == 0 ? "" : sheet->path,
                  strcmp(sheet->path, "/") == 0 ? "" : " ", attribute->name);
        if (attribute->text) {
            prose_text(&prose, attribute->text);
            prose_add(&prose, "\n");
        } else {
            prose_add(&prose, "%.10g\n", attribute->number);
        }
    }
}

/* What there is in the whole file. */
static enum exit_code list_all(const struct show *show)
{
    static const struct column columns[] = {{"path", "", TABLE_TEXT},
                                            {"along", "", TABLE_TEXT},
                                            {"unit", "", TABLE_TEXT},
                                            {"what it is", "", TABLE_TEXT},
                                            {NULL, NULL, 0}};
    struct failure failure = {0};
    struct sheet sheet;
    int count = 0;
    int left_out = 0;
    struct table *table = table_new(columns, show->arena);
    const char *const *groups = reader_groups(show->reader, &count, show->arena, &failure);
    if (!groups) {
        return tell(show, &failure);
    }
    for (int i = 0; i < count; i++) {
        if (!reader_sheet(show->reader, groups[i], &sheet, &left_out, show->arena, &failure)) {
            return tell(show, &failure);
        }
        list_attributes(&sheet, &show->page->terminal);
        list_sheet(&sheet, table);
    }
    (void)fputc('\n', show->page->terminal.out);
    table_print(table, &show->page->terminal);
    if (left_out > 0) {
        (void)fprintf(show->page->terminal.out, "  and %d of a shape not shown here\n", left_out);
    }
    return EXIT_CODE_DONE;
}

/* Splits a dataset's path into its group and its name. */
static const char *split(char *path)
{
    char *slash = strrchr(path, '/');
    if (slash == path) {
        return path + 1;
    }
    *slash = '\0';
    return slash + 1;
}

static void write_field(const struct show *show, const struct sheet *sheet,
                        const struct field *field)
{
    const char *form = request_value(show->request, "format", "columns");
    FILE *out = show->page->terminal.out;
    if (field->rank == 0 && field->kind == FIELD_TEXT && strcmp(form, "octave") != 0) {
        (void)fputs(field->texts[0], out); /* the case as it was read */
        return;
    }
    if (strcmp(form, "octave") == 0) {
        octave_field(sheet, field, out);
    } else {
        columns_field(sheet, field, strcmp(form, "csv") == 0 ? COLUMNS_COMMA : COLUMNS_BLANK, out);
    }
}

static enum exit_code show_sheet(const struct show *show, const struct sheet *sheet,
                                 const struct field *field)
{
    const char *form = request_value(show->request, "format", "columns");
    if (request_has(show->request, "json")) {
        struct json json;
        struct sheet one = *sheet;
        if (field) {
            one.fields[0] = *field;
            one.field_count = 1;
            one.attribute_count = 0;
        }
        json_start(&json, show->page->terminal.out);
        json_sheet(&json, &one);
    } else if (field) {
        write_field(show, sheet, field);
    } else if (strcmp(form, "octave") == 0) {
        octave_sheet(sheet, show->page->terminal.out);
    } else {
        columns_sheet(sheet, strcmp(form, "csv") == 0 ? COLUMNS_COMMA : COLUMNS_BLANK,
                      show->page->terminal.out);
    }
    return EXIT_CODE_DONE;
}

static enum exit_code refuse_path(const struct show *show, const char *path)
{
    struct failure failure = {0};
    struct sheet sheet;
    struct nearest nearest;
    int count = 0;
    const char *const *groups = reader_groups(show->reader, &count, show->arena, &failure);
    nearest_start(&nearest, path);
    for (int i = 0; groups && i < count; i++) {
        nearest_offer(&nearest, groups[i]);
        if (!reader_sheet(show->reader, groups[i], &sheet, NULL, show->arena, &failure)) {
            break;
        }
        for (int k = 0; k < sheet.field_count; k++) {
            char full[512];
            (void)snprintf(full, sizeof full, "%s/%s", i == 0 ? "" : groups[i],
                           sheet.fields[k].name);
            const char *copy = arena_text(show->arena, full);
            nearest_offer(&nearest, copy ? copy : "");
        }
    }
    complain(show->request->terminal, "there is no '%s' in %s%s", path, show->request->operands[0],
             nearest_hint(&(struct hint){{0}}, nearest.found,
                          "; 'downsurge show' with the file alone lists what it holds"));
    return EXIT_CODE_INPUT;
}

static enum exit_code show_path(const struct show *show, const char *asked)
{
    struct failure failure = {0};
    struct sheet sheet;
    char path[512];
    size_t length = strlen(asked);
    (void)snprintf(path, sizeof path, "%s%s", asked[0] == '/' ? "" : "/", asked);
    if (length > 1 && path[strlen(path) - 1] == '/') {
        path[strlen(path) - 1] = '\0';
    }
    enum reader_kind kind = reader_kind_at(show->reader, path);
    if (kind == READER_NOTHING) {
        return refuse_path(show, path);
    }
    const char *name = kind == READER_DATASET ? split(path) : NULL;
    const char *group = name == path + 1 ? "/" : path;
    if (!reader_sheet(show->reader, group, &sheet, NULL, show->arena, &failure)) {
        return tell(show, &failure);
    }
    const struct field *field = name ? sheet_find(&sheet, name) : NULL;
    if (name && !field) {
        complain(show->request->terminal, "'%s' has a shape that cannot be shown as columns",
                 asked);
        return EXIT_CODE_INPUT;
    }
    return show_sheet(show, &sheet, field);
}

static enum exit_code json_all(const struct show *show)
{
    struct failure failure = {0};
    struct sheet sheet;
    struct json json;
    int count = 0;
    const char *const *groups = reader_groups(show->reader, &count, show->arena, &failure);
    if (!groups) {
        return tell(show, &failure);
    }
    json_start(&json, show->page->terminal.out);
    json_open_object(&json);
    for (int i = 0; i < count; i++) {
        if (!reader_sheet(show->reader, groups[i], &sheet, NULL, show->arena, &failure)) {
            return tell(show, &failure);
        }
        json_key(&json, groups[i]);
        json_sheet(&json, &sheet);
    }
    json_close_object(&json);
    return EXIT_CODE_DONE;
}

static enum exit_code show_file(const struct show *show)
{
    if (show->request->operand_count > 1 && strcmp(show->request->operands[1], "/") != 0) {
        return show_path(show, show->request->operands[1]);
    }
    return request_has(show->request, "json") ? json_all(show) : list_all(show);
}

static enum exit_code run(const struct request *request)
{
    struct failure failure = {0};
    struct page page;
    struct reader *reader = reader_open(request->operands[0], &failure);
    struct arena *arena = arena_new();
    enum exit_code code = EXIT_CODE_NO_SOLUTION;
    if (!reader) {
        complain_failure(request->terminal, &failure);
        code = exit_code_of(&failure);
    } else if (!arena) {
        complain(request->terminal, "memory ended while making room for the results");
    } else if (!page_open(&page, request, request_value(request, "output", NULL), NULL)) {
        code = EXIT_CODE_FILE;
    } else {
        const struct show show = {request, &page, reader, arena};
        code = page_close(&page, show_file(&show));
    }
    arena_free(arena);
    reader_close(reader);
    return code;
}

const struct command command_show = {
    .name = "show",
    .operands = "RESULTS [PATH]",
    .summary = "Results as text, for gnuplot, a spreadsheet or Octave",
    .details =
        "Without PATH: what the file holds. PATH is a group or a variable of it. CSV is that of\n"
        "RFC 4180: commas, CR LF, a quote inside a text doubled; what has no value is empty, and\n"
        "a name that a spreadsheet would take for a formula (= + - @) has an apostrophe before "
        "it.\n"
        "A group gives a table for each of its dimensions, with empty lines between; for Octave,\n"
        "which cannot read texts from HDF5, a variable for each of its datasets and attributes.",
    .example = "  downsurge show site.h5\n  downsurge show site.h5 /surge/runs/main > main.txt\n"
               "  downsurge show site.h5 /steady/head --format csv --output heads.csv\n"
               "  downsurge show site.h5 /surge --format octave --output surge.txt",
    .options = options,
    .reads_results = true,
    .run = run,
};
