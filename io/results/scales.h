/* Scales: which dataset gives a dimension of another its values (HDF5 Dimension Scales
 * Specification: the attribute DIMENSION_LIST holds one row of references for each dimension).
 * HDF5's own functions for them trust the attributes, so these are looked at before they are asked.
 */
#ifndef IO_RESULTS_SCALES_H
#define IO_RESULTS_SCALES_H

#include <hdf5.h>
#include <stdbool.h>
#include <stddef.h>

/* The dataset is a scale itself: its attribute CLASS says so. */
bool scale_is(hid_t dataset);

/* The name of the first scale of a dimension of `dataset`, which has `rank` of them, without its
 * path, in `name` [size]; "" when it has none, or none that can be read. */
void scale_name(hid_t dataset, int rank, int dimension, char name[], size_t size);

#endif
