/* ABS in inch sizes, MS 1419-1, same outside diameters as BS 5391; classes 9, 12 and 15 bar at
 * 20 degC, here called C, D and E as for PVC-U. Mean outside diameter and mean wall, mm, of a
 * maker's table (read); bore = outside - 2 walls, as rounded in the table (computed). */
#include "models/catalogue/pipe_table.h"

#define BAR_c 9
#define BAR_d 12
#define BAR_e 15
#define CLASS(size, letter, outside, wall, bore)                                                   \
    {                                                                                              \
        "abs " size "in class " #letter, "abs", (outside)*1e-3, (wall)*1e-3, (bore)*1e-3,          \
            BAR_##letter * 1e5, "MS 1419-1, a maker's table (read)"                                \
    }

static const struct pipe_size rows[] = {
    /* size, class, outside, wall, bore mm */
    CLASS("1", c, 33.55, 2.1, 29.3),      CLASS("1-1/4", c, 42.25, 2.6, 37.0),
    CLASS("1-1/2", c, 48.25, 2.95, 42.4), CLASS("2", c, 60.35, 3.7, 53.0),
    CLASS("3", c, 88.9, 5.35, 78.2),      CLASS("4", c, 114.3, 6.9, 100.5),
    CLASS("6", c, 168.25, 10.1, 148.1),   CLASS("3/4", d, 26.75, 2.2, 22.4),
    CLASS("1", d, 33.55, 2.7, 28.1),      CLASS("1-1/4", d, 42.25, 3.4, 35.5),
    CLASS("1-1/2", d, 48.25, 3.85, 40.5), CLASS("2", d, 60.35, 4.8, 50.8),
    CLASS("3", d, 88.9, 7.05, 74.8),      CLASS("4", d, 114.3, 9, 96.3),
    CLASS("6", d, 168.25, 13.2, 141.8),   CLASS("1/2", e, 21.35, 2.2, 17.0),
    CLASS("3/4", e, 26.75, 2.65, 21.4),   CLASS("1", e, 33.55, 3.35, 26.8),
    CLASS("1-1/4", e, 42.25, 4.15, 34.0), CLASS("1-1/2", e, 48.25, 4.7, 38.9),
    CLASS("2", e, 60.35, 5.9, 48.5),      CLASS("3", e, 88.9, 8.6, 71.7),
    CLASS("4", e, 114.3, 11, 92.3),       CLASS("6", e, 168.25, 16.15, 135.9),
};

const struct pipe_table pipe_abs = {.count = (int)(sizeof rows / sizeof rows[0]), .sizes = rows};
