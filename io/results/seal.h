/* Seal: the last bytes of a results file of ours: a mark and the fingerprint of all before it.
 * HDF5 takes no notice of bytes behind its end, and a tool that changes the file cuts them off. A
 * file whose seal does not fit was damaged on a disk or on its way: HDF5 1.10 can crash on such a
 * one, so that it is refused before HDF5 sees it. The fingerprint guards against accidents, not
 * against people: eight sums CRC-32C (io/results/crc32c.h), one of each eighth of the file (rounded
 * down to whole eights of bytes; the last has the rest), as 64 digits. */
#ifndef IO_RESULTS_SEAL_H
#define IO_RESULTS_SEAL_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

enum { SEAL_SIZE = 80 };

/* The seal of the first `size` bytes of an open file. False: they could not be read. */
bool seal_make(int descriptor, uint64_t size, char seal[SEAL_SIZE]);

/* Whether the open file ends with a seal, be it its own or not. */
bool seal_is_there(int descriptor);

/* False: the open file ends with a seal that is not its own. A file without a seal, or that cannot
 * be read, is taken as good. */
bool seal_fits(int descriptor);

#endif
