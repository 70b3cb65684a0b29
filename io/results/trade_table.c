#include "io/results/trade_table.h"

#include "io/terminal/table.h"

#include <assert.h>

static void put_cell(struct table *table, const struct field *field,
                     const struct trade_column *column, size_t row)
{
    if (field->kind == FIELD_TEXT) {
        table_text(table, field->texts[row]);
    } else {
        table_number(table, column->factor * field->numbers[row]);
    }
}

bool trade_table(const struct sheet *sheet, const char *title, const struct trade_column *columns,
                 const char *mask, const struct terminal *terminal, struct arena *arena)
{
    struct column heads[TABLE_COLUMN_MAX] = {{0}};
    const struct field *fields[TABLE_COLUMN_MAX] = {0};
    const struct field *shown = mask ? sheet_find(sheet, mask) : NULL;
    int count = 0;
    for (; count < TABLE_COLUMN_MAX - 1 && columns[count].field; count++) {
        fields[count] = sheet_find(sheet, columns[count].field);
        assert(fields[count]);
        heads[count].head = columns[count].head;
        heads[count].unit = columns[count].unit;
        heads[count].decimals = columns[count].decimals;
    }
    struct column *kept = arena_take(arena, (size_t)count + 1, sizeof *kept);
    if (!kept) {
        return false;
    }
    for (int i = 0; i < count; i++) {
        kept[i] = heads[i];
    }
    struct table *table = table_new(kept, arena);
    if (!table) {
        return false;
    }
    size_t rows = fields[0] ? fields[0]->count : 0;
    for (size_t row = 0; row < rows; row++) {
        for (int i = 0; i < count && (!shown || shown->numbers[row] > 0.0); i++) {
            put_cell(table, fields[i], &columns[i], row);
        }
    }
    if (table_rows(table) > 0) {
        terminal_say(terminal, TONE_STRONG, title);
        (void)fputc('\n', terminal->out);
        table_print(table, terminal);
        (void)fputc('\n', terminal->out);
    }
    return true;
}
