/* Guard: results files on which HDF5 may crash are read by a child process.
 * HDF5 1.10 can crash, or not come to an end, on damaged bytes (of 300 files of ours without a seal
 * and with a few bytes changed, 22 crashed it). A file with our seal was looked at before HDF5 sees
 * it (io/results/seal.h); one without, another program's or one that another program changed, is
 * read by a child of this process, which may crash and has its time and, where no address sanitizer
 * runs, its memory: 512 MiB and 16 bytes for each of the file, of 256 MiB at most. */
#ifndef IO_COMMAND_GUARD_H
#define IO_COMMAND_GUARD_H

#include <stdbool.h>

/* First of all in main. True: a child did what the words ask for, and *code is how it ended; when
 * it crashed that was told. False: go on: there is nothing to guard, no child could be made, or
 * this is it. */
bool guard_waits(int argc, char *const argv[], int *code);

#endif
