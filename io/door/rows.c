/* Invariant: `at` stands at the start of a line. Cells are closed in place with a zero, so that a
 * text needs no copy. */
#include "io/door/rows.h"

#include "io/door/file.h"
#include "io/door/number.h"
#include "io/door/shelf.h"

#include <float.h>
#include <math.h>
#include <stdarg.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>

enum { UNIT_SIZE = 48 };

static const size_t size_most = (size_t)1 << 30; /* bytes of a file: ten million pipes or more */

struct place rows_place(const struct rows *rows)
{
    return (struct place){rows->file, rows->line, 1};
}

static bool refuse(const struct rows *rows, const char *format, ...) PRINTF_LIKE(2, 3);

static bool refuse(const struct rows *rows, const char *format, ...)
{
    va_list arguments;
    va_start(arguments, format);
    (void)faults_add_list(rows->reader->faults, FAULT_ERROR, rows_place(rows), format, arguments);
    va_end(arguments);
    return false;
}

/* --- cells --- */

static bool is_blank(char c)
{
    return c == ' ' || c == '\t';
}

/* The cell at *at, without blanks and quotes around it, closed with a zero. *at then stands behind
 * it; *ends tells whether the line does. */
static char *take_cell(char **at, char separator, bool *ends)
{
    char *start = *at;
    while (is_blank(*start)) {
        start++;
    }
    char *end = start;
    if (*start == '"') {
        start++;
        for (end = start; *end && *end != '"' && *end != '\n'; end++) {
        }
        if (*end == '"') {
            *end++ = '\0';
        }
    }
    while (*end && *end != separator && *end != '\n' && *end != '\r') {
        end++;
    }
    char *behind = end;
    *ends = *behind != separator;
    if (*behind == '\r') {
        behind++;
    }
    behind += *behind ? 1 : 0;
    while (end > start && is_blank(end[-1])) {
        end--;
    }
    *end = '\0';
    *at = behind;
    return start;
}

/* To the next line with something in it; false: the end. */
static bool find_line(struct rows *rows)
{
    for (;;) {
        char *at = rows->at;
        while (is_blank(*at) || *at == '\r') {
            at++;
        }
        if (*at == '\0') {
            return false;
        }
        rows->line++;
        if (*at != '\n' && *at != '#') {
            return true;
        }
        at += strcspn(at, "\n");
        rows->at = at + (*at ? 1 : 0);
    }
}

/* A plain decimal number of at most 15 digits, exactly rounded because both its digits and the
 * power of ten are exact (Clinger 1990). Where it ends, or NULL: left to number_read. */
static const char *take_plain(const char *text, double *value)
{
    static const double ten[] = {1,   1e1, 1e2,  1e3,  1e4,  1e5,  1e6,  1e7,
                                 1e8, 1e9, 1e10, 1e11, 1e12, 1e13, 1e14, 1e15};
    const bool is_negative = *text == '-';
    const char *at = text + (is_negative ? 1 : 0);
    const char *first = at;
    uint64_t digits = 0;
    long behind = 0; /* digits behind the point */
    for (; *at >= '0' && *at <= '9'; at++) {
        digits = 10 * digits + (uint64_t)(*at - '0');
    }
    long count = at - first;
    if (*at == '.') {
        first = ++at;
        for (; *at >= '0' && *at <= '9'; at++) {
            digits = 10 * digits + (uint64_t)(*at - '0');
        }
        behind = at - first;
        count += behind;
    }
    if (count == 0 || count > 15) {
        return NULL;
    }
    *value = (double)digits / ten[behind];
    *value = is_negative ? -*value : *value;
    return at;
}

static bool take_number(const struct rows *rows, int column, const char *text, double *value)
{
    const struct rows_column *asked = &rows->columns[column];
    double number = (double)NAN;
    const char *end = take_plain(text, &number);
    if (!end || *end != '\0') {
        end = number_read(text, &number);
    }
    if (!end || *end != '\0') {
        return refuse(rows, "column '%s': '%.40s' is not a number", asked->name, text);
    }
    *value = rows->offset[column] + rows->factor[column] * number;
    if (!isfinite(*value) || (asked->is_positive && !(*value > 0.0))) {
        return refuse(rows, "column '%s': '%.40s' must be a number above 0", asked->name, text);
    }
    return plausible_check(rows->reader->faults, rows_place(rows), "table", asked->name, text,
                           plausible_of(asked->plausible, asked->quantity), *value);
}

static bool fill_cell(const struct rows *rows, int column, char *text, struct rows_cell *cell)
{
    const struct rows_column *asked = &rows->columns[column];
    if (*text == '\0') {
        return asked->is_optional || refuse(rows, "column '%s': this cell is empty", asked->name);
    }
    if (asked->is_text) {
        cell->text = text;
        return true;
    }
    return take_number(rows, column, text, &cell->value);
}

/* Most cells are a plain number of a usual size or a bare word, with nothing around them: such a
 * one is taken in one pass and rows->at then stands behind it. False: nothing was done. */
static bool take_quickly(struct rows *rows, int column, struct rows_cell *cell, bool *ends)
{
    char *at = rows->at;
    double value = (double)NAN;
    if (rows->columns[column].is_text) {
        if (rows->ends_cell[(unsigned char)*at] || is_blank(*at) || *at == '"') {
            return false;
        }
        while (!rows->ends_cell[(unsigned char)*at]) {
            at++;
        }
        if (is_blank(at[-1])) {
            return false;
        }
    } else {
        const char *end = take_plain(at, &value);
        value = rows->offset[column] + rows->factor[column] * value;
        if (!end || !(value >= rows->low[column] && value <= rows->high[column])) {
            return false;
        }
        at += end - at;
    }
    *ends = *at == '\n';
    if (!*ends && *at != rows->separator) {
        return false;
    }
    cell->value = value;
    if (rows->columns[column].is_text) {
        cell->text = rows->at;
        *at = '\0';
    }
    rows->at = at + 1;
    return true;
}

/* The row at rows->at; whatever is wrong with it, rows->at then stands at the next line. */
static bool read_row(struct rows *rows, struct rows_cell cell[])
{
    bool is_good = true;
    bool ends = false;
    int place = 0;
    for (int c = 0; c < rows->column_count; c++) {
        cell[c] = (struct rows_cell){.text = NULL, .value = (double)NAN};
    }
    for (; !ends; place++) {
        const int column = place < rows->place_count ? rows->asked[place] : -1;
        if (column >= 0 && is_good && take_quickly(rows, column, &cell[column], &ends)) {
            continue;
        }
        char *text = take_cell(&rows->at, rows->separator, &ends);
        if (column >= 0 && is_good) {
            is_good = fill_cell(rows, column, text, &cell[column]);
        }
    }
    if (is_good && place != rows->place_count) {
        return refuse(rows, "this line has %d cells, the first %d", place, rows->place_count);
    }
    return is_good;
}

bool rows_next(struct rows *rows, struct rows_cell cell[])
{
    while (find_line(rows)) {
        if (read_row(rows, cell)) {
            return true;
        }
        rows->is_good = false;
    }
    return false;
}

/* --- head --- */

/* Offset and factor of a column's unit, from what "0 unit" and "1 unit" are in SI. */
static bool find_unit(struct rows *rows, int column, const char *unit)
{
    char text[UNIT_SIZE + 4];
    char message[FAILURE_MESSAGE_SIZE];
    double value[2] = {0.0, 1.0};
    const struct rows_column *asked = &rows->columns[column];
    for (int i = 0; i < 2; i++) {
        struct amount amount = {.value = &value[i]};
        (void)snprintf(text, sizeof text, "%d %s", i, unit);
        if (!units_read(rows->reader->units, asked->quantity, text, 1, &amount, sizeof message,
                        message)) {
            return refuse(rows, "column '%s': its unit belongs in the head, such as '%s [%s]'; %s",
                          asked->name, asked->name, quantity_unit(asked->quantity), message);
        }
        if (amount.is_pressure) {
            return refuse(rows, "column '%s': a length is expected here, not a pressure",
                          asked->name);
        }
    }
    rows->offset[column] = value[0];
    rows->factor[column] = value[1] - value[0];
    return true;
}

/* Of a column of numbers: between which ones nothing can be wrong or doubtful. */
static void find_usual(struct rows *rows, int column)
{
    const struct rows_column *asked = &rows->columns[column];
    const struct plausible_row *usual =
        plausible_row(plausible_of(asked->plausible, asked->quantity));
    rows->low[column] = usual ? usual->low : -DBL_MAX;
    rows->high[column] = usual ? usual->high : DBL_MAX;
    if (asked->is_positive) {
        rows->low[column] = fmax(rows->low[column], DBL_MIN);
    }
}

/* "length [m]" is split in place; gives back the unit, "" for none, or NULL: no head. */
static const char *split_head(char *cell)
{
    char *open = strchr(cell, '[');
    if (!open) {
        return "";
    }
    char *close = strchr(open, ']');
    if (!close || close[1] != '\0' || close - open >= UNIT_SIZE) {
        return NULL;
    }
    *close = '\0';
    char *end = open;
    while (end > cell && is_blank(end[-1])) {
        end--;
    }
    *end = '\0';
    return open + 1;
}

static bool take_head(struct rows *rows, int place, char *cell)
{
    const char *unit = split_head(cell);
    rows->asked[place] = -1;
    if (!unit) {
        return refuse(rows, "'%.60s' is not a column's head; write it such as 'length [m]'", cell);
    }
    for (int c = 0; c < rows->column_count; c++) {
        if (strcmp(cell, rows->columns[c].name) != 0) {
            continue;
        }
        for (int i = 0; i < place; i++) {
            if (rows->asked[i] == c) {
                return refuse(rows, "column '%s' stands here twice", cell);
            }
        }
        rows->asked[place] = c;
        find_usual(rows, c);
        return rows->columns[c].is_text || find_unit(rows, c, unit);
    }
    return true; /* a column for somebody else */
}

static bool check_head(const struct rows *rows)
{
    bool is_good = true;
    for (int c = 0; c < rows->column_count; c++) {
        bool is_there = rows->columns[c].is_optional;
        for (int place = 0; place < rows->place_count; place++) {
            is_there = is_there || rows->asked[place] == c;
        }
        if (!is_there) {
            is_good = refuse(rows, "the column '%s' is missing; the first line names the columns",
                             rows->columns[c].name);
        }
    }
    return is_good;
}

static bool read_head(struct rows *rows)
{
    bool ends = false;
    if (!find_line(rows)) {
        rows->line = 1;
        return refuse(rows, "the table is empty");
    }
    const size_t length = strcspn(rows->at, "\n");
    const bool has_comma = memchr(rows->at, ',', length) != NULL;
    rows->separator = !has_comma && memchr(rows->at, ';', length) ? ';' : ',';
    rows->ends_cell['\0'] = true;
    rows->ends_cell['\n'] = true;
    rows->ends_cell['\r'] = true;
    rows->ends_cell[(unsigned char)rows->separator] = true;
    for (rows->place_count = 0; !ends; rows->place_count++) {
        if (rows->place_count == ROWS_COLUMNS_MOST) {
            return refuse(rows, "more than %d columns", ROWS_COLUMNS_MOST);
        }
        if (!take_head(rows, rows->place_count, take_cell(&rows->at, rows->separator, &ends))) {
            return false;
        }
    }
    return check_head(rows);
}

/* In blocks small enough for a counter of a byte, which compilers turn into vectors of them. */
static int count_lines(const char *text, size_t size)
{
    int count = 1;
    for (size_t done = 0; done < size; done += UCHAR_MAX) {
        const size_t left = size - done < UCHAR_MAX ? size - done : UCHAR_MAX;
        unsigned char feeds = 0;
        for (size_t i = 0; i < left; i++) {
            feeds = (unsigned char)(feeds + (text[done + i] == '\n'));
        }
        count += feeds;
    }
    return count;
}

bool rows_open(struct rows *rows, const struct reader *reader, const char *path, int column_count,
               const struct rows_column columns[])
{
    struct failure failure;
    size_t size = 0;
    *rows = (struct rows){.reader = reader,
                          .file = path,
                          .column_count = column_count,
                          .columns = columns,
                          .is_good = true};
    char *text = shelf_read(reader->shelf, path, size_most, reader->arena, &size, &failure);
    if (!text || !text_check(path, text, size, &failure)) {
        return faults_add_failure(reader->faults, &failure);
    }
    rows->count_most = count_lines(text, size);
    rows->at = text;
    if (strncmp(text, "\xEF\xBB\xBF", 3) == 0) { /* a spreadsheet's byte order mark */
        rows->at += 3;
    }
    return read_head(rows);
}
