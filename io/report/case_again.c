#include "io/report/case_again.h"

#include "io/door/door.h"

#include <stdio.h>
#include <string.h>

static const char *find_text(const struct reader *reader, struct arena *arena)
{
    struct failure failure = {0};
    struct sheet sheet;
    if (reader_kind_at(reader, "/case") != READER_GROUP ||
        !reader_sheet(reader, "/case", &sheet, NULL, arena, &failure)) {
        return NULL;
    }
    const struct field *text = sheet_find(&sheet, "text");
    bool is_there = text && text->kind == FIELD_TEXT && text->count == 1 && text->texts[0];
    return is_there ? arena_text(arena, text->texts[0]) : NULL;
}

static const char *find_path(const struct reader *reader, struct arena *arena)
{
    struct failure failure = {0};
    struct sheet sheet;
    if (!reader_sheet(reader, "/", &sheet, NULL, arena, &failure)) {
        return NULL;
    }
    const struct attribute *path = sheet_find_attribute(&sheet, "case_file");
    return path && path->text ? arena_text(arena, path->text) : NULL;
}

/* A stranger's results could name any file of this machine as a table: what is in one that cannot
 * be read as such is not told. */
static void tell_why(const struct failure *first, const char *path, size_t size, char why[])
{
    const char *file = first->place.file ? first->place.file : "";
    const bool is_table = *file && strcmp(file, path) != 0;
    if (is_table && first->place.line > 0) {
        (void)snprintf(why, size,
                       "the case cannot be read again: %s:%d is not as a table has to be", file,
                       first->place.line);
    } else {
        (void)snprintf(why, size, "the case cannot be read again: %s%s%s", file, *file ? ": " : "",
                       first->message);
    }
}

const struct site *case_again(const struct reader *reader, struct arena *arena,
                              struct faults *faults, size_t size, char why[])
{
    struct site *site = NULL;
    const char *text = find_text(reader, arena);
    const char *path = find_path(reader, arena);
    faults_init(faults, arena);
    why[0] = '\0';
    if (!text) {
        (void)snprintf(why, size, "the results hold no case");
        return NULL;
    }
    path = path ? path : "case";
    if (!read_site_text(path, text, strlen(text), arena, &site, faults)) {
        tell_why(faults_first(faults), path, size, why);
        return NULL;
    }
    return site;
}
