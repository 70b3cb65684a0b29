/* What makes a dataset a scale (HDF5 Dimension Scales Specification: the attribute CLASS says
 * DIMENSION_SCALE), and that nothing stays open of one whose CLASS says something else. HDF5's own
 * H5DSset_scale is the reference for one that is. */
#include "io/results/scales.h"

#include <criterion/criterion.h>
#include <hdf5_hl.h>
#include <string.h>

/* A file in memory alone. */
static hid_t new_file(void)
{
    const hid_t access = H5Pcreate(H5P_FILE_ACCESS);
    (void)H5Pset_fapl_core(access, 1 << 16, false);
    const hid_t file = H5Fcreate("scales-of-no-disk.h5", H5F_ACC_TRUNC, H5P_DEFAULT, access);
    (void)H5Pclose(access);
    cr_assert(file >= 0);
    return file;
}

static hid_t new_dataset(hid_t file, const char *name)
{
    const hsize_t count = 3;
    const hid_t space = H5Screate_simple(1, &count, NULL);
    const hid_t dataset =
        H5Dcreate2(file, name, H5T_IEEE_F64LE, space, H5P_DEFAULT, H5P_DEFAULT, H5P_DEFAULT);
    (void)H5Sclose(space);
    cr_assert(dataset >= 0);
    return dataset;
}

static void put_class(hid_t dataset, hid_t type, hsize_t count, const void *value)
{
    const hid_t space = count > 0 ? H5Screate_simple(1, &count, NULL) : H5Screate(H5S_SCALAR);
    const hid_t class = H5Acreate2(dataset, "CLASS", type, space, H5P_DEFAULT, H5P_DEFAULT);
    cr_assert(class >= 0 && H5Awrite(class, type, value) >= 0);
    (void)H5Aclose(class);
    (void)H5Sclose(space);
}

static hid_t text_type(size_t size, H5T_str_t end)
{
    const hid_t type = H5Tcopy(H5T_C_S1);
    cr_assert(H5Tset_size(type, size) >= 0 && H5Tset_strpad(type, end) >= 0);
    return type;
}

/* Asks, closes, and wants nothing but the file open. */
static bool ask(hid_t file, hid_t dataset)
{
    const bool is_scale = scale_is(dataset);
    (void)H5Dclose(dataset);
    cr_expect_eq(H5Fget_obj_count(file, H5F_OBJ_ALL), 1, "something was left open");
    return is_scale;
}

Test(scales, class_alone_makes_a_scale)
{
    const hid_t file = new_file();
    const hid_t scale = new_dataset(file, "scale");
    cr_assert(H5DSset_scale(scale, "along") >= 0);
    cr_expect(ask(file, scale));
    cr_expect(!ask(file, new_dataset(file, "plain")));
    (void)H5Fclose(file);
}

Test(scales, another_class_is_none_and_leaves_nothing_open)
{
    static const struct {
        const char *text; /* as long as its type says */
        size_t size;
        hsize_t count; /* 0: a single one */
    } others[] = {
        {"CLASS", 5, 0},
        {"DIMENSION_SCALF", 16, 0},
        {"DIMENSION_SCALE!", 16, 0},
        {"DIMENSION_SCALES", 17, 0},
        {"DIMENSION_SCALE\0DIMENSION_SCALE", 16, 2},
    };
    const hid_t file = new_file();
    for (size_t i = 0; i < sizeof others / sizeof others[0]; i++) {
        char name[] = {'a', (char)('0' + i), '\0'};
        const hid_t dataset = new_dataset(file, name);
        const hid_t type = text_type(others[i].size, H5T_STR_NULLPAD);
        put_class(dataset, type, others[i].count, others[i].text);
        (void)H5Tclose(type);
        cr_expect(!ask(file, dataset), "row %zu", i);
    }
    (void)H5Fclose(file);
}

Test(scales, a_class_that_is_no_text_is_none)
{
    static const int number = 4;
    static const char *const text = "DIMENSION_SCALE";
    const hid_t file = new_file();
    const hid_t count = new_dataset(file, "number");
    put_class(count, H5T_NATIVE_INT, 0, &number);
    cr_expect(!ask(file, count));
    const hid_t any = new_dataset(file, "any length");
    const hid_t type = text_type(H5T_VARIABLE, H5T_STR_NULLTERM);
    put_class(any, type, 0, &text);
    (void)H5Tclose(type);
    cr_expect(!ask(file, any));
    (void)H5Fclose(file);
}
