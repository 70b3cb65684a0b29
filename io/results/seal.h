/* Seal: the last bytes of a results file of ours: a mark and the fingerprint of all before it.
 * HDF5 takes no notice of bytes behind its end, and a tool that changes the file cuts them off. A
 * file whose seal does not fit was damaged on a disk or on its way: HDF5 1.10 can crash on such a
 * one, so that it is refused before HDF5 sees it. */
#ifndef IO_RESULTS_SEAL_H
#define IO_RESULTS_SEAL_H

#include <stdbool.h>
#include <stddef.h>

enum { SEAL_SIZE = 80 };

/* The seal of `size` bytes. */
void seal_make(size_t size, const void *bytes, char seal[SEAL_SIZE]);

/* False: the bytes end with a seal that is not theirs. Bytes without a seal are taken as good. */
bool seal_fits(size_t size, const void *bytes);

#endif
