#include "io/results/texts.h"

#include "models/letters.h"

#include <string.h>

static const size_t HELD_MOST = (size_t)1 << 31;

bool texts_have_room(const struct arena *arena, size_t count, size_t size)
{
    const size_t held = arena_size(arena);
    return held < HELD_MOST && count < (HELD_MOST - held) / size;
}

char *texts_keep(struct arena *arena, const char *text)
{
    char *copy = arena_text(arena, text);
    if (copy) {
        (void)letters_mend(copy);
    }
    return copy;
}

const char *texts_of_attribute(hid_t attribute, struct arena *arena)
{
    hid_t type = H5Aget_type(attribute);
    hid_t space = H5Aget_space(attribute);
    char *text = NULL;
    if (H5Tget_class(type) == H5T_STRING && H5Sget_simple_extent_npoints(space) == 1) {
        if (H5Tis_variable_str(type) > 0) {
            char *held = NULL;
            if (H5Aread(attribute, type, &held) >= 0 && held) {
                text = texts_keep(arena, held);
                (void)H5free_memory(held);
            }
        } else {
            const size_t size = H5Tget_size(type) + 1;
            text = texts_have_room(arena, 1, size) ? arena_take(arena, size, 1) : NULL;
            if (text && H5Aread(attribute, type, text) < 0) {
                text = NULL;
            }
            if (text) {
                (void)letters_mend(text);
            }
        }
    }
    (void)H5Sclose(space);
    (void)H5Tclose(type);
    return text;
}

/* Room for one text of any length that HDF5 is about to give us. */
static void *take_text(size_t size, void *arena)
{
    return texts_have_room(arena, size, 1) ? arena_take(arena, size, 1) : NULL;
}

static void leave_text(void *text, void *arena)
{
    (void)text; /* goes with the arena */
    (void)arena;
}

/* Texts of any lengths, from HDF5 right into the arena. */
static bool read_long_texts(hid_t dataset, hid_t type, size_t count, const char **texts,
                            struct arena *arena)
{
    char **held = arena_take(arena, count + 1, sizeof *held);
    hid_t transfer = H5Pcreate(H5P_DATASET_XFER);
    bool is_good = held &&
                   H5Pset_vlen_mem_manager(transfer, take_text, arena, leave_text, arena) >= 0 &&
                   H5Dread(dataset, type, H5S_ALL, H5S_ALL, transfer, held) >= 0;
    for (size_t i = 0; is_good && i < count; i++) {
        if (held[i]) {
            (void)letters_mend(held[i]);
        }
        texts[i] = held[i] ? held[i] : "";
    }
    (void)H5Pclose(transfer);
    return is_good;
}

bool texts_read(hid_t dataset, hid_t type, struct field *field, struct arena *arena)
{
    const char **texts = arena_take(arena, field->count + 1, sizeof *texts);
    if (!texts) {
        return false;
    }
    bool is_good = true;
    if (H5Tis_variable_str(type) > 0) {
        is_good = read_long_texts(dataset, type, field->count, texts, arena);
    } else {
        size_t size = H5Tget_size(type);
        char *block = arena_take(arena, field->count + 1, size);
        is_good = block && H5Dread(dataset, type, H5S_ALL, H5S_ALL, H5P_DEFAULT, block) >= 0;
        for (size_t i = 0; is_good && i < field->count; i++) {
            char *text = arena_take(arena, size + 1, 1);
            is_good = text != NULL;
            if (is_good) {
                memcpy(text, block + i * size, size);
                (void)letters_mend(text);
                texts[i] = text;
            }
        }
    }
    field->texts = texts;
    return is_good;
}
