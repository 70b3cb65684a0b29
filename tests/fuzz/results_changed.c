#include "tests/fuzz/results_changed.h"

#include <hdf5.h>
#include <hdf5_hl.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { OBJECTS_MOST = 600, NAME_ROOM = 256, CHANGES_MOST = 24, LONGEST = 300 };

struct bytes {
    const unsigned char *at;
    size_t left;
};

struct objects {
    int count;
    char names[OBJECTS_MOST][NAME_ROOM];
};

static unsigned next_byte(struct bytes *bytes)
{
    if (bytes->left == 0) {
        return 0;
    }
    bytes->left--;
    return *bytes->at++;
}

static herr_t note(hid_t file, const char *name, const H5O_info_t *info, void *user)
{
    struct objects *objects = user;
    (void)file;
    (void)info;
    if (objects->count < OBJECTS_MOST && strlen(name) < NAME_ROOM && strcmp(name, ".") != 0) {
        (void)snprintf(objects->names[objects->count++], NAME_ROOM, "%s", name);
    }
    return 0;
}

static const char *const texts[] = {"",        "<b>&\"'", "\xff\xfe\x80", "a\nb\tc", "%s%n",
                                    "../../x", "site: {", "nan",          "main",    "suitable"};
static const char *odd_text(struct bytes *bytes)
{
    return texts[next_byte(bytes) % (sizeof texts / sizeof *texts)];
}

static double odd_number(struct bytes *bytes)
{
    static const double numbers[] = {NAN, INFINITY, -INFINITY, 0, -1, 1e308, 5e-324, 4e9, 1, 0.5};
    return numbers[next_byte(bytes) % (sizeof numbers / sizeof *numbers)];
}

/* A space of a shape that the bytes choose; the largest are not there but in name. */
static hid_t odd_space(struct bytes *bytes, hid_t creation)
{
    static const hsize_t sizes[] = {0, 1, 2, 3, 7, LONGEST, 1ULL << 33, (1ULL << 31) + 1};
    hsize_t size[3] = {0};
    hsize_t chunk[3] = {4, 4, 4};
    const unsigned rank = next_byte(bytes) % 4;
    for (unsigned i = 0; i < rank; i++) {
        size[i] = sizes[next_byte(bytes) % 8];
    }
    if (rank == 0) {
        return H5Screate(next_byte(bytes) % 4 == 0 ? H5S_NULL : H5S_SCALAR);
    }
    (void)H5Pset_chunk(creation, (int)rank, chunk);
    return H5Screate_simple((int)rank, size, NULL);
}

static hid_t odd_type(struct bytes *bytes)
{
    static const size_t lengths[] = {1, 3, 64, 1u << 20};
    const unsigned kind = next_byte(bytes) % 8;
    hid_t type = -1;
    switch (kind) {
    case 0:
        return H5Tcopy(H5T_NATIVE_DOUBLE);
    case 1:
        return H5Tcopy(H5T_NATIVE_FLOAT);
    case 2:
        return H5Tcopy(H5T_STD_I64BE);
    case 3:
        return H5Tcreate(H5T_OPAQUE, 5);
    case 4:
        return H5Tvlen_create(H5T_NATIVE_DOUBLE);
    case 5:
        type = H5Tcreate(H5T_COMPOUND, sizeof(double));
        (void)H5Tinsert(type, "value", 0, H5T_NATIVE_DOUBLE);
        return type;
    default:
        type = H5Tcopy(H5T_C_S1);
        (void)H5Tset_size(type, kind == 6 ? H5T_VARIABLE : lengths[next_byte(bytes) % 4]);
        return type;
    }
}

/* Few values of a field, as its kind holds them. */
static void fill(struct bytes *bytes, hid_t dataset, hid_t type, hid_t space)
{
    const hssize_t count = H5Sget_simple_extent_npoints(space);
    if (count < 0 || count > LONGEST) {
        return;
    }
    if (H5Tget_class(type) == H5T_FLOAT || H5Tget_class(type) == H5T_INTEGER) {
        double numbers[LONGEST];
        for (int i = 0; i < LONGEST; i++) {
            numbers[i] = i < 4 ? odd_number(bytes) : i;
        }
        (void)H5Dwrite(dataset, H5T_NATIVE_DOUBLE, H5S_ALL, H5S_ALL, H5P_DEFAULT, numbers);
    } else if (H5Tis_variable_str(type) > 0) {
        const char *words[LONGEST];
        for (int i = 0; i < LONGEST; i++) {
            words[i] = i < 4 ? odd_text(bytes) : "x";
        }
        (void)H5Dwrite(dataset, type, H5S_ALL, H5S_ALL, H5P_DEFAULT, words);
    }
}

static void replace(struct bytes *bytes, hid_t file, const char *name)
{
    hid_t creation = H5Pcreate(H5P_DATASET_CREATE);
    hid_t type = odd_type(bytes);
    hid_t space = odd_space(bytes, creation);
    if (next_byte(bytes) % 16 == 0) {
        (void)H5Pset_layout(creation, H5D_CONTIGUOUS);
        (void)H5Pset_external(creation, "/etc/hostname", 0, H5F_UNLIMITED);
    }
    (void)H5Ldelete(file, name, H5P_DEFAULT);
    hid_t dataset = H5Dcreate2(file, name, type, space, H5P_DEFAULT, creation, H5P_DEFAULT);
    if (dataset >= 0) {
        fill(bytes, dataset, type, space);
        (void)H5Dclose(dataset);
    }
    (void)H5Sclose(space);
    (void)H5Tclose(type);
    (void)H5Pclose(creation);
}

/* New values where a field of numbers stands. */
static void refill(struct bytes *bytes, hid_t file, const char *name)
{
    hid_t dataset = H5Dopen2(file, name, H5P_DEFAULT);
    if (dataset >= 0) {
        hid_t type = H5Dget_type(dataset);
        hid_t space = H5Dget_space(dataset);
        fill(bytes, dataset, type, space);
        (void)H5Sclose(space);
        (void)H5Tclose(type);
        (void)H5Dclose(dataset);
    }
}

static void lead_elsewhere(struct bytes *bytes, hid_t file, const char *name)
{
    const unsigned kind = next_byte(bytes) % 4;
    (void)H5Ldelete(file, name, H5P_DEFAULT);
    if (kind == 0) {
        (void)H5Lcreate_hard(file, "/", file, name, H5P_DEFAULT, H5P_DEFAULT); /* a ring */
    } else if (kind == 1) {
        (void)H5Lcreate_soft(name, file, name, H5P_DEFAULT, H5P_DEFAULT);
    } else if (kind == 2) {
        (void)H5Lcreate_external("/etc/hostname", "/", file, name, H5P_DEFAULT, H5P_DEFAULT);
    } else {
        (void)H5Lcreate_soft("/steady", file, name, H5P_DEFAULT, H5P_DEFAULT);
    }
}

static void change_attribute(struct bytes *bytes, hid_t file, const char *name)
{
    char attribute[NAME_ROOM];
    const hsize_t number = next_byte(bytes) % 32;
    hid_t one =
        H5Aopen_by_idx(file, name, H5_INDEX_NAME, H5_ITER_INC, number, H5P_DEFAULT, H5P_DEFAULT);
    if (one < 0) {
        return;
    }
    const ssize_t length = H5Aget_name(one, sizeof attribute, attribute);
    (void)H5Aclose(one);
    if (length <= 0 || length >= NAME_ROOM) {
        return;
    }
    const unsigned kind = next_byte(bytes) % 3;
    const double value = odd_number(bytes);
    (void)H5Adelete_by_name(file, name, attribute, H5P_DEFAULT);
    if (kind == 0) {
        (void)H5LTset_attribute_double(file, name, attribute, &value, 1);
    } else if (kind == 1) {
        (void)H5LTset_attribute_string(file, name, attribute, odd_text(bytes));
    }
}

static void change(struct bytes *bytes, hid_t file, const struct objects *objects)
{
    const unsigned number = (next_byte(bytes) << 8) + next_byte(bytes);
    const char *name = objects->names[number % (unsigned)objects->count];
    const char *other = objects->names[(number / 7) % (unsigned)objects->count];
    switch (next_byte(bytes) % 8) {
    case 0:
        (void)H5Ldelete(file, name, H5P_DEFAULT);
        break;
    case 1:
        (void)H5Ldelete(file, other, H5P_DEFAULT);
        (void)H5Lmove(file, name, file, other, H5P_DEFAULT, H5P_DEFAULT);
        break;
    case 2:
    case 3:
        replace(bytes, file, name);
        break;
    case 4:
        refill(bytes, file, name);
        break;
    case 5:
        lead_elsewhere(bytes, file, name);
        break;
    case 6:
        change_attribute(bytes, file, "/");
        break;
    default:
        change_attribute(bytes, file, name);
        break;
    }
}

bool results_change(const char *path, const unsigned char *data, size_t left)
{
    struct bytes bytes = {data, left};
    struct objects *objects = calloc(1, sizeof *objects);
    (void)H5Eset_auto2(H5E_DEFAULT, NULL, NULL);
    hid_t file = H5Fopen(path, H5F_ACC_RDWR, H5P_DEFAULT);
    if (file >= 0 && objects) {
        (void)H5Ovisit2(file, H5_INDEX_NAME, H5_ITER_INC, note, objects, H5O_INFO_BASIC);
        for (int i = 0; i < CHANGES_MOST && bytes.left > 0 && objects->count > 0; i++) {
            change(&bytes, file, objects);
        }
    }
    free(objects);
    return file >= 0 && H5Fclose(file) >= 0;
}
