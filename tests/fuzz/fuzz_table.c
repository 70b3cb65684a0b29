/* Whatever bytes a table holds: rows of finite numbers or a message, never a crash. */
#include "io/door/table.h"
#include "tests/fuzz/fuzz.h"

#include <math.h>

static const struct column columns[] = {
    {"distance", QUANTITY_LENGTH, false, PLAUSIBLE_BY_QUANTITY},
    {"elevation", QUANTITY_LENGTH, false, PLAUSIBLE_BY_QUANTITY}};

static void try_text(const struct reader *reader, const unsigned char *data, size_t size)
{
    struct table table;
    char *text = arena_take(reader->arena, size + 1, 1);
    if (!text) {
        return;
    }
    for (size_t i = 0; i < size; i++) {
        text[i] = (char)data[i];
    }
    const bool is_read = table_read_text(reader, "fuzz.csv", text, size, 2, columns, &table);
    if (is_read != (faults_count(reader->faults, FAULT_ERROR) == 0)) {
        abort();
    }
    for (int i = 0; i < 2 * table.row_count; i++) {
        if (!isfinite(table.values[i])) {
            abort();
        }
    }
}

int LLVMFuzzerTestOneInput(const unsigned char *data, size_t size)
{
    struct failure failure;
    struct faults faults;
    struct arena *arena = arena_new();
    static struct units *units; /* kept from run to run: its tables take long to read */
    if (!units) {
        units = units_new(&failure);
    }
    if (arena && units) {
        faults_init(&faults, arena);
        const struct reader reader = {.arena = arena, .faults = &faults, .units = units};
        try_text(&reader, data, size);
    }
    arena_free(arena);
    return 0;
}
