#include "io/results/image.h"

#include <stdlib.h>
#include <string.h>

struct image {
    unsigned char *bytes;
    size_t size;
    bool is_ours; /* HDF5 has let go of the bytes */
};

/* --- what HDF5 calls --- */

static void *take(size_t size, H5FD_file_image_op_t why, void *data)
{
    (void)why;
    struct image *image = data;
    image->bytes = malloc(size);
    image->size = image->bytes ? size : 0;
    return image->bytes;
}

static void *copy(void *to, const void *from, size_t size, H5FD_file_image_op_t why, void *data)
{
    (void)why;
    (void)data;
    return memcpy(to, from, size);
}

static void *resize(void *bytes, size_t size, H5FD_file_image_op_t why, void *data)
{
    (void)why;
    struct image *image = data;
    void *larger = realloc(bytes, size);
    if (larger) {
        image->bytes = larger;
        image->size = size;
    }
    return larger;
}

/* Kept, since now they are all that the file is. */
static herr_t let_go(void *bytes, H5FD_file_image_op_t why, void *data)
{
    (void)bytes;
    (void)why;
    struct image *image = data;
    image->is_ours = true;
    return 0;
}

static void *share(void *data)
{
    return data;
}

static herr_t keep(void *data)
{
    (void)data;
    return 0;
}

/* --- the file --- */

static hid_t access_to(struct image *image)
{
    static const size_t growth = (size_t)1 << 18; /* bytes the image grows by */
    /* Bytes that HDF5 takes at once for what describes the data, and for little data: so they lie
     * at the file's start, and the image ends there instead of spanning the arrays. */
    static const hsize_t at_once = (hsize_t)1 << 15;
    H5FD_file_image_callbacks_t calls = {take, copy, resize, let_go, share, keep, image};
    const hid_t access = H5Pcreate(H5P_FILE_ACCESS);
    (void)H5Pset_fapl_core(access, growth, 0);
    (void)H5Pset_file_image_callbacks(access, &calls);
    (void)H5Pset_meta_block_size(access, at_once);
    (void)H5Pset_small_data_block_size(access, at_once);
    /* The forms of HDF5 1.8 (2008) on: their structures carry checksums, so that a damaged file is
     * noticed instead of followed astray. */
    (void)H5Pset_libver_bounds(access, H5F_LIBVER_V18, H5F_LIBVER_V18);
    return access;
}

/* A text in a dataset without a name makes HDF5 take the place for little data now, with its heap
 * of texts and references in it, instead of behind the first large array; the dataset is gone as it
 * closes. */
static void begin_little_data(hid_t file)
{
    const char *const text = "-";
    const hid_t type = H5Tcopy(H5T_C_S1);
    (void)H5Tset_size(type, H5T_VARIABLE);
    const hid_t space = H5Screate(H5S_SCALAR);
    const hid_t dataset = H5Dcreate_anon(file, type, space, H5P_DEFAULT, H5P_DEFAULT);
    (void)H5Dwrite(dataset, type, H5S_ALL, H5S_ALL, H5P_DEFAULT, &text);
    (void)H5Dclose(dataset);
    (void)H5Sclose(space);
    (void)H5Tclose(type);
}

struct image *image_new(hid_t *file)
{
    struct image *image = calloc(1, sizeof *image);
    if (!image) {
        return NULL;
    }
    const hid_t access = access_to(image);
    const hid_t creation = H5Pcreate(H5P_FILE_CREATE);
    (void)H5Pset_link_creation_order(creation, H5P_CRT_ORDER_TRACKED | H5P_CRT_ORDER_INDEXED);
    (void)H5Pset_attr_creation_order(creation, H5P_CRT_ORDER_TRACKED | H5P_CRT_ORDER_INDEXED);
    *file = H5Fcreate("results in memory", H5F_ACC_TRUNC, creation, access);
    (void)H5Pclose(access);
    (void)H5Pclose(creation);
    if (*file < 0) {
        free(image->bytes);
        free(image);
        return NULL;
    }
    begin_little_data(*file);
    return image;
}

bool image_close(struct image *image, hid_t file)
{
    return H5Fclose(file) >= 0 && image->is_ours;
}

const unsigned char *image_bytes(const struct image *image, size_t *size)
{
    *size = image->size;
    return image->bytes;
}

uint64_t image_length(const struct image *image)
{
    /* HDF5 File Format Specification 3.0, superblock of version 2 or 3: eight letters, the version,
     * the size of a place, ... the end of the file at byte 28. */
    enum { VERSION = 8, PLACE_SIZE = 9, END = 28, WHOLE = 48 };
    uint64_t length = 0;
    if (image->size < WHOLE || image->bytes[VERSION] < 2 || image->bytes[PLACE_SIZE] != 8) {
        return 0;
    }
    for (size_t i = 0; i < 8; i++) {
        length |= (uint64_t)image->bytes[END + i] << (8 * i);
    }
    return length;
}

void image_free(struct image *image)
{
    /* What HDF5 could not close it still holds, and looks at as the program ends. */
    if (image && image->is_ours) {
        free(image->bytes);
        free(image);
    }
}
