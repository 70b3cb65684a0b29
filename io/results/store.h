/* Store: puts sheets into an HDF5 file that h5py, xarray and others open without help.
 * Every dimension is a dimension scale, every dataset has `units` and `long_name`, text is UTF-8,
 * numbers are IEEE 754 doubles or 64-bit whole numbers, and things stand in the order they were
 * added. Long arrays go to the disk at once, all else is made in memory (image.h); the file has its
 * name only when it is whole (whole_file.h), so that a full disk cannot leave half of it. */
#ifndef IO_RESULTS_STORE_H
#define IO_RESULTS_STORE_H

#include "io/results/sheet.h"
#include "models/failure.h"

struct store;

/* An empty store that shall become the file `path`; NULL: failure tells. */
struct store *store_new(const char *path, struct failure *failure);

/* Adds a sheet as the group sheet->path; groups above it are made when they are missing. Path "/"
 * puts attributes and fields at the root. */
MUST_CHECK bool store_sheet(struct store *store, const struct sheet *sheet,
                            struct failure *failure);

/* Puts the file in its place, once. False: nothing has changed there. The store is still to be
 * freed. */
MUST_CHECK bool store_finish(struct store *store, struct failure *failure);

/* Without store_finish nothing is left on the disk; NULL is allowed. */
void store_free(struct store *store);

#endif
