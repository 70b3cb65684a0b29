/* Shelf: tables of a case as they were first read, for whoever reads the case again.
 * The variants of a study are read while it runs, perhaps for hours, and so are the sites of a
 * choice: all are of one case only if each sees the same tables, whoever writes to the files
 * meanwhile. */
#ifndef IO_DOOR_SHELF_H
#define IO_DOOR_SHELF_H

#include "models/arena.h"
#include "models/failure.h"
#include "models/site.h"

#include <stdbool.h>
#include <stddef.h>

struct shelf {
    struct arena *arena; /* of what is put on it */
    const struct site_file *first;
    bool is_closed; /* nothing more is put on it: others take from its arena meanwhile */
};

/* As file_read (file.h), but what lies on the shelf is taken from there, and what does not is put
 * there, unless it is closed. The text is the caller's own, in `arena`. A shelf of NULL: files are
 * read and not kept. */
char *shelf_read(struct shelf *shelf, const char *path, size_t most, struct arena *arena,
                 size_t *size, struct failure *failure);

/* Puts a file on the shelf beforehand, if it can be read; else whoever reads it tells why. */
void shelf_hold(struct shelf *shelf, const char *path, size_t most);

#endif
