#include "io/results/store.h"

#include "io/results/seal.h"
#include "io/results/whole_file.h"

#include <hdf5.h>
#include <hdf5_hl.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

struct store {
    hid_t file;
};

static bool fail_store(struct failure *failure, const char *what)
{
    const struct place nowhere = {0};
    return fail(failure, FAILURE_MEMORY, nowhere,
                "results: HDF5 could not make %s; did memory end?", what);
}

struct store *store_new(struct failure *failure)
{
    static const size_t growth = (size_t)4 << 20; /* bytes the image grows by */
    struct store *store = calloc(1, sizeof *store);
    if (!store) {
        (void)fail_memory(failure, "results");
        return NULL;
    }
    /* Its own messages on stderr would be no help to anybody. */
    (void)H5Eset_auto2(H5E_DEFAULT, NULL, NULL);
    hid_t access = H5Pcreate(H5P_FILE_ACCESS);
    hid_t creation = H5Pcreate(H5P_FILE_CREATE);
    (void)H5Pset_fapl_core(access, growth, 0);
    (void)H5Pset_link_creation_order(creation, H5P_CRT_ORDER_TRACKED | H5P_CRT_ORDER_INDEXED);
    (void)H5Pset_attr_creation_order(creation, H5P_CRT_ORDER_TRACKED | H5P_CRT_ORDER_INDEXED);
    /* The forms of HDF5 1.8 (2008) on: their structures carry checksums, so that a damaged file is
     * noticed instead of followed astray. */
    (void)H5Pset_libver_bounds(access, H5F_LIBVER_V18, H5F_LIBVER_V18);
    store->file = H5Fcreate("results in memory", H5F_ACC_TRUNC, creation, access);
    (void)H5Pclose(access);
    (void)H5Pclose(creation);
    if (store->file < 0) {
        (void)fail_store(failure, "a file");
        free(store);
        return NULL;
    }
    return store;
}

void store_free(struct store *store)
{
    if (store) {
        (void)H5Fclose(store->file);
        free(store);
    }
}

/* Text of any length, UTF-8. */
static hid_t text_type(void)
{
    hid_t type = H5Tcopy(H5T_C_S1);
    (void)H5Tset_size(type, H5T_VARIABLE);
    (void)H5Tset_cset(type, H5T_CSET_UTF8);
    return type;
}

/* Attributes have a fixed length, as h5py, xarray and netCDF tools like them best. */
static bool put_text_attribute(hid_t object, const char *name, const char *text)
{
    size_t size = strlen(text);
    hid_t type = H5Tcopy(H5T_C_S1);
    (void)H5Tset_size(type, size > 0 ? size : 1);
    (void)H5Tset_strpad(type, H5T_STR_NULLPAD);
    (void)H5Tset_cset(type, H5T_CSET_UTF8);
    hid_t space = H5Screate(H5S_SCALAR);
    hid_t attribute = H5Acreate2(object, name, type, space, H5P_DEFAULT, H5P_DEFAULT);
    bool is_good = attribute >= 0 && H5Awrite(attribute, type, size > 0 ? text : "\0") >= 0;
    (void)H5Aclose(attribute);
    (void)H5Sclose(space);
    (void)H5Tclose(type);
    return is_good;
}

static bool put_number_attribute(hid_t object, const char *name, double number)
{
    hid_t space = H5Screate(H5S_SCALAR);
    hid_t attribute = H5Acreate2(object, name, H5T_IEEE_F64LE, space, H5P_DEFAULT, H5P_DEFAULT);
    bool is_good = attribute >= 0 && H5Awrite(attribute, H5T_NATIVE_DOUBLE, &number) >= 0;
    (void)H5Aclose(attribute);
    (void)H5Sclose(space);
    return is_good;
}

static bool put_texts(hid_t dataset, hid_t type, const struct field *field)
{
    const char **texts = calloc(field->count + 1, sizeof *texts);
    if (!texts) {
        return false;
    }
    for (size_t i = 0; i < field->count; i++) {
        texts[i] = field->texts[i] ? field->texts[i] : "";
    }
    bool is_good = H5Dwrite(dataset, type, H5S_ALL, H5S_ALL, H5P_DEFAULT, texts) >= 0;
    free(texts);
    return is_good;
}

static hid_t type_in_file(const struct field *field, hid_t text)
{
    if (field->kind == FIELD_TEXT) {
        return text;
    }
    return field->kind == FIELD_WHOLE ? H5T_STD_I64LE : H5T_IEEE_F64LE;
}

static bool put_field(hid_t group, const struct sheet *sheet, const struct field *field)
{
    hsize_t sizes[FIELD_RANK] = {0};
    for (int i = 0; i < field->rank; i++) {
        sizes[i] = sheet->dimensions[field->dimension[i]].count;
    }
    hid_t text = text_type();
    hid_t space =
        field->rank > 0 ? H5Screate_simple(field->rank, sizes, NULL) : H5Screate(H5S_SCALAR);
    hid_t creation = H5Pcreate(H5P_DATASET_CREATE);
    (void)H5Pset_attr_creation_order(creation, H5P_CRT_ORDER_TRACKED | H5P_CRT_ORDER_INDEXED);
    hid_t dataset = H5Dcreate2(group, field->name, type_in_file(field, text), space, H5P_DEFAULT,
                               creation, H5P_DEFAULT);
    bool is_good = dataset >= 0;
    if (is_good && field->count > 0) {
        is_good = field->kind == FIELD_TEXT ? put_texts(dataset, text, field)
                                            : H5Dwrite(dataset, H5T_NATIVE_DOUBLE, H5S_ALL, H5S_ALL,
                                                       H5P_DEFAULT, field->numbers) >= 0;
    }
    is_good = is_good && put_text_attribute(dataset, "units", field->units) &&
              put_text_attribute(dataset, "long_name", field->long_name);
    (void)H5Dclose(dataset);
    (void)H5Pclose(creation);
    (void)H5Sclose(space);
    (void)H5Tclose(text);
    return is_good;
}

/* Makes the field that bears the dimension's name its scale. */
static bool make_scale(hid_t group, const struct sheet *sheet, int dimension)
{
    const struct field *field = sheet_scale(sheet, dimension);
    if (!field) {
        return false;
    }
    hid_t dataset = H5Dopen2(group, field->name, H5P_DEFAULT);
    bool is_good = dataset >= 0 && H5DSset_scale(dataset, field->name) >= 0;
    (void)H5Dclose(dataset);
    return is_good;
}

static bool attach_scales(hid_t group, const struct sheet *sheet, const struct field *field)
{
    hid_t dataset = H5Dopen2(group, field->name, H5P_DEFAULT);
    bool is_good = dataset >= 0;
    for (int i = 0; is_good && i < field->rank; i++) {
        const struct field *scale = sheet_scale(sheet, field->dimension[i]);
        if (scale == field) {
            continue; /* a scale is not attached to itself */
        }
        hid_t other = H5Dopen2(group, scale->name, H5P_DEFAULT);
        is_good = other >= 0 && H5DSattach_scale(dataset, other, (unsigned)i) >= 0;
        (void)H5Dclose(other);
    }
    (void)H5Dclose(dataset);
    return is_good;
}

static bool put_fields(hid_t group, const struct sheet *sheet)
{
    bool is_good = true;
    for (int i = 0; is_good && i < sheet->field_count; i++) {
        is_good = put_field(group, sheet, &sheet->fields[i]);
    }
    for (int i = 0; is_good && i < sheet->dimension_count; i++) {
        is_good = make_scale(group, sheet, i);
    }
    for (int i = 0; is_good && i < sheet->field_count; i++) {
        is_good = attach_scales(group, sheet, &sheet->fields[i]);
    }
    return is_good;
}

static hid_t open_group(hid_t file, const char *path)
{
    if (H5Lexists(file, path, H5P_DEFAULT) > 0 || strcmp(path, "/") == 0) {
        return H5Gopen2(file, path, H5P_DEFAULT);
    }
    hid_t links = H5Pcreate(H5P_LINK_CREATE);
    hid_t creation = H5Pcreate(H5P_GROUP_CREATE);
    (void)H5Pset_create_intermediate_group(links, 1);
    (void)H5Pset_link_creation_order(creation, H5P_CRT_ORDER_TRACKED | H5P_CRT_ORDER_INDEXED);
    (void)H5Pset_attr_creation_order(creation, H5P_CRT_ORDER_TRACKED | H5P_CRT_ORDER_INDEXED);
    hid_t group = H5Gcreate2(file, path, links, creation, H5P_DEFAULT);
    (void)H5Pclose(creation);
    (void)H5Pclose(links);
    return group;
}

bool store_sheet(struct store *store, const struct sheet *sheet, struct failure *failure)
{
    hid_t group = open_group(store->file, sheet->path);
    bool is_good = group >= 0 && !sheet->is_full;
    for (int i = 0; is_good && i < sheet->attribute_count; i++) {
        const struct attribute *attribute = &sheet->attributes[i];
        is_good = attribute->text ? put_text_attribute(group, attribute->name, attribute->text)
                                  : put_number_attribute(group, attribute->name, attribute->number);
    }
    is_good = is_good && put_fields(group, sheet);
    (void)H5Gclose(group);
    return is_good || fail_store(failure, sheet->path);
}

static uint32_t turn(uint32_t word, unsigned by)
{
    return (word << by) | (word >> (32 - by));
}

static uint32_t word_at(const unsigned char *bytes)
{
    return (uint32_t)bytes[0] | (uint32_t)bytes[1] << 8 | (uint32_t)bytes[2] << 16 |
           (uint32_t)bytes[3] << 24;
}

/* Checksum of the 44 bytes of a superblock: lookup3, hashlittle (Jenkins 2006, public domain), as
 * the HDF5 File Format Specification 3.0 asks for; three rounds of mix, then the last 8 bytes. */
static uint32_t superblock_checksum(const unsigned char bytes[44])
{
    static const unsigned mix[6] = {4, 6, 8, 16, 19, 4};
    static const unsigned last[7] = {14, 11, 25, 16, 4, 14, 24};
    uint32_t v[3] = {0xdeadbeef + 44, 0xdeadbeef + 44, 0xdeadbeef + 44};
    for (size_t at = 0; at < 36; at += 12) {
        v[0] += word_at(bytes + at);
        v[1] += word_at(bytes + at + 4);
        v[2] += word_at(bytes + at + 8);
        for (size_t i = 0; i < 6; i++) { /* a, b, c take turns */
            uint32_t *one = &v[i % 3];
            uint32_t *next = &v[(i + 1) % 3];
            uint32_t *before = &v[(i + 2) % 3];
            *one -= *before;
            *one ^= turn(*before, mix[i]);
            *before += *next;
        }
    }
    v[0] += word_at(bytes + 36);
    v[1] += word_at(bytes + 40);
    for (size_t i = 0; i < 7; i++) { /* c, a, b take turns */
        uint32_t *one = &v[(i + 2) % 3];
        const uint32_t *before = &v[(i + 1) % 3];
        *one ^= *before;
        *one -= turn(*before, last[i]);
    }
    return v[2];
}

/* HDF5 1.10 clears the mark "being written" in an image but keeps the checksum from before. */
static void mend_superblock(size_t size, unsigned char *image)
{
    if (size < 48 || (image[8] != 2 && image[8] != 3) || image[9] != 8) {
        return; /* another form, without the checksum at this place */
    }
    uint32_t checksum = superblock_checksum(image);
    for (unsigned i = 0; i < 4; i++) {
        image[44 + i] = (unsigned char)(checksum >> (8 * i));
    }
}

bool store_finish(struct store *store, const char *path, struct failure *failure)
{
    if (H5Fflush(store->file, H5F_SCOPE_GLOBAL) < 0) {
        return fail_store(failure, "the file");
    }
    ssize_t size = H5Fget_file_image(store->file, NULL, 0);
    char *image = size > 0 ? malloc((size_t)size + SEAL_SIZE) : NULL;
    if (!image || H5Fget_file_image(store->file, image, (size_t)size) != size) {
        free(image);
        return fail_store(failure, "the file");
    }
    mend_superblock((size_t)size, (unsigned char *)image);
    seal_make((size_t)size, image, image + size);
    bool is_good = whole_file_write(path, (size_t)size + SEAL_SIZE, image, failure);
    free(image);
    return is_good;
}
