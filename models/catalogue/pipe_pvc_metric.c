/* PVC-U in metric sizes, ISO 1452-2: outside diameter and minimum wall, mm, from a manufacturer's
 * sheet to the standard (read); bore = outside - 2 walls. A metric size is the outside diameter.
 * The class is the standard's: 20 s/(SDR - 1) bar with design stress s 10 MPa up to 90 mm and
 * 12.5 MPa from 110 mm (computed, agrees with the series' names). */
#include "models/catalogue/pipe_table.h"

#define ROW(size, class, outside, wall, bore, text)                                                \
    {                                                                                              \
        "pvc-u " #size " pn" #class, "pvc-u", (outside)*1e-3, (wall)*1e-3, (bore)*1e-3,            \
            (class) * 1e5, text                                                                    \
    }
#define PN(size, class, outside, wall, bore)                                                       \
    ROW(size, class, outside, wall, bore, "ISO 1452-2, a manufacturer's sheet (read)")
#define PN_COMPUTED(size, class, outside, wall, bore)                                              \
    ROW(size, class, outside, wall, bore, "ISO 1452-2, wall = size/SDR rounded up (computed)")

static const struct pipe_size rows[] = {
    /* size, PN bar, outside, wall, bore mm */
    PN(40, 6, 40.0, 1.5, 37.0),
    PN(50, 6, 50.0, 1.6, 46.8),
    PN(63, 6, 63.0, 2.0, 59.0),
    PN(75, 6, 75.0, 2.3, 70.4),
    PN(90, 6, 90.0, 2.8, 84.4),
    PN(110, 6, 110.0, 2.7, 104.6),
    PN(125, 6, 125.0, 3.1, 118.8),
    PN(140, 6, 140.0, 3.5, 133.0),
    PN(160, 6, 160.0, 4.0, 152.0),
    PN(200, 6, 200.0, 4.9, 190.2),
    PN(225, 6, 225.0, 5.5, 214.0),
    PN(250, 6, 250.0, 6.2, 237.6),
    PN(315, 6, 315.0, 7.7, 299.6),
    PN(32, 10, 32.0, 1.6, 28.8),
    PN(40, 10, 40.0, 1.9, 36.2),
    PN(50, 10, 50.0, 2.4, 45.2),
    PN(63, 10, 63.0, 3.0, 57.0),
    PN(75, 10, 75.0, 3.6, 67.8),
    PN(90, 10, 90.0, 4.3, 81.4),
    PN(110, 10, 110.0, 4.2, 101.6),
    PN(125, 10, 125.0, 4.8, 115.4),
    PN(140, 10, 140.0, 5.4, 129.2),
    PN(160, 10, 160.0, 6.2, 147.6),
    PN_COMPUTED(180, 10, 180.0, 6.9, 166.2),
    PN(200, 10, 200.0, 7.7, 184.6),
    PN(225, 10, 225.0, 8.6, 207.8),
    PN(250, 10, 250.0, 9.6, 230.8),
    PN_COMPUTED(280, 10, 280.0, 10.7, 258.6),
    PN(315, 10, 315.0, 12.1, 290.8),
    PN(16, 16, 16.0, 1.5, 13.0),
    PN(20, 16, 20.0, 1.5, 17.0),
    PN(25, 16, 25.0, 1.9, 21.2),
    PN(32, 16, 32.0, 2.4, 27.2),
    PN(40, 16, 40.0, 3.0, 34.0),
    PN(50, 16, 50.0, 3.7, 42.6),
    PN(63, 16, 63.0, 4.7, 53.6),
    PN(75, 16, 75.0, 5.6, 63.8),
    PN(90, 16, 90.0, 6.7, 76.6),
    PN(110, 16, 110.0, 6.6, 96.8),
    PN(125, 16, 125.0, 7.4, 110.2),
    PN(140, 16, 140.0, 8.3, 123.4),
    PN(160, 16, 160.0, 9.5, 141.0),
    PN_COMPUTED(180, 16, 180.0, 10.7, 158.6),
    PN(200, 16, 200.0, 11.9, 176.2),
    PN(225, 16, 225.0, 13.4, 198.2),
    PN(250, 16, 250.0, 14.8, 220.4),
    PN_COMPUTED(280, 16, 280.0, 16.6, 246.8),
    PN(315, 16, 315.0, 18.7, 277.6),
};

const struct pipe_table pipe_pvc_metric = {.count = (int)(sizeof rows / sizeof rows[0]),
                                           .sizes = rows};
