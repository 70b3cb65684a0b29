#include "io/results/scales.h"

#include <hdf5_hl.h>
#include <stdio.h>
#include <string.h>

static const char list_name[] = "DIMENSION_LIST";
static const char class_name[] = "CLASS";

/* What the specification has CLASS say, with the zero that ends it. Of any other text, and of what
 * is no text, HDF5 1.10 leaves the attribute and its type open when it is asked (H5DSis_scale). */
bool scale_is(hid_t dataset)
{
    static const char wanted[] = "DIMENSION_SCALE";
    char told[sizeof wanted] = "";
    const hid_t class = H5Aexists(dataset, class_name) > 0
                            ? H5Aopen(dataset, class_name, H5P_DEFAULT)
                            : H5I_INVALID_HID;
    if (class < 0) {
        return false;
    }
    const hid_t type = H5Aget_type(class);
    const hid_t space = H5Aget_space(class);
    const bool is_text = H5Tget_class(type) == H5T_STRING && H5Tis_variable_str(type) == 0 &&
                         H5Tget_size(type) == sizeof told &&
                         H5Sget_simple_extent_npoints(space) == 1;
    const bool is_scale =
        is_text && H5Aread(class, type, told) >= 0 && memcmp(told, wanted, sizeof wanted) == 0;
    (void)H5Sclose(space);
    (void)H5Tclose(type);
    (void)H5Aclose(class);
    return is_scale;
}

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
