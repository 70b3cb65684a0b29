#include "io/results/store.h"

#include "io/results/image.h"
#include "io/results/seal.h"
#include "io/results/whole_file.h"

#include <hdf5.h>
#include <hdf5_hl.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

/* Numbers from this many on go to the disk past HDF5. */
static const size_t many_numbers = 4096;

/* A piece of the file that is on the disk already. */
struct piece {
    uint64_t at;
    uint64_t size;
};

struct store {
    struct image *image;
    hid_t file; /* < 0: closed */
    struct whole_file *out;
    int piece_count;
    int room;
    struct piece *pieces; /* [piece_count] */
};

static bool fail_store(struct failure *failure, const char *what)
{
    const struct place nowhere = {0};
    return fail(failure, FAILURE_MEMORY, nowhere,
                "results: HDF5 could not make %s; did memory end?", what);
}

struct store *store_new(const char *path, struct failure *failure)
{
    struct store *store = calloc(1, sizeof *store);
    if (!store) {
        (void)fail_memory(failure, "results");
        return NULL;
    }
    store->file = -1;
    store->out = whole_file_open(path, WHOLE_FILE_RESULTS, failure);
    if (!store->out) {
        store_free(store);
        return NULL;
    }
    /* Its own messages on stderr would be no help to anybody. */
    (void)H5Eset_auto2(H5E_DEFAULT, NULL, NULL);
    store->image = image_new(&store->file);
    if (!store->image) {
        (void)fail_store(failure, "a file");
        store_free(store);
        return NULL;
    }
    return store;
}

void store_free(struct store *store)
{
    if (store) {
        if (store->file >= 0) {
            (void)image_close(store->image, store->file);
        }
        image_free(store->image);
        whole_file_abandon(store->out);
        free(store->pieces);
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

/* Bytes, for references to texts on their way: the library's own choice, 1 MiB, is filled with
 * noughts for each array of texts, and most have a few. */
static const size_t text_buffer = 4096;

static bool put_texts(hid_t dataset, hid_t type, const struct field *field)
{
    const char **texts = calloc(field->count + 1, sizeof *texts);
    if (!texts) {
        return false;
    }
    for (size_t i = 0; i < field->count; i++) {
        texts[i] = field->texts[i] ? field->texts[i] : "";
    }
    hid_t transfer = H5Pcreate(H5P_DATASET_XFER);
    bool is_good = H5Pset_buffer(transfer, text_buffer, NULL, NULL) >= 0 &&
                   H5Dwrite(dataset, type, H5S_ALL, H5S_ALL, transfer, texts) >= 0;
    (void)H5Pclose(transfer);
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

static bool note_piece(struct store *store, struct piece piece)
{
    if (store->piece_count == store->room) {
        const int room = store->room ? 2 * store->room : 16;
        struct piece *larger = realloc(store->pieces, (size_t)room * sizeof *larger);
        if (!larger) {
            return false;
        }
        store->pieces = larger;
        store->room = room;
    }
    store->pieces[store->piece_count++] = piece;
    return true;
}

/* Many numbers go straight to the place that HDF5 keeps for them. */
static bool put_past(struct store *store, hid_t dataset, const struct field *field,
                     struct failure *failure)
{
    const haddr_t at = H5Dget_offset(dataset);
    const size_t size = field->count * sizeof *field->numbers;
    return at != HADDR_UNDEF && note_piece(store, (struct piece){at, size}) &&
           whole_file_put(store->out, at, size, field->numbers, failure);
}

/* Whether a field's numbers stand in memory as they shall stand in the file, and are many. */
static bool is_past(const struct field *field)
{
    return field->kind == FIELD_NUMBER && field->count >= many_numbers &&
           H5Tequal(H5T_NATIVE_DOUBLE, H5T_IEEE_F64LE) > 0;
}

static bool put_values(struct store *store, hid_t dataset, hid_t text, const struct field *field,
                       struct failure *failure)
{
    if (field->count == 0) {
        return true;
    }
    if (field->kind == FIELD_TEXT) {
        return put_texts(dataset, text, field);
    }
    if (is_past(field)) {
        return put_past(store, dataset, field, failure);
    }
    return H5Dwrite(dataset, H5T_NATIVE_DOUBLE, H5S_ALL, H5S_ALL, H5P_DEFAULT, field->numbers) >= 0;
}

static bool put_field(struct store *store, hid_t group, const struct sheet *sheet,
                      const struct field *field, struct failure *failure)
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
    if (is_past(field)) { /* a place at once, and nothing in it */
        (void)H5Pset_alloc_time(creation, H5D_ALLOC_TIME_EARLY);
        (void)H5Pset_fill_time(creation, H5D_FILL_TIME_NEVER);
    }
    hid_t dataset = H5Dcreate2(group, field->name, type_in_file(field, text), space, H5P_DEFAULT,
                               creation, H5P_DEFAULT);
    bool is_good = dataset >= 0 && put_values(store, dataset, text, field, failure) &&
                   put_text_attribute(dataset, "units", field->units) &&
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

static bool put_fields(struct store *store, hid_t group, const struct sheet *sheet,
                       struct failure *failure)
{
    bool is_good = true;
    for (int i = 0; is_good && i < sheet->field_count; i++) {
        is_good = put_field(store, group, sheet, &sheet->fields[i], failure);
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
    is_good = is_good && put_fields(store, group, sheet, failure);
    (void)H5Gclose(group);
    return is_good || failure->kind == FAILURE_FILE || fail_store(failure, sheet->path);
}

static int compare_pieces(const void *one, const void *other)
{
    const struct piece *a = one;
    const struct piece *b = other;
    return (a->at > b->at) - (a->at < b->at);
}

/* What HDF5 made, around the pieces that are on the disk. */
static bool put_image(struct store *store, struct failure *failure)
{
    size_t size = 0;
    const unsigned char *bytes = image_bytes(store->image, &size);
    const uint64_t length = image_length(store->image);
    const uint64_t end = size < length ? size : length;
    uint64_t at = 0;
    if (store->piece_count > 0) {
        qsort(store->pieces, (size_t)store->piece_count, sizeof *store->pieces, compare_pieces);
    }
    for (int i = 0; i < store->piece_count && store->pieces[i].at < end; i++) {
        if (!whole_file_put(store->out, at, store->pieces[i].at - at, bytes + at, failure)) {
            return false;
        }
        at = store->pieces[i].at + store->pieces[i].size;
    }
    return at >= end || whole_file_put(store->out, at, end - at, bytes + at, failure);
}

bool store_finish(struct store *store, struct failure *failure)
{
    char seal[SEAL_SIZE];
    const bool is_closed = image_close(store->image, store->file);
    store->file = -1;
    const uint64_t length = is_closed ? image_length(store->image) : 0;
    if (length == 0) {
        return fail_store(failure, "the file");
    }
    if (!put_image(store, failure) || !whole_file_stretch(store->out, length, failure)) {
        return false;
    }
    if (!seal_make(fileno(whole_file_stream(store->out)), length, seal)) {
        return fail_memory(failure, "the seal of results");
    }
    if (!whole_file_put(store->out, length, SEAL_SIZE, seal, failure)) {
        return false;
    }
    struct whole_file *out = store->out;
    store->out = NULL;
    return whole_file_finish(out, failure);
}
