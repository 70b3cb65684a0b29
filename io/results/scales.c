#include "io/results/scales.h"

#include <hdf5_hl.h>
#include <stdbool.h>
#include <stdio.h>
#include <string.h>

static const char list_name[] = "DIMENSION_LIST";

struct found {
    char *name;
    size_t size;
};

static herr_t note(hid_t dataset, unsigned dimension, hid_t scale, void *user)
{
    const struct found *found = user;
    char path[256];
    (void)dataset;
    (void)dimension;
    if (H5Iget_name(scale, path, sizeof path) > 0) {
        const char *slash = strrchr(path, '/');
        (void)snprintf(found->name, found->size, "%s", slash ? slash + 1 : path);
    }
    return 1;
}

static bool is_rows_of_references(hid_t list)
{
    const hid_t type = H5Aget_type(list);
    bool is_so = type >= 0 && H5Tget_class(type) == H5T_VLEN;
    if (is_so) {
        const hid_t part = H5Tget_super(type);
        is_so = part >= 0 && H5Tequal(part, H5T_STD_REF_OBJ) > 0;
        (void)H5Tclose(part);
    }
    (void)H5Tclose(type);
    return is_so;
}

static bool has_sound_list(hid_t dataset, int rank)
{
    if (H5Aexists(dataset, list_name) <= 0) {
        return false;
    }
    const hid_t list = H5Aopen(dataset, list_name, H5P_DEFAULT);
    if (list < 0) {
        return false;
    }
    const hid_t space = H5Aget_space(list);
    const bool is_sound =
        H5Sget_simple_extent_npoints(space) == rank && is_rows_of_references(list);
    (void)H5Sclose(space);
    (void)H5Aclose(list);
    return is_sound;
}

void scale_name(hid_t dataset, int rank, int dimension, char name[], size_t size)
{
    struct found found = {name, size};
    name[0] = '\0';
    if (has_sound_list(dataset, rank)) {
        (void)H5DSiterate_scales(dataset, (unsigned)dimension, NULL, note, &found);
    }
}
