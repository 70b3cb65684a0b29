/* PVC to ASTM D1785, schedules 40 and 80: outside diameter, minimum wall and bore, mm, and the
 * rating at 73 degF (22.8 degC), psi (handbook page and a maker's table, read). The rating is 4000
 * psi x wall/(outside - wall), rounded to 10 psi (computed, all rows agree). Schedule 40 is not to
 * be threaded; threading halves the rating of schedule 80. */
#include "models/catalogue/pipe_table.h"

#define PSI 6894.757293168361 /* Pa: 0.45359237 kg x 9.80665 m/s2 / (0.0254 m)^2 */
#define ROW(schedule, size, outside, wall, bore, psi, text)                                        \
    {                                                                                              \
        "pvc schedule " #schedule " " size "in", "pvc", (outside)*1e-3, (wall)*1e-3, (bore)*1e-3,  \
            (psi)*PSI, text                                                                        \
    }
#define SCHEDULE(schedule, size, outside, wall, bore, psi)                                         \
    ROW(schedule, size, outside, wall, bore, psi, "ASTM D1785 (read)")
#define SCHEDULE_MEMORY(schedule, size, outside, wall, bore, psi)                                  \
    ROW(schedule, size, outside, wall, bore, psi,                                                  \
        "ASTM D1785 (rating and schedule 80 wall from memory)")

static const struct pipe_size rows[] = {
    /* schedule, size, outside, wall, bore mm, rating psi */
    SCHEDULE(40, "1/2", 21.34, 2.77, 15.80, 600),
    SCHEDULE(40, "3/4", 26.67, 2.87, 20.93, 480),
    SCHEDULE(40, "1", 33.40, 3.38, 26.64, 450),
    SCHEDULE(40, "1-1/4", 42.16, 3.56, 35.05, 370),
    SCHEDULE(40, "1-1/2", 48.26, 3.68, 40.89, 330),
    SCHEDULE(40, "2", 60.32, 3.91, 52.50, 280),
    SCHEDULE(40, "2-1/2", 73.02, 5.16, 62.71, 300),
    SCHEDULE(40, "3", 88.90, 5.49, 77.93, 260),
    SCHEDULE(40, "4", 114.30, 6.02, 102.26, 220),
    SCHEDULE(40, "5", 141.30, 6.55, 128.19, 190),
    SCHEDULE(40, "6", 168.27, 7.11, 154.05, 180),
    SCHEDULE(40, "8", 219.07, 8.18, 202.72, 160),
    SCHEDULE_MEMORY(40, "10", 273.05, 9.27, 254.51, 140),
    SCHEDULE_MEMORY(40, "12", 323.85, 10.31, 303.23, 130),
    SCHEDULE(80, "1/2", 21.34, 3.73, 13.87, 850),
    SCHEDULE(80, "3/4", 26.67, 3.91, 18.85, 690),
    SCHEDULE(80, "1", 33.40, 4.55, 24.31, 630),
    SCHEDULE(80, "1-1/4", 42.16, 4.85, 32.46, 520),
    SCHEDULE(80, "1-1/2", 48.26, 5.08, 38.10, 470),
    SCHEDULE(80, "2", 60.32, 5.54, 49.25, 400),
    SCHEDULE(80, "2-1/2", 73.02, 7.01, 59.00, 420),
    SCHEDULE(80, "3", 88.90, 7.62, 73.66, 370),
    SCHEDULE(80, "4", 114.30, 8.56, 97.18, 320),
    SCHEDULE(80, "5", 141.30, 9.52, 122.25, 290),
    SCHEDULE(80, "6", 168.27, 10.97, 146.33, 280),
    SCHEDULE(80, "8", 219.07, 12.70, 193.67, 250),
    SCHEDULE_MEMORY(80, "10", 273.05, 15.06, 242.93, 230),
    SCHEDULE_MEMORY(80, "12", 323.85, 17.45, 288.95, 230),
};

const struct pipe_table pipe_pvc_schedule = {.count = (int)(sizeof rows / sizeof rows[0]),
                                             .sizes = rows};
