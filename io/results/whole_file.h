/* Whole file: nobody ever sees half of it. Written beside its final name, brought to the disk
 * (fsync), renamed (POSIX.1-2008 rename is atomic), and the folder brought to the disk too. What a
 * process that was killed left of an earlier try is removed (see leftovers.h). */
#ifndef IO_RESULTS_WHOLE_FILE_H
#define IO_RESULTS_WHOLE_FILE_H

#include "models/failure.h"

#include <stddef.h>
#include <stdint.h>
#include <stdio.h>

struct whole_file;

/* With what every results file begins (HDF5 File Format Specification 3.0, II.A), and every page.
 */
#define WHOLE_FILE_RESULTS "\x89HDF\r\n\x1a\n"
#define WHOLE_FILE_PAGE "<!DOCTYPE html>"

/* Opens a new file that shall become `path`. What lies there must be an ordinary file, no link,
 * that may be written, and empty or of the same kind: it begins with `beginning`, as the new one
 * will; so no slip of the hand puts results over a case. NULL: the new one is a text, which may
 * replace all but results. The new one takes over its rights. NULL: FAILURE_FILE or FAILURE_MEMORY.
 * End with whole_file_finish or whole_file_abandon. */
struct whole_file *whole_file_open(const char *path, const char *beginning,
                                   struct failure *failure);

/* Whether it can be opened now, before the work that is to go there is done. */
MUST_CHECK bool whole_file_try(const char *path, const char *beginning, struct failure *failure);

/* Where to write; what goes wrong on the way is told by whole_file_finish. */
FILE *whole_file_stream(struct whole_file *file);

/* Writes `size` bytes at the place `at`, beside the stream: use one of the two only. */
MUST_CHECK bool whole_file_put(struct whole_file *file, uint64_t at, uint64_t size,
                               const void *bytes, struct failure *failure);

/* Makes it `size` bytes long; what nobody wrote is noughts. */
MUST_CHECK bool whole_file_stretch(struct whole_file *file, uint64_t size, struct failure *failure);

/* Puts the file in place, over one of the same name. False: nothing has changed at `path`. Frees
 * `file` either way. */
MUST_CHECK bool whole_file_finish(struct whole_file *file, struct failure *failure);

/* The same where nothing has that name; else nothing changes, and `failure` tells. */
MUST_CHECK bool whole_file_finish_new(struct whole_file *file, struct failure *failure);

/* Removes what was written and frees `file`; NULL is allowed. */
void whole_file_abandon(struct whole_file *file);

/* A text all at once. */
MUST_CHECK bool whole_file_write(const char *path, size_t size, const void *bytes,
                                 struct failure *failure);

#endif
