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

void read_point_table(struct draft *draft, const struct tables *tables)
{
    struct rows rows;
    struct rows_cell cell[POINT_COLUMNS];
    if (!tables->points ||
        !open_table(draft, tables->points, tables->points_place, POINT_COLUMNS, point_columns,
                    &rows) ||
        !draft_reserve(draft, rows.count_most, 0)) {
        return;
    }
    while (rows_next(&rows, cell)) {
        const struct point point = {
            .name = cell[POINT_NAME].text,
            .place = rows_place(&rows),
            .elevation = cell[POINT_ELEVATION].value,
            .draw = isfinite(cell[POINT_DRAW].value) ? cell[POINT_DRAW].value : 0.0,
            .tank = NETWORK_NONE};
        if (draft_check_name(draft, "point", point.name, point.place)) {
            (void)draft_add_point(draft, &point); /* a fault is told there */
        }
    }
}

/* Index of the point a cell names, or NETWORK_NONE (told). */
static int find_end(struct draft *draft, const struct rows *rows, const char *name)
{
    const int point = names_find(&draft->points, name);
    if (point < 0) {
        (void)draft_error(draft, rows_place(rows),
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

static bool fill_pipe(struct draft *draft, const struct rows *rows, const struct rows_cell cell[],
                      struct link *link, struct pipe *pipe)
{
    *pipe = (struct pipe){.friction = {.length = cell[PIPE_LENGTH].value,
                                       .bore = cell[PIPE_BORE].value,
                                       .roughness = cell[PIPE_ROUGHNESS].value}};
    *link = (struct link){.name = cell[PIPE_NAME].text,
                          .place = rows_place(rows),
                          .from = find_end(draft, rows, cell[PIPE_FROM].text),
                          .to = find_end(draft, rows, cell[PIPE_TO].text),
                          .run = NETWORK_NONE,
                          .area = pipe_area(pipe),
                          .element = &pipe_element,
                          .data = pipe};
    return link->from != NETWORK_NONE && link->to != NETWORK_NONE &&
           draft_check_name(draft, "pipe", link->name, link->place);
}

void read_pipe_table(struct draft *draft, const struct tables *tables)
{
    struct rows rows;
    struct rows_cell cell[PIPE_COLUMNS];
    if (!tables->pipes ||
        !open_table(draft, tables->pipes, tables->pipes_place, PIPE_COLUMNS, pipe_columns, &rows) ||
        !draft_reserve(draft, 0, rows.count_most)) {
        return;
    }
    struct pipe *pipes = draft_take(draft, (size_t)rows.count_most, sizeof *pipes);
    for (int i = 0; pipes && rows_next(&rows, cell); i++) {
        struct link link = {0};
        if (fill_pipe(draft, &rows, cell, &link, &pipes[i])) {
            set_elevations(draft->network, &link, &pipes[i]);
            (void)draft_add_link(draft, &link); /* a fault is told there */
        }
    }
}
