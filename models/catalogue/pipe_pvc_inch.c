/* PVC-U in inch sizes, BS 3505:1968, classes C, D and E: 9, 12 and 15 bar at 20 degC. Mean outside
 * diameter and mean wall, mm, of a maker's table (read; two misprints corrected by sister tables);
 * bore = outside - 2 walls, as rounded in the table (computed). An inch size is only a name. */
#include "models/catalogue/pipe_table.h"

#define BAR_c 9
#define BAR_d 12
#define BAR_e 15
#define CLASS(size, letter, outside, wall, bore)                                                   \
    {                                                                                              \
        "pvc-u " size "in class " #letter, "pvc-u", (outside)*1e-3, (wall)*1e-3, (bore)*1e-3,      \
            BAR_##letter * 1e5, "BS 3505:1968, a maker's table (read)"                             \
    }

static const struct pipe_size rows[] = {
    /* size, class, outside, wall, bore mm */
    CLASS("2", c, 60.35, 2.75, 54.9),     CLASS("3", c, 88.9, 3.8, 81.3),
    CLASS("4", c, 114.3, 4.85, 104.6),    CLASS("5", c, 140.2, 5.95, 128.3),
    CLASS("6", c, 168.25, 7.1, 154.1),    CLASS("8", c, 219.1, 8.4, 202.3),
    CLASS("10", c, 273, 10.45, 252.1),    CLASS("12", c, 323.9, 12.4, 299.1),
    CLASS("1-1/4", d, 42.25, 2.45, 37.4), CLASS("1-1/2", d, 48.25, 2.75, 42.8),
    CLASS("2", d, 60.35, 3.4, 53.5),      CLASS("3", d, 88.9, 4.95, 79.0),
    CLASS("4", d, 114.3, 6.45, 101.4),    CLASS("5", d, 140.2, 7.85, 124.5),
    CLASS("6", d, 168.25, 9.5, 149.2),    CLASS("8", d, 219.1, 11.05, 197.0),
    CLASS("10", d, 273, 13.8, 245.4),     CLASS("12", d, 323.9, 16.35, 291.2),
    CLASS("1/2", e, 21.35, 1.9, 17.6),    CLASS("3/4", e, 26.75, 2.2, 22.4),
    CLASS("1", e, 33.55, 2.45, 28.6),     CLASS("1-1/4", e, 42.25, 2.95, 36.4),
    CLASS("1-1/2", e, 48.25, 3.4, 41.5),  CLASS("2", e, 60.35, 4.2, 52.0),
    CLASS("3", e, 88.9, 6.15, 76.6),      CLASS("4", e, 114.3, 7.85, 98.6),
    CLASS("5", e, 140.2, 9.7, 120.8),     CLASS("6", e, 168.25, 11.65, 144.9),
    CLASS("8", e, 219.1, 13.55, 192.0),   CLASS("10", e, 273, 16.9, 239.2),
    CLASS("12", e, 323.9, 20.15, 283.6),
};

const struct pipe_table pipe_pvc_inch = {.count = (int)(sizeof rows / sizeof rows[0]),
                                         .sizes = rows};
