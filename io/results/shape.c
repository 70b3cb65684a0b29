#include "io/results/shape.h"

#include <stdio.h>

/* The dimension of a field that leads others; -1: it has not just one. */
static int leading(const struct sheet *sheet, const char *name)
{
    const struct field *leader = sheet_find(sheet, name);
    return leader && leader->rank == 1 ? leader->dimension[0] : -1;
}

static bool lies(const struct sheet *sheet, const struct wish *wish, const struct field *field)
{
    const int along = leading(sheet, wish->along);
    const int across = wish->across ? leading(sheet, wish->across) : 0;
    if (along < 0 || across < 0 || field->rank != (wish->across ? 2 : 1)) {
        return false;
    }
    return field->dimension[0] == along && (!wish->across || field->dimension[1] == across);
}

static bool fail_odd(const struct sheet *sheet, const struct wish *wish, const struct field *field,
                     struct failure *failure)
{
    const struct place nowhere = {0};
    const struct field *along = sheet_find(sheet, wish->along);
    const struct field *across = wish->across ? sheet_find(sheet, wish->across) : NULL;
    char second[300] = "";
    if (across) {
        (void)snprintf(second, sizeof second, " and '%.200s' (%zu)", wish->across, across->count);
    }
    return fail(failure, FAILURE_INPUT, nowhere,
                "results '%s': '%s' (%zu values) does not lie along '%s' (%zu)%s; another program "
                "changed the file: make the results anew",
                sheet->path, field->name, field->count, wish->along, along ? along->count : 0,
                second);
}

enum shape shape_of(const struct sheet *sheet, size_t count, const struct wish wishes[count],
                    struct failure *failure)
{
    for (size_t i = 0; i < count; i++) {
        const struct field *field = sheet_find(sheet, wishes[i].name);
        const bool is_kind = field && (field->kind == FIELD_TEXT) == wishes[i].is_text &&
                             (field->count == 0 || field->texts || field->numbers);
        if (!is_kind && !(wishes[i].may_lack && !field)) {
            return SHAPE_LACKS;
        }
    }
    for (size_t i = 0; i < count; i++) {
        const struct field *field = sheet_find(sheet, wishes[i].name);
        if (field && !lies(sheet, &wishes[i], field)) {
            (void)fail_odd(sheet, &wishes[i], field, failure);
            return SHAPE_ODD;
        }
    }
    return SHAPE_GOOD;
}
