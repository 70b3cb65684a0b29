#include "io/door/read_tables.h"

#include "io/door/rows.h"
#include "io/door/table.h"
#include "models/pipe.h"

#include <math.h>

#define FIELD(name) offsetof(struct tables, name)
static const struct key tables_keys[] = {
    {.name = "points",
     .kind = KEY_TEXT,
     .offset = FIELD(points),
     .help = "CSV with the columns 'name', 'elevation [m]' and, if wanted, 'draw [L/s]'"},
    {.name = "pipes",
     .kind = KEY_TEXT,
     .offset = FIELD(pipes),
     .is_required = true,
     .help = "CSV with the columns 'name', 'from', 'to', 'length [m]', 'bore [mm]' and "
             "'roughness [mm]'"},
};
#undef FIELD

const struct section tables_section = {"tables",
                                       "points and pipes of a large network, from CSV files",
                                       sizeof tables_keys / sizeof *tables_keys, tables_keys};

enum { POINT_NAME, POINT_ELEVATION, POINT_DRAW, POINT_COLUMNS };

static const struct rows_column point_columns[POINT_COLUMNS] = {
    [POINT_NAME] = {.name = "name", .is_text = true},
    [POINT_ELEVATION] = {.name = "elevation", .quantity = QUANTITY_LENGTH},
    [POINT_DRAW] = {.name = "draw", .quantity = QUANTITY_FLOW, .is_optional = true},
};

enum { PIPE_NAME, PIPE_FROM, PIPE_TO, PIPE_LENGTH, PIPE_BORE, PIPE_ROUGHNESS, PIPE_COLUMNS };

static const struct rows_column pipe_columns[PIPE_COLUMNS] = {
    [PIPE_NAME] = {.name = "name", .is_text = true},
    [PIPE_FROM] = {.name = "from", .is_text = true},
    [PIPE_TO] = {.name = "to", .is_text = true},
    [PIPE_LENGTH] = {.name = "length",
                     .quantity = QUANTITY_LENGTH,
                     .is_positive = true,
                     .plausible = PLAUSIBLE_PIPE_LENGTH},
    [PIPE_BORE] = {.name = "bore",
                   .quantity = QUANTITY_LENGTH,
                   .is_positive = true,
                   .plausible = PLAUSIBLE_BORE},
    [PIPE_ROUGHNESS] = {.name = "roughness",
                        .quantity = QUANTITY_LENGTH,
                        .plausible = PLAUSIBLE_ROUGHNESS},
};

bool read_tables(struct draft *draft, const struct tree *node, struct tables *tables)
{
    const struct target targets[] = {{&tables_section, tables}};
    *tables = (struct tables){0};
    if (!node) {
        return true;
    }
    const bool is_good = keys_read(&draft->reader, node, "tables", 1, targets);
    const struct tree *points = tree_find(node, "points");
    const struct tree *pipes = tree_find(node, "pipes");
    tables->points_place = points ? points->place : node->place;
    tables->pipes_place = pipes ? pipes->place : node->place;
    return is_good;
}

/* Opens the table named in the case; false: told. */
static bool open_table(struct draft *draft, const char *file, struct place place, int column_count,
                       const struct rows_column columns[], struct rows *rows)
{
    const char *path = table_path(&draft->reader, draft->site->path, file, place);
    return path && rows_open(rows, &draft->reader, path, column_count, columns);
}

/* Rows read before anything is made of them, so that the memory in which their names are looked for
 * comes for all of them at once. After an error one at a time: of too many faults only those found
 * first are kept. */
enum { ROWS_AHEAD = 16 };

static int rows_ahead(const struct draft *draft)
{
    return faults_count(draft->reader.faults, FAULT_ERROR) == 0 ? ROWS_AHEAD : 1;
}

struct point_row {
    struct rows_cell cell[POINT_COLUMNS];
    struct place place;
    struct name_key key;
};

static int read_point_rows(const struct draft *draft, struct rows *rows, struct point_row row[])
{
    const int room = rows_ahead(draft);
    int count = 0;
    while (count < room && rows_next(rows, row[count].cell)) {
        row[count].place = rows_place(rows);
        row[count].key = names_key(row[count].cell[POINT_NAME].text);
        names_call(&draft->points, row[count].key);
        count++;
    }
    return count;
}

static void add_point_row(struct draft *draft, const struct point_row *row)
{
    const double draw = row->cell[POINT_DRAW].value;
    const struct point point = {.name = row->cell[POINT_NAME].text,
                                .place = row->place,
                                .elevation = row->cell[POINT_ELEVATION].value,
                                .draw = isfinite(draw) ? draw : 0.0,
                                .tank = NETWORK_NONE};
    if (draft_check_name(draft, "point", point.name, point.place)) {
        (void)draft_add_point_by(draft, &point, row->key); /* a fault is told there */
    }
}

void read_point_table(struct draft *draft, const struct tables *tables)
{
    struct rows rows;
    struct point_row row[ROWS_AHEAD];
    if (!tables->points ||
        !open_table(draft, tables->points, tables->points_place, POINT_COLUMNS, point_columns,
                    &rows) ||
        !draft_reserve(draft, rows.count_most, 0)) {
        return;
    }
    for (int count = read_point_rows(draft, &rows, row); count > 0;
         count = read_point_rows(draft, &rows, row)) {
        for (int i = 0; i < count; i++) {
            add_point_row(draft, &row[i]);
        }
    }
}

struct pipe_row {
    struct rows_cell cell[PIPE_COLUMNS];
    struct place place;
    struct name_key key, from, to;
};

static int read_pipe_rows(const struct draft *draft, struct rows *rows, struct pipe_row row[])
{
    const int room = rows_ahead(draft);
    int count = 0;
    while (count < room && rows_next(rows, row[count].cell)) {
        struct pipe_row *next = &row[count++];
        next->place = rows_place(rows);
        next->key = names_key(next->cell[PIPE_NAME].text);
        next->from = names_key(next->cell[PIPE_FROM].text);
        next->to = names_key(next->cell[PIPE_TO].text);
        names_call(&draft->links, next->key);
        names_call(&draft->points, next->from);
        names_call(&draft->points, next->to);
    }
    return count;
}

/* Index of the point a cell names, or NETWORK_NONE (told). */
static int find_end(struct draft *draft, struct place place, const char *name, struct name_key key)
{
    const int point = names_find_by(&draft->points, name, key);
    if (point < 0) {
        (void)draft_error(draft, place,
                          "no point or tank is called '%.60s'; points come from the case or its "
                          "table of points",
                          name);
        return NETWORK_NONE;
    }
    return point;
}

/* A tank's mouth is not said here: the pipe lies level there. */
static void set_elevations(const struct network *network, const struct link *link,
                           struct pipe *pipe)
{
    const struct point *from = &network->points[link->from];
    const struct point *to = &network->points[link->to];
    pipe->vertical_from = from->is_held ? to->elevation : from->elevation;
    pipe->vertical_to = to->is_held ? from->elevation : to->elevation;
}

/* False: told. */
static bool fill_pipe(struct draft *draft, const struct pipe_row *row, struct link *link,
                      struct pipe *pipe)
{
    const struct rows_cell *cell = row->cell;
    *pipe = (struct pipe){.friction = {.length = cell[PIPE_LENGTH].value,
                                       .bore = cell[PIPE_BORE].value,
                                       .roughness = cell[PIPE_ROUGHNESS].value}};
    *link = (struct link){.name = cell[PIPE_NAME].text,
                          .place = row->place,
                          .from = find_end(draft, row->place, cell[PIPE_FROM].text, row->from),
                          .to = find_end(draft, row->place, cell[PIPE_TO].text, row->to),
                          .run = NETWORK_NONE,
                          .area = pipe_area(pipe),
                          .element = &pipe_element,
                          .data = pipe};
    return link->from != NETWORK_NONE && link->to != NETWORK_NONE &&
           draft_check_name(draft, "pipe", link->name, link->place);
}

static void add_pipe_row(struct draft *draft, const struct pipe_row *row, struct pipe *pipe)
{
    struct link link = {0};
    if (fill_pipe(draft, row, &link, pipe)) {
        set_elevations(draft->network, &link, pipe);
        (void)draft_add_link_by(draft, &link, row->key); /* a fault is told there */
    }
}

void read_pipe_table(struct draft *draft, const struct tables *tables)
{
    struct rows rows;
    struct pipe_row row[ROWS_AHEAD];
    if (!tables->pipes ||
        !open_table(draft, tables->pipes, tables->pipes_place, PIPE_COLUMNS, pipe_columns, &rows) ||
        !draft_reserve(draft, 0, rows.count_most)) {
        return;
    }
    struct pipe *pipe = draft_take(draft, (size_t)rows.count_most, sizeof *pipe);
    for (int count = pipe ? read_pipe_rows(draft, &rows, row) : 0; count > 0;
         count = read_pipe_rows(draft, &rows, row)) {
        for (int i = 0; i < count; i++) {
            add_pipe_row(draft, &row[i], pipe++);
        }
    }
}
