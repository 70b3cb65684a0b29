/* Whatever bytes a case file holds: an answer or a message, never a crash. */
#include "io/door/door.h"
#include "tests/fuzz/fuzz.h"

int LLVMFuzzerTestOneInput(const unsigned char *data, size_t size)
{
    static struct units *units; /* kept from run to run: its tables take long to read */
    struct failure failure;
    struct faults faults;
    struct site *site = NULL;
    struct arena *arena = arena_new();
    char *text = arena ? arena_take(arena, size + 1, 1) : NULL;
    if (!units) {
        units = units_new(&failure);
    }
    if (text && units) {
        for (size_t i = 0; i < size; i++) {
            text[i] = (char)data[i];
        }
        faults_init(&faults, arena);
        const bool is_read =
            read_site_units("fuzz/case.yaml", text, size, units, arena, &site, &faults);
        if (is_read != (faults_count(&faults, FAULT_ERROR) == 0)) {
            abort(); /* an answer with errors, or none without */
        }
    }
    arena_free(arena);
    return 0;
}
