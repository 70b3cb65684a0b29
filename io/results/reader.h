/* Reader: gets sheets back from a results file, ours or any other HDF5 file of numbers and text
 * with up to two dimensions. What it cannot hold it leaves out and counts. */
#ifndef IO_RESULTS_READER_H
#define IO_RESULTS_READER_H

#include "io/results/sheet.h"
#include "models/arena.h"
#include "models/failure.h"

struct reader;

/* Opens a results file for reading. NULL: FAILURE_INPUT when it is missing or not HDF5. */
struct reader *reader_open(const char *path, struct failure *failure);
void reader_close(struct reader *reader); /* NULL is allowed */

/* What stands at `path` of the file. */
enum reader_kind { READER_NOTHING, READER_GROUP, READER_DATASET };
enum reader_kind reader_kind_at(const struct reader *reader, const char *path);

/* Paths of all groups that hold datasets or attributes, the root first, in the order they were
 * written; *count of them, in `arena`. NULL: memory ended. */
const char *const *reader_groups(const struct reader *reader, int *count, struct arena *arena,
                                 struct failure *failure);

/* The sheet of a group, with its data, in `arena`. *left_out (may be NULL) gets how many datasets
 * were of a kind or shape that a sheet does not hold. */
MUST_CHECK bool reader_sheet(const struct reader *reader, const char *path, struct sheet *sheet,
                             int *left_out, struct arena *arena, struct failure *failure);

#endif
