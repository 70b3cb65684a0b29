#include "io/door/shelf.h"

#include "io/door/file.h"

#include <string.h>

static char *copy_of(const char *text, size_t size, struct arena *arena, struct failure *failure)
{
    char *copy = arena_take(arena, size + 1, 1);
    if (!copy) {
        (void)fail_memory(failure, "a file");
        return NULL;
    }
    memcpy(copy, text, size);
    copy[size] = '\0';
    return copy;
}

static bool put(struct shelf *shelf, const char *path, const char *text, size_t size,
                struct failure *failure)
{
    struct site_file *file = arena_take(shelf->arena, 1, sizeof *file);
    const char *name = arena_text(shelf->arena, path);
    const char *kept = copy_of(text, size, shelf->arena, failure);
    if (!file || !name || !kept) {
        return fail_memory(failure, "a file");
    }
    *file = (struct site_file){name, kept, size, shelf->first};
    shelf->first = file;
    return true;
}

static const struct site_file *find(const struct shelf *shelf, const char *path)
{
    const struct site_file *file = shelf ? shelf->first : NULL;
    while (file && strcmp(file->path, path) != 0) {
        file = file->next;
    }
    return file;
}

char *shelf_read(struct shelf *shelf, const char *path, size_t most, struct arena *arena,
                 size_t *size, struct failure *failure)
{
    const struct site_file *file = find(shelf, path);
    if (file) {
        *size = file->size;
        return copy_of(file->text, file->size, arena, failure);
    }
    char *text = file_read(path, most, arena, size, failure);
    return text && (!shelf || shelf->is_closed || put(shelf, path, text, *size, failure)) ? text
                                                                                          : NULL;
}

void shelf_hold(struct shelf *shelf, const char *path, size_t most)
{
    struct failure failure;
    size_t size = 0;
    struct arena *arena = find(shelf, path) ? NULL : arena_new();
    if (arena) {
        (void)shelf_read(shelf, path, most, arena, &size, &failure);
        arena_free(arena);
    }
}
