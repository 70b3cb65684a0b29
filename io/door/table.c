/* Invariant of the scan: `at` stands at the start of a cell or of a line; a cell never crosses a
 * line, quoted or not. */
#include "io/door/table.h"

#include "io/door/file.h"
#include "io/door/number.h"
#include "io/door/shelf.h"
#include "io/nearest.h"

#include <math.h>
#include <string.h>

enum { CELL_SIZE = 96, UNIT_SIZE = 48, FIRST_ROWS = 64 };

struct scan {
    const struct reader *reader;
    const char *file;
    const char *at;
    int line;
    const char *line_start;
    char separator;
    int column_count;
    const struct column *columns;
    int cell_of[TABLE_COLUMNS_MOST];          /* which cell of a row holds asked column c */
    char unit[TABLE_COLUMNS_MOST][UNIT_SIZE]; /* its unit */
    struct table *table;
    int room;
};

static struct place here(const struct scan *scan, const char *at)
{
    return (struct place){scan->file, scan->line, (int)(at - scan->line_start) + 1};
}

/* One cell without blanks and quotes around it, into `cell`; scan->at then stands behind it. */
static bool take_cell(struct scan *scan, char cell[CELL_SIZE])
{
    const char *start = scan->at;
    size_t length = 0;
    bool is_quoted = false;
    while (*scan->at == ' ' || *scan->at == '\t') {
        scan->at++;
    }
    if (*scan->at == '"') {
        is_quoted = true;
        scan->at++;
    }
    while (*scan->at && *scan->at != '\n' && *scan->at != '\r' &&
           (is_quoted || *scan->at != scan->separator)) {
        if (is_quoted && *scan->at == '"') {
            if (scan->at[1] != '"') {
                is_quoted = false;
                scan->at++;
                continue;
            }
            scan->at++;
        }
        if (length + 1 >= CELL_SIZE) {
            return faults_add(scan->reader->faults, FAULT_ERROR, here(scan, start),
                              "a cell longer than %d characters", CELL_SIZE - 1);
        }
        cell[length++] = *scan->at++;
    }
    while (length > 0 && (cell[length - 1] == ' ' || cell[length - 1] == '\t')) {
        length--;
    }
    cell[length] = '\0';
    return !is_quoted || faults_add(scan->reader->faults, FAULT_ERROR, here(scan, start),
                                    "a quoted cell is not closed in its line");
}

static void end_line(struct scan *scan)
{
    while (*scan->at == '\r') {
        scan->at++;
    }
    if (*scan->at == '\n') {
        scan->at++;
        scan->line++;
    }
    scan->line_start = scan->at;
}

/* To the next line with something in it; false: the end. */
static bool find_line(struct scan *scan)
{
    for (;;) {
        const char *at = scan->at + strspn(scan->at, " \t\r");
        if (*at == '\0') {
            return false;
        }
        if (*at != '\n' && *at != '#') {
            return true;
        }
        scan->at = at + strcspn(at, "\n");
        end_line(scan);
    }
}

/* "distance [m]" into name and unit. */
static bool split_head(const char *cell, char name[CELL_SIZE], char unit[UNIT_SIZE])
{
    const char *open = strchr(cell, '[');
    const char *close = open ? strchr(open, ']') : NULL;
    size_t length = open ? (size_t)(open - cell) : strlen(cell);
    unit[0] = '\0';
    if (open) {
        if (!close || close[1] != '\0' || close - open > UNIT_SIZE) {
            return false;
        }
        memcpy(unit, open + 1, (size_t)(close - open - 1));
        unit[close - open - 1] = '\0';
    }
    while (length > 0 && cell[length - 1] == ' ') {
        length--;
    }
    memcpy(name, cell, length);
    name[length] = '\0';
    return true;
}

/* Checks the unit of a column by reading "1 unit". */
static bool check_unit(const struct scan *scan, int column, const char *at)
{
    char text[UNIT_SIZE + 4];
    char message[FAILURE_MESSAGE_SIZE];
    double value = 0;
    struct amount amount = {.value = &value};
    (void)snprintf(text, sizeof text, "1 %s", scan->unit[column]);
    if (units_read(scan->reader->units, scan->columns[column].quantity, text, 1, &amount,
                   sizeof message, message)) {
        return true;
    }
    return faults_add(scan->reader->faults, FAULT_ERROR, here(scan, at),
                      "column '%s': its unit belongs in the head, such as '%s [%s]'; %s",
                      scan->columns[column].name, scan->columns[column].name,
                      quantity_unit(scan->columns[column].quantity), message);
}

static bool take_head_cell(struct scan *scan, int cell_index, const char *at, const char *cell)
{
    char name[CELL_SIZE];
    char unit[UNIT_SIZE];
    if (!split_head(cell, name, unit)) {
        return faults_add(scan->reader->faults, FAULT_ERROR, here(scan, at),
                          "'%.60s' is not a column's head; write it such as 'distance [m]'", cell);
    }
    for (int c = 0; c < scan->column_count; c++) {
        if (strcmp(name, scan->columns[c].name) != 0) {
            continue;
        }
        if (scan->cell_of[c] >= 0) {
            return faults_add(scan->reader->faults, FAULT_ERROR, here(scan, at),
                              "column '%s' stands here twice", name);
        }
        scan->cell_of[c] = cell_index;
        memcpy(scan->unit[c], unit, UNIT_SIZE);
        return check_unit(scan, c, at);
    }
    return true; /* a column for somebody else */
}

static bool check_head(const struct scan *scan, struct place place)
{
    for (int c = 0; c < scan->column_count; c++) {
        if (scan->cell_of[c] < 0 && !scan->columns[c].is_optional) {
            return faults_add(scan->reader->faults, FAULT_ERROR, place,
                              "the column '%s [%s]' is missing; the first line names the columns",
                              scan->columns[c].name, quantity_unit(scan->columns[c].quantity));
        }
    }
    return true;
}

static bool read_head(struct scan *scan)
{
    char cell[CELL_SIZE];
    const struct place place = {scan->file, scan->line, 1};
    const size_t length = strcspn(scan->at, "\n");
    const char *comma = memchr(scan->at, ',', length);
    scan->separator = !comma && memchr(scan->at, ';', length) ? ';' : ',';
    for (int c = 0; c < scan->column_count; c++) {
        scan->cell_of[c] = -1;
    }
    for (int index = 0;; index++) {
        const char *start = scan->at;
        if (index >= TABLE_COLUMNS_MOST) {
            return faults_add(scan->reader->faults, FAULT_ERROR, here(scan, start),
                              "more than %d columns", TABLE_COLUMNS_MOST);
        }
        if (!take_cell(scan, cell) || !take_head_cell(scan, index, start, cell)) {
            return false;
        }
        if (*scan->at != scan->separator) {
            break;
        }
        scan->at++;
    }
    end_line(scan);
    return check_head(scan, place);
}

static bool grow(struct scan *scan)
{
    struct table *table = scan->table;
    const size_t width = (size_t)scan->column_count;
    const int room = scan->room ? 2 * scan->room : FIRST_ROWS;
    double *values = arena_take(scan->reader->arena, (size_t)room * width, sizeof *values);
    int *lines = arena_take(scan->reader->arena, (size_t)room, sizeof *lines);
    if (!values || !lines) {
        return faults_add_memory(scan->reader->faults, "a table");
    }
    if (table->row_count > 0) {
        memcpy(values, table->values, (size_t)table->row_count * width * sizeof *values);
        memcpy(lines, table->lines, (size_t)table->row_count * sizeof *lines);
    }
    table->values = values;
    table->lines = lines;
    scan->room = room;
    return true;
}

static bool take_value(struct scan *scan, int column, const char *at, const char *cell,
                       double *value)
{
    char text[CELL_SIZE + UNIT_SIZE + 2];
    char message[FAILURE_MESSAGE_SIZE];
    struct amount amount = {.value = value};
    const char *end = number_read(cell, value);
    if (!end || *end != '\0') {
        return faults_add(scan->reader->faults, FAULT_ERROR, here(scan, at),
                          "column '%s': '%.40s' is not a number", scan->columns[column].name, cell);
    }
    (void)snprintf(text, sizeof text, "%s %s", cell, scan->unit[column]);
    if (!units_read(scan->reader->units, scan->columns[column].quantity, text, 1, &amount,
                    sizeof message, message)) {
        return faults_add(scan->reader->faults, FAULT_ERROR, here(scan, at), "column '%s': %s",
                          scan->columns[column].name, message);
    }
    const struct column *asked = &scan->columns[column];
    return plausible_check(scan->reader->faults, here(scan, at), "table", asked->name, cell,
                           plausible_of(asked->plausible, asked->quantity), *value);
}

/* False: something in this row is wrong (told). scan->at stands at the next line either way. */
static bool read_row(struct scan *scan, double row[])
{
    char cell[CELL_SIZE];
    int found = 0;
    bool is_good = true;
    const struct place place = here(scan, scan->at);
    for (int index = 0; is_good; index++) {
        const char *start = scan->at;
        is_good = take_cell(scan, cell);
        for (int c = 0; is_good && c < scan->column_count; c++) {
            if (index == 0 && scan->cell_of[c] < 0) {
                row[c] = (double)NAN;
                found++;
            }
            if (scan->cell_of[c] == index) {
                is_good = take_value(scan, c, start, cell, &row[c]);
                found++;
            }
        }
        if (*scan->at != scan->separator) {
            break;
        }
        scan->at++;
    }
    scan->at += strcspn(scan->at, "\n");
    end_line(scan);
    if (is_good && found < scan->column_count) {
        return faults_add(scan->reader->faults, FAULT_ERROR, place,
                          "this line has fewer cells than the first");
    }
    return is_good;
}

static bool read_rows(struct scan *scan)
{
    struct table *table = scan->table;
    bool is_good = true;
    while (find_line(scan)) {
        if (table->row_count >= TABLE_ROWS_MOST) {
            return faults_add(scan->reader->faults, FAULT_ERROR, here(scan, scan->at),
                              "more than %d rows", TABLE_ROWS_MOST);
        }
        if (table->row_count == scan->room && !grow(scan)) {
            return false;
        }
        table->lines[table->row_count] = scan->line;
        double *row = table->values + (size_t)table->row_count * (size_t)scan->column_count;
        if (read_row(scan, row)) {
            table->row_count++;
        } else {
            is_good = false;
        }
    }
    return is_good;
}

bool table_read_text(const struct reader *reader, const char *file, const char *text, size_t size,
                     int column_count, const struct column columns[], struct table *table)
{
    struct failure failure;
    struct scan scan = {.reader = reader,
                        .file = file,
                        .at = text,
                        .line = 1,
                        .line_start = text,
                        .column_count = column_count,
                        .columns = columns,
                        .table = table};
    *table = (struct table){0};
    if (!text_check(file, text, size, &failure)) {
        return faults_add_failure(reader->faults, &failure);
    }
    if (strncmp(text, "\xEF\xBB\xBF", 3) == 0) { /* a spreadsheet's byte order mark */
        scan.at += 3;
        scan.line_start += 3;
    }
    if (!find_line(&scan)) {
        return faults_add(reader->faults, FAULT_ERROR, (struct place){file, 1, 1},
                          "the table is empty");
    }
    if (!read_head(&scan)) {
        return false;
    }
    return read_rows(&scan);
}

bool table_read(const struct reader *reader, const char *path, int column_count,
                const struct column columns[], struct table *table)
{
    struct failure failure;
    size_t size = 0;
    const char *text =
        shelf_read(reader->shelf, path, TABLE_SIZE_MOST, reader->arena, &size, &failure);
    if (!text) {
        return faults_add_failure(reader->faults, &failure);
    }
    return table_read_text(reader, path, text, size, column_count, columns, table);
}

/* A part of a path between slashes that climbs: "..". */
static bool has_climb(const char *file)
{
    for (const char *at = file; *at;) {
        const size_t length = strcspn(at, "/");
        if (length == 2 && at[0] == '.' && at[1] == '.') {
            return true;
        }
        at += length + (at[length] == '/' ? 1 : 0);
    }
    return false;
}

const char *table_path(const struct reader *reader, const char *case_path, const char *file,
                       struct place place)
{
    const char *slash = strrchr(case_path, '/');
    const size_t folder = slash ? (size_t)(slash - case_path) + 1 : 0;
    struct failure failure = {0};
    if (file[0] == '\0' || file[0] == '/' || has_climb(file)) {
        (void)faults_add(reader->faults, FAULT_ERROR, place,
                         "'%.80s': tables lie in the case's folder or below; name it from there",
                         file);
        return NULL;
    }
    char *path = arena_take(reader->arena, folder + strlen(file) + 1, 1);
    if (!path) {
        (void)faults_add_memory(reader->faults, "a path");
        return NULL;
    }
    memcpy(path, case_path, folder);
    memcpy(path + folder, file, strlen(file) + 1);
    if (!file_try(path, &failure)) {
        (void)faults_add(reader->faults, FAULT_ERROR, place,
                         "'%.80s' %s; tables are looked for from the case's folder", file,
                         failure.message);
        return NULL;
    }
    return path;
}
