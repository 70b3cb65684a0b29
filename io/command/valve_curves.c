#include "io/command/valve_curves.h"

#include "io/results/trade_table.h"
#include "io/terminal/prose.h"
#include "io/terminal/table.h"
#include "solver/slam/characteristic.h"

#include <math.h>
#include <stddef.h>

enum {
    DECELERATION,
    REVERSE,
    BAND,
    SEAT_SPEED,
    PLAIN_DECELERATION,
    PLAIN_REVERSE,
    STATED,
    STATED_PLAIN,
    COLUMNS
};

static const struct field_head heads[COLUMNS] = {
    {"deceleration", "m s-2", "at which the water in its bore slows"},
    {"reverse_velocity", "m s-1", "backward in its bore as it meets its seat, computed"},
    {"reverse_velocity_band", "m s-1", "difference from the step twice as long"},
    {"seat_speed", "m s-1", "of the middle of the moving part then"},
    {"plain_deceleration", "1", "deceleration x bore / v_0^2, v_0 holds it fully open"},
    {"plain_reverse_velocity", "1", "reverse velocity / v_0"},
    {"stated_reverse_velocity", "m s-1", "by its maker's curve, which rules over the computed one"},
    {"plain_stated_velocity", "1", "the same / v_0"},
};

enum { SHOWN_STATED = 4, SHOWN_MOST = 9 };

static const struct trade_column columns[SHOWN_MOST] = {
    {"row_valve", "non-return valve", "", 1.0, TABLE_TEXT},
    {"deceleration", "slowing", "m/s2", 1.0, 1},
    {"reverse_velocity", "reverse velocity", "m/s", 1.0, 4},
    {"reverse_velocity_band", "+-", "m/s", 1.0, 4},
    {"stated_reverse_velocity", "by its maker", "m/s", 1.0, 4},
    {"seat_speed", "part at its seat", "m/s", 1.0, 3},
    {"plain_deceleration", "D/v0^2 dv/dt", "", 1.0, 4},
    {"plain_reverse_velocity", "vR/v0", "", 1.0, 4},
    {NULL, NULL, NULL, 0.0, 0},
};

static void fill_row(double *numbers, ptrdiff_t rows, const struct valve_entry *entry,
                     double deceleration)
{
    const struct slam_point point = slam_point_at(entry->valve, entry->water, deceleration);
    const double stated = non_return_own_curve(&entry->valve->own, deceleration);
    const double open = slam_open_velocity(entry->valve, entry->water);
    const double values[COLUMNS] = {point.deceleration,
                                    point.reverse,
                                    point.band,
                                    point.seat_speed,
                                    point.plain_deceleration,
                                    point.plain_reverse,
                                    stated,
                                    open > 0.0 ? stated / open : (double)NAN};
    for (int i = 0; i < COLUMNS; i++) {
        numbers[i * rows] = values[i];
    }
}

static bool is_stated(int count, const struct valve_entry entries[])
{
    for (int i = 0; i < count; i++) {
        if (entries[i].valve->own.curve_count > 0) {
            return true;
        }
    }
    return false;
}

bool valve_curves_fill(int count, const struct valve_entry entries[], struct sheet *sheet,
                       struct arena *arena)
{
    const ptrdiff_t points = slam_row_count();
    const ptrdiff_t rows = count * points;
    const char **names = arena_take(arena, (size_t)rows, sizeof *names);
    double *numbers = arena_take(arena, (size_t)rows * COLUMNS, sizeof *numbers);
    if (!names || !numbers) {
        return false;
    }
    for (ptrdiff_t i = 0; i < rows; i++) {
        const struct valve_entry *entry = &entries[i / points];
        names[i] = entry->label;
        fill_row(numbers + i, rows, entry, slam_row_at((int)(i % points)));
    }
    sheet_init(sheet, "/valve");
    const int along = sheet_dimension(sheet, "row_valve", (size_t)rows);
    sheet_texts(sheet, (struct field_head){"row_valve", "1", "the non-return valve of the row"},
                along, names);
    const int shown = is_stated(count, entries) ? COLUMNS : STATED;
    for (int i = 0; i < shown; i++) {
        sheet_numbers(sheet, heads[i], along, numbers + i * rows);
    }
    return true;
}

bool valve_curves_print(int count, const struct valve_entry entries[], const struct sheet *sheet,
                        const struct terminal *terminal, struct arena *arena)
{
    bool is_placeholder = false;
    struct trade_column shown[SHOWN_MOST] = {{0}};
    int to = 0;
    for (int i = 0; i < SHOWN_MOST; i++) {
        if (i != SHOWN_STATED || is_stated(count, entries)) {
            shown[to++] = columns[i];
        }
    }
    if (!trade_table(sheet, "Velocity backward as the valve shuts, water slowing evenly", shown,
                     NULL, terminal, arena)) {
        return false;
    }
    for (int i = 0; i < count; i++) {
        is_placeholder = is_placeholder || entries[i].valve->is_placeholder;
    }
    prose_tell(terminal,
               "D is the bore, v0 the velocity that just holds the valve fully open, dv/dt "
               "the slowing, vR the reverse velocity.\n");
    prose_tell(terminal, "%s",
               is_placeholder
                   ? "Computed from mass, spring and travel, most of them placeholders of the "
                     "catalogue; not measured.\n"
                   : "Computed from mass, spring and travel; not measured.\n");
    if (is_stated(count, entries)) {
        prose_tell(terminal,
                   "Where its maker states a curve, that rules: 'surge' and 'choose' judge the "
                   "valve by it.\n");
    }
    return true;
}
