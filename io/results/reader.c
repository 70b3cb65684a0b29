#include "io/results/reader.h"

#include "io/results/scales.h"
#include "io/results/seal.h"
#include "io/results/texts.h"
#include "models/letters.h"

#include <errno.h>
#include <fcntl.h>
#include <hdf5.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

enum { NAME_MAX_SIZE = 1024, GROUP_MAX = 4096 };

/* A field of more values is left out, and what would have the arena hold more: a file of few bytes
 * can claim any number of values, fields and texts. */
enum { VALUES_MOST = 1 << 27 };

struct reader {
    hid_t file;
};

static bool fail_reading(struct failure *failure, const char *path, const char *what)
{
    const struct place nowhere = {0};
    return fail(failure, FAILURE_INPUT, nowhere, "results '%s': %s", path, what);
}

/* Whether an ordinary file is there whose seal, if it has one, fits. A pipe under that name must
 * not hang the program. */
static bool is_whole(const char *path, struct failure *failure)
{
    struct stat status;
    const int descriptor = open(path, O_RDONLY | O_NONBLOCK | O_CLOEXEC);
    if (descriptor < 0) {
        return fail_reading(failure, path, strerror(errno));
    }
    const bool is_ordinary = fstat(descriptor, &status) == 0 && S_ISREG(status.st_mode);
    const bool is_good = is_ordinary && seal_fits(descriptor);
    (void)close(descriptor);
    if (!is_ordinary) {
        return fail_reading(failure, path, "is not an ordinary file");
    }
    return is_good ||
           fail_reading(failure, path, "is damaged: its fingerprint does not fit; make it anew");
}

struct reader *reader_open(const char *path, struct failure *failure)
{
    if (!is_whole(path, failure)) {
        return NULL;
    }
    (void)H5Eset_auto2(H5E_DEFAULT, NULL, NULL);
    struct reader *reader = calloc(1, sizeof *reader);
    if (!reader) {
        (void)fail_memory(failure, "results");
        return NULL;
    }
    reader->file = H5Fopen(path, H5F_ACC_RDONLY, H5P_DEFAULT);
    if (reader->file < 0) {
        (void)fail_reading(failure, path, "is not a results file (HDF5), or is damaged");
        free(reader);
        return NULL;
    }
    return reader;
}

void reader_close(struct reader *reader)
{
    if (reader) {
        (void)H5Fclose(reader->file);
        free(reader);
    }
}

/* Whether a link is one of the file's own: not to another file, nor by a name that may lead on. */
static bool is_own(hid_t group, const char *name)
{
    H5L_info_t info;
    return H5Lexists(group, name, H5P_DEFAULT) > 0 &&
           H5Lget_info(group, name, &info, H5P_DEFAULT) >= 0 && info.type == H5L_TYPE_HARD;
}

/* Each step of the path must be there. */
static bool is_there(hid_t file, const char *path)
{
    char part[NAME_MAX_SIZE];
    size_t length = strlen(path);
    if (length >= sizeof part) {
        return false;
    }
    for (size_t i = 1; i <= length; i++) {
        if (path[i] == '/' || path[i] == '\0') {
            memcpy(part, path, i);
            part[i] = '\0';
            if (strcmp(part, "/") != 0 && part[i - 1] != '/' && !is_own(file, part)) {
                return false;
            }
        }
    }
    return length > 0;
}

enum reader_kind reader_kind_at(const struct reader *reader, const char *path)
{
    if (!is_there(reader->file, path)) {
        return READER_NOTHING;
    }
    hid_t object = H5Oopen(reader->file, path, H5P_DEFAULT);
    H5I_type_t type = H5Iget_type(object);
    (void)H5Oclose(object);
    if (type == H5I_GROUP) {
        return READER_GROUP;
    }
    return type == H5I_DATASET ? READER_DATASET : READER_NOTHING;
}

/* Everything in the order it was written, else by name. */
static H5_index_t order_of(hid_t group)
{
    unsigned flags = 0;
    hid_t creation = H5Gget_create_plist(group);
    (void)H5Pget_link_creation_order(creation, &flags);
    (void)H5Pclose(creation);
    return (flags & H5P_CRT_ORDER_TRACKED) != 0 ? H5_INDEX_CRT_ORDER : H5_INDEX_NAME;
}

/* A name that a terminal would obey is passed over: nobody could write it to ask for it. */
static bool name_at(hid_t group, hsize_t index, char name[NAME_MAX_SIZE])
{
    ssize_t length = H5Lget_name_by_idx(group, ".", order_of(group), H5_ITER_INC, index, name,
                                        NAME_MAX_SIZE, H5P_DEFAULT);
    return length > 0 && length < NAME_MAX_SIZE && letters_mend(name);
}

static hsize_t member_count(hid_t group)
{
    H5G_info_t info = {0};
    return H5Gget_info(group, &info) >= 0 ? info.nlinks : 0;
}

/* --- all groups --- */

struct group_list {
    const char **paths; /* [GROUP_MAX] */
    haddr_t *places;    /* [GROUP_MAX] where each stands in the file */
    int count;
    struct arena *arena;
    bool is_short;
};

/* Adds a group unless it is there by another path: links may lead in a ring. */
static void add_group(struct group_list *list, hid_t group, const char *path)
{
    H5O_info_t info = {0};
    if (H5Oget_info2(group, &info, H5O_INFO_BASIC) < 0) {
        return;
    }
    for (int i = 0; i < list->count; i++) {
        if (list->places[i] == info.addr) {
            return;
        }
    }
    const char *copy = arena_text(list->arena, path);
    list->is_short = list->is_short || !copy;
    list->paths[list->count] = copy;
    list->places[list->count] = info.addr;
    list->count += copy != NULL;
}

static void add_subgroups(struct group_list *list, hid_t file, const char *path)
{
    char name[NAME_MAX_SIZE];
    char full[2 * NAME_MAX_SIZE];
    hid_t group = H5Gopen2(file, path, H5P_DEFAULT);
    hsize_t count = member_count(group);
    for (hsize_t i = 0; i < count && list->count < GROUP_MAX; i++) {
        if (!name_at(group, i, name) || !is_own(group, name)) {
            continue;
        }
        (void)snprintf(full, sizeof full, "%s/%s", strcmp(path, "/") == 0 ? "" : path, name);
        hid_t member = H5Oopen(file, full, H5P_DEFAULT);
        if (H5Iget_type(member) == H5I_GROUP) {
            add_group(list, member, full);
        }
        (void)H5Oclose(member);
    }
    (void)H5Gclose(group);
}

const char *const *reader_groups(const struct reader *reader, int *count, struct arena *arena,
                                 struct failure *failure)
{
    struct group_list list = {.arena = arena};
    list.paths = arena_take(arena, GROUP_MAX + 1, sizeof *list.paths);
    list.places = arena_take(arena, GROUP_MAX + 1, sizeof *list.places);
    if (!list.paths || !list.places) {
        (void)fail_memory(failure, "the list of groups");
        return NULL;
    }
    hid_t root = H5Gopen2(reader->file, "/", H5P_DEFAULT);
    add_group(&list, root, "/");
    (void)H5Gclose(root);
    /* The list is its own queue: each group found is looked into in turn. */
    for (int i = 0; i < list.count; i++) {
        add_subgroups(&list, reader->file, list.paths[i]);
    }
    if (list.is_short) {
        (void)fail_memory(failure, "the list of groups");
        return NULL;
    }
    *count = list.count;
    return list.paths;
}

/* --- attributes --- */

static const char *text_attribute(hid_t object, const char *name, const char *otherwise,
                                  struct arena *arena)
{
    const char *text = NULL;
    if (H5Aexists(object, name) > 0) {
        hid_t attribute = H5Aopen(object, name, H5P_DEFAULT);
        text = texts_of_attribute(attribute, arena);
        (void)H5Aclose(attribute);
    }
    return text ? text : otherwise;
}

static void read_attribute(hid_t attribute, struct sheet *sheet, struct arena *arena)
{
    char name[NAME_MAX_SIZE];
    double number = 0.0;
    ssize_t length = H5Aget_name(attribute, sizeof name, name);
    const char *copy = length > 0 && length < NAME_MAX_SIZE ? texts_keep(arena, name) : NULL;
    if (!copy) {
        return;
    }
    hid_t type = H5Aget_type(attribute);
    hid_t space = H5Aget_space(attribute);
    H5T_class_t class = H5Tget_class(type);
    if (class == H5T_STRING) {
        const char *text = texts_of_attribute(attribute, arena);
        if (text) {
            sheet_attribute_text(sheet, copy, text);
        }
    } else if ((class == H5T_FLOAT || class == H5T_INTEGER) &&
               H5Sget_simple_extent_npoints(space) == 1 &&
               H5Aread(attribute, H5T_NATIVE_DOUBLE, &number) >= 0) {
        sheet_attribute_number(sheet, copy, number);
    }
    (void)H5Sclose(space);
    (void)H5Tclose(type);
}

static void read_attributes(hid_t group, struct sheet *sheet, struct arena *arena)
{
    H5O_info_t info = {0};
    H5_index_t order = order_of(group);
    if (H5Oget_info2(group, &info, H5O_INFO_NUM_ATTRS) < 0) {
        return;
    }
    for (hsize_t i = 0; i < info.num_attrs && sheet->attribute_count < SHEET_ATTRIBUTE_MAX; i++) {
        hid_t attribute =
            H5Aopen_by_idx(group, ".", order, H5_ITER_INC, i, H5P_DEFAULT, H5P_DEFAULT);
        if (attribute < 0) { /* a group without an order of its attributes */
            attribute =
                H5Aopen_by_idx(group, ".", H5_INDEX_NAME, H5_ITER_INC, i, H5P_DEFAULT, H5P_DEFAULT);
        }
        if (attribute >= 0) {
            read_attribute(attribute, sheet, arena);
            (void)H5Aclose(attribute);
        }
    }
}

/* --- fields --- */

static bool read_numbers(hid_t dataset, struct field *field, struct arena *arena)
{
    double *numbers = arena_take(arena, field->count + 1, sizeof *numbers);
    field->numbers = numbers;
    return numbers && (field->count == 0 || H5Dread(dataset, H5T_NATIVE_DOUBLE, H5S_ALL, H5S_ALL,
                                                    H5P_DEFAULT, numbers) >= 0);
}

/* The sheet's dimension of this name and length; made when it is new. */
static int dimension_for(struct sheet *sheet, const char *name, size_t count, struct arena *arena)
{
    for (int i = 0; i < sheet->dimension_count; i++) {
        if (strcmp(sheet->dimensions[i].name, name) == 0 && sheet->dimensions[i].count == count) {
            return i;
        }
    }
    const char *copy = texts_keep(arena, name);
    return copy ? sheet_dimension(sheet, copy, count) : 0;
}

static bool find_dimensions(hid_t dataset, const char *name, struct sheet *sheet,
                            struct field *field, struct arena *arena)
{
    hsize_t sizes[H5S_MAX_RANK] = {0};
    hid_t space = H5Dget_space(dataset);
    int rank = H5Sget_simple_extent_ndims(space);
    bool is_held = rank >= 0 && rank <= FIELD_RANK;
    (void)H5Sget_simple_extent_dims(space, sizes, NULL);
    (void)H5Sclose(space);
    field->rank = rank;
    field->count = 1;
    for (int i = 0; is_held && i < rank; i++) {
        if (sizes[i] > VALUES_MOST / (field->count ? field->count : 1)) {
            return false;
        }
        char scale[NAME_MAX_SIZE] = "";
        if (scale_is(dataset)) {
            (void)snprintf(scale, sizeof scale, "%s", name);
        } else {
            scale_name(dataset, rank, i, scale, sizeof scale);
        }
        if (!scale[0]) {
            (void)snprintf(scale, sizeof scale, "row of %llu", (unsigned long long)sizes[i]);
        }
        field->dimension[i] = dimension_for(sheet, scale, (size_t)sizes[i], arena);
        field->count *= (size_t)sizes[i];
    }
    return is_held && !sheet->is_full;
}

/* What a value takes in the arena, which begins each text of its own anew; one of any length at
 * least so much. */
static size_t bytes_of_value(hid_t type, H5T_class_t class)
{
    enum { OWN_PIECE = 64 };
    const size_t size = H5Tget_size(type);
    if (class != H5T_STRING) {
        return sizeof(double);
    }
    return 2 * size + OWN_PIECE + sizeof(const char *);
}

/* *is_held becomes false when a sheet does not hold such a thing. False: memory ended. */
static bool read_field(hid_t dataset, const char *name, struct sheet *sheet, bool *is_held,
                       struct arena *arena)
{
    struct field field = {0};
    hid_t type = H5Dget_type(dataset);
    H5T_class_t class = H5Tget_class(type);
    bool is_good = true;
    *is_held = (class == H5T_STRING || class == H5T_FLOAT || class == H5T_INTEGER) &&
               sheet->field_count < SHEET_FIELD_MAX &&
               find_dimensions(dataset, name, sheet, &field, arena) &&
               texts_have_room(arena, field.count, bytes_of_value(type, class));
    if (*is_held) {
        field.name = arena_text(arena, name);
        field.units = text_attribute(dataset, "units", "1", arena);
        field.long_name = text_attribute(dataset, "long_name", "", arena);
        field.kind = class == H5T_FLOAT ? FIELD_NUMBER : FIELD_WHOLE;
        if (class == H5T_STRING) {
            field.kind = FIELD_TEXT;
            is_good = texts_read(dataset, type, &field, arena);
        } else {
            is_good = read_numbers(dataset, &field, arena);
        }
        is_good = is_good && field.name;
        if (is_good) {
            sheet_field(sheet, &field);
        }
    }
    (void)H5Tclose(type);
    return is_good;
}

/* Whether the values are in this file, not taken from others by their names. */
static bool has_own_values(hid_t dataset)
{
    hid_t creation = H5Dget_create_plist(dataset);
    const bool is_elsewhere =
        H5Pget_external_count(creation) > 0 || H5Pget_layout(creation) == H5D_VIRTUAL;
    (void)H5Pclose(creation);
    return !is_elsewhere;
}

static bool read_fields(hid_t group, struct sheet *sheet, int *left_out, struct arena *arena)
{
    char name[NAME_MAX_SIZE];
    bool is_good = true;
    hsize_t count = member_count(group);
    for (hsize_t i = 0; is_good && i < count; i++) {
        if (!name_at(group, i, name)) {
            continue;
        }
        if (!is_own(group, name)) {
            *left_out += 1;
            continue;
        }
        hid_t member = H5Oopen(group, name, H5P_DEFAULT);
        if (H5Iget_type(member) == H5I_DATASET) {
            bool is_held = has_own_values(member);
            is_good = !is_held || read_field(member, name, sheet, &is_held, arena);
            *left_out += !is_held;
        }
        (void)H5Oclose(member);
    }
    return is_good;
}

bool reader_sheet(const struct reader *reader, const char *path, struct sheet *sheet, int *left_out,
                  struct arena *arena, struct failure *failure)
{
    int uncounted = 0;
    const char *copy = arena_text(arena, path);
    sheet_init(sheet, copy ? copy : "");
    if (reader_kind_at(reader, path) != READER_GROUP) {
        return fail_reading(failure, path, "there is no such group in the file");
    }
    hid_t group = H5Gopen2(reader->file, path, H5P_DEFAULT);
    read_attributes(group, sheet, arena);
    bool is_good = read_fields(group, sheet, left_out ? left_out : &uncounted, arena);
    (void)H5Gclose(group);
    return (is_good && copy) || fail(failure, FAILURE_INPUT, (struct place){0},
                                     "results '%s': could not be read, damaged or too large", path);
}
