#include "io/terminal/table.h"

#include "io/terminal/prose.h"

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

/* Columns of one piece of a table: those that every piece begins with, then `first` to `end` - 1.
 */
struct piece {
    const int *widths; /* [column_count] */
    int lead;
    int first;
    int end;
};

/* The piece's column after `column`; -1: the first one. */
static int next_column(const struct piece *piece, int column)
{
    int next = column + 1;
    return next >= piece->lead && next < piece->first ? piece->first : next;
}

/* A text in the last column goes on below itself where the terminal has no room for it. */
static void print_last(const struct terminal *terminal, const char *text, int at)
{
    static const int least_room = 16;
    struct prose prose;
    if (terminal->width < at + least_room) {
        (void)fputs(text, terminal->out);
        return;
    }
    prose_plain(&prose, terminal->out);
    prose.limit = terminal->width;
    prose.at = prose.hang = at;
    prose.is_next = true;
    prose_text(&prose, text);
    prose_end(&prose);
}

static void print_line(const struct table *table, const struct piece *piece,
                       const struct terminal *terminal,
                       const char *(*text)(const void *line, int column), const void *line)
{
    int at = 0;
    for (int i = next_column(piece, -1); i < piece->end; i = next_column(piece, i)) {
        const bool is_text = table->columns[i].decimals == TABLE_TEXT;
        const char *cell = text(line, i);
        if (is_text && i == piece->end - 1 && terminal->width > 0 && *cell) {
            (void)fputs("  ", terminal->out);
            print_last(terminal, cell, at + 2);
        } else {
            print_cell(terminal->out, cell, piece->widths[i], is_text, i == piece->end - 1);
        }
        at += 2 + piece->widths[i];
    }
}

static const char *head_text(const void *line, int column)
{
    const struct column *columns = line;
    return columns[column].head;
}

static const char *unit_text(const void *line, int column)
{
    const struct column *columns = line;
    return unit_of(&columns[column]);
}

static const char *row_text(const void *line, int column)
{
    const struct row *row = line;
    return row->cells[column] ? row->cells[column] : "";
}

static void print_heads(const struct table *table, const struct piece *piece,
                        const struct terminal *terminal)
{
    bool has_units = false;
    for (int i = next_column(piece, -1); i < piece->end; i = next_column(piece, i)) {
        has_units = has_units || *unit_of(&table->columns[i]);
    }
    terminal_tone(terminal->out, terminal->out_has_colour, TONE_STRONG);
    print_line(table, piece, terminal, head_text, table->columns);
    terminal_tone(terminal->out, terminal->out_has_colour, TONE_PLAIN);
    (void)fputc('\n', terminal->out);
    if (has_units) {
        print_line(table, piece, terminal, unit_text, table->columns);
        (void)fputc('\n', terminal->out);
    }
}

/* How many columns from `column` on stand together: an error band beside its value. */
static int together(const struct table *table, int column)
{
    int end = column + 1;
    while (end < table->column_count && strcmp(table->columns[end].head, "+-") == 0) {
        end++;
    }
    return end - column;
}

/* What a column needs beside others: the last one, if of text, goes on below itself. */
static int least_width(const struct table *table, const struct piece *piece, int column)
{
    static const int foldable = 24;
    const int width = piece->widths[column];
    const bool is_last_text =
        column == table->column_count - 1 && table->columns[column].decimals == TABLE_TEXT;
    return is_last_text && width > foldable ? foldable : width;
}

/* Puts as many columns into the piece as fit, at least one. */
static void fill_piece(const struct table *table, struct piece *piece, int width)
{
    int used = 0;
    for (int i = 0; i < piece->lead; i++) {
        used += 2 + piece->widths[i];
    }
    piece->end = piece->first;
    while (piece->end < table->column_count) {
        int end = piece->end + together(table, piece->end);
        for (int i = piece->end; i < end; i++) {
            used += 2 + least_width(table, piece, i);
        }
        if (width > 0 && used > width && piece->end > piece->first) {
            break;
        }
        piece->end = end;
    }
}

void table_print(const struct table *table, const struct terminal *terminal)
{
    int widths[TABLE_COLUMN_MAX] = {0};
    struct piece piece = {.widths = widths};
    if (!table || table->row_count == 0) {
        return;
    }
    measure(table, widths);
    while (piece.lead < table->column_count && table->columns[piece.lead].decimals != TABLE_TEXT) {
        piece.lead++;
    }
    piece.lead = piece.lead < table->column_count ? piece.lead + 1 : 0;
    for (piece.first = piece.lead; piece.first == piece.lead || piece.first < table->column_count;
         piece.first = piece.end) {
        fill_piece(table, &piece, terminal->width);
        if (piece.first > piece.lead) {
            (void)fputc('\n', terminal->out);
        }
        print_heads(table, &piece, terminal);
        for (const struct row *row = table->first; row; row = row->next) {
            print_line(table, &piece, terminal, row_text, row);
            (void)fputc('\n', terminal->out);
        }
        if (piece.end >= table->column_count) {
            break;
        }
    }
    if (table->is_short) {
        (void)fputs("  (memory ended: cells are missing)\n", terminal->out);
    }
}
