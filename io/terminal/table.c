#include "io/terminal/table.h"

#include <math.h>
#include <string.h>

/* Cells stand in blocks of one row each, linked, because an arena cannot grow an array. */
struct row {
    struct row *next;
    const char *cells[TABLE_COLUMN_MAX];
};

struct table {
    const struct column *columns;
    struct arena *arena;
    int column_count;
    int row_count;
    int next_column;
    bool is_short; /* memory ended on the way */
    struct row *first;
    struct row *last;
};

struct table *table_new(const struct column *columns, struct arena *arena)
{
    struct table *table = arena_take(arena, 1, sizeof *table);
    if (!table) {
        return NULL;
    }
    table->columns = columns;
    table->arena = arena;
    while (table->column_count < TABLE_COLUMN_MAX && columns[table->column_count].head) {
        table->column_count++;
    }
    return table;
}

static struct row *row_for_cell(struct table *table)
{
    if (table->next_column > 0) {
        return table->last;
    }
    struct row *row = arena_take(table->arena, 1, sizeof *row);
    if (!row) {
        table->is_short = true;
        return NULL;
    }
    if (table->last) {
        table->last->next = row;
    } else {
        table->first = row;
    }
    table->last = row;
    table->row_count++;
    return row;
}

void table_text(struct table *table, const char *text)
{
    struct row *row = table ? row_for_cell(table) : NULL;
    if (!row) {
        return;
    }
    const char *copy = arena_text(table->arena, text ? text : "");
    table->is_short = table->is_short || !copy;
    row->cells[table->next_column] = copy ? copy : "";
    table->next_column = (table->next_column + 1) % table->column_count;
}

void table_number(struct table *table, double value)
{
    char text[64];
    int decimals = table ? table->columns[table->next_column].decimals : 0;
    if (isnan(value)) {
        table_text(table, "-");
        return;
    }
    double half = 0.5 * pow(10.0, -decimals);
    double shown = fabs(value) < half ? 0.0 : value; /* no "-0.00" */
    (void)snprintf(text, sizeof text, fabs(shown) < 1e15 ? "%.*f" : "%.*e",
                   decimals < 0 ? 6 : decimals, shown);
    table_text(table, text);
}

int table_rows(const struct table *table)
{
    return table ? table->row_count : 0;
}

static const char *unit_of(const struct column *column)
{
    return column->unit ? column->unit : "";
}

static void measure(const struct table *table, int widths[TABLE_COLUMN_MAX])
{
    for (int i = 0; i < table->column_count; i++) {
        const struct column *column = &table->columns[i];
        int unit = terminal_width(unit_of(column));
        widths[i] = terminal_width(column->head);
        widths[i] = unit > widths[i] ? unit : widths[i];
    }
    for (const struct row *row = table->first; row; row = row->next) {
        for (int i = 0; i < table->column_count; i++) {
            int width = row->cells[i] ? terminal_width(row->cells[i]) : 0;
            widths[i] = width > widths[i] ? width : widths[i];
        }
    }
}

/* One cell: numbers to the right, text to the left; no blanks after the last column. */
static void print_cell(FILE *out, const char *text, int width, bool is_text, bool is_last)
{
    int blanks = width - terminal_width(text);
    if (is_last && !*text) {
        return;
    }
    if (is_text) {
        (void)fprintf(out, "  %s%*s", text, is_last ? 0 : blanks, "");
    } else {
        (void)fprintf(out, "  %*s%s", blanks, "", text);
    }
}

static void print_heads(const struct table *table, const struct terminal *terminal,
                        const int widths[TABLE_COLUMN_MAX])
{
    bool has_units = false;
    terminal_tone(terminal->out, terminal->out_has_colour, TONE_STRONG);
    for (int i = 0; i < table->column_count; i++) {
        const struct column *column = &table->columns[i];
        print_cell(terminal->out, column->head, widths[i], column->decimals == TABLE_TEXT,
                   i == table->column_count - 1);
        has_units = has_units || *unit_of(column);
    }
    terminal_tone(terminal->out, terminal->out_has_colour, TONE_PLAIN);
    (void)fputc('\n', terminal->out);
    for (int i = 0; has_units && i < table->column_count; i++) {
        const struct column *column = &table->columns[i];
        print_cell(terminal->out, unit_of(column), widths[i], column->decimals == TABLE_TEXT,
                   i == table->column_count - 1);
    }
    if (has_units) {
        (void)fputc('\n', terminal->out);
    }
}

void table_print(const struct table *table, const struct terminal *terminal)
{
    int widths[TABLE_COLUMN_MAX] = {0};
    if (!table || table->row_count == 0) {
        return;
    }
    measure(table, widths);
    print_heads(table, terminal, widths);
    for (const struct row *row = table->first; row; row = row->next) {
        for (int i = 0; i < table->column_count; i++) {
            print_cell(terminal->out, row->cells[i] ? row->cells[i] : "", widths[i],
                       table->columns[i].decimals == TABLE_TEXT, i == table->column_count - 1);
        }
        (void)fputc('\n', terminal->out);
    }
    if (table->is_short) {
        (void)fputs("  (memory ended: cells are missing)\n", terminal->out);
    }
}
