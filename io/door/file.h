/* File: a whole text file read into an arena, within a limit. */
#ifndef IO_DOOR_FILE_H
#define IO_DOOR_FILE_H

#include "models/arena.h"
#include "models/failure.h"

#include <stddef.h>

/* The bytes of the ordinary file at `path`, with a closing zero that *size does not count; NULL:
 * `failure` tells why (missing, a directory, larger than `most` bytes ...). */
char *file_read(const char *path, size_t most, struct arena *arena, size_t *size,
                struct failure *failure);

/* Whether file_read could open it, were it not too large; what it holds is not looked at. */
MUST_CHECK bool file_try(const char *path, struct failure *failure);

/* Checks that `text` is UTF-8 without control characters other than tab and line ends; the first
 * fault is told with its place in `file`. */
MUST_CHECK bool text_check(const char *file, const char *text, size_t size,
                           struct failure *failure);

#endif
