/* Image: an HDF5 file that HDF5 makes in memory, but for its large arrays, which their owner puts
 * on the disk himself at the places HDF5 keeps for them. So a full disk is met by our own writes,
 * not inside HDF5, and numbers are not copied. What HDF5 would write is handed over as it closes
 * the file (HDF5 Reference Manual, H5Pset_file_image_callbacks). */
#ifndef IO_RESULTS_IMAGE_H
#define IO_RESULTS_IMAGE_H

#include <hdf5.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

struct image;

/* An empty file, open as *file; NULL: memory ended. */
struct image *image_new(hid_t *file);

/* Closes the file; afterwards `bytes` are there. False: HDF5 could not. Call it before
 * image_free, once. */
bool image_close(struct image *image, hid_t file);

/* The first `*size` bytes of the file, but for what an owner wrote; behind them is nothing of
 * HDF5's own. */
const unsigned char *image_bytes(const struct image *image, size_t *size);

/* How long HDF5 says the whole file is, owners' arrays and all; 0: the image is none. */
uint64_t image_length(const struct image *image);

void image_free(struct image *image); /* NULL is allowed */

#endif
