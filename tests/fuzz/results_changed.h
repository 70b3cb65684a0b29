/* A results file changed through HDF5: fields and attributes missing, of another kind, shape,
 * length or value, and links that lead elsewhere or in a ring. */
#ifndef TESTS_FUZZ_RESULTS_CHANGED_H
#define TESTS_FUZZ_RESULTS_CHANGED_H

#include <stdbool.h>
#include <stddef.h>

/* Changes the file as `left` bytes of data say. False: HDF5 would not have it. */
bool results_change(const char *path, const unsigned char *data, size_t left);

#endif
