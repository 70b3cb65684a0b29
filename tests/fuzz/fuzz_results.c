/* Whatever a results file holds that HDF5 can open, and whatever became of one of ours on its way:
 * `show` and `report` give an answer or a message, never a crash. A whole results file is made by
 * a command; the bytes choose which, and what is then changed in it. Bytes of a sealed file (see
 * io/results/seal.h) are changed as a disk might; a file without a seal is changed only through
 * HDF5, as another tool would, for HDF5 1.10 itself can crash on its own damaged bytes. */
#include "io/command/command.h"
#include "io/results/reader.h"
#include "tests/fuzz/fuzz.h"
#include "tests/fuzz/results_changed.h"

#include <stdio.h>
#include <string.h>
#include <unistd.h>

enum { PATH_ROOM = 256, WORDS_MOST = 8, SEEDS = 9, SEAL_ROOM = 80, SIZE_MOST = 1 << 24 };

static const char *const commands_of_seeds[SEEDS][WORDS_MOST] = {
    {"valve", "swing flap", "DN50"},
    {"steady", SOURCE_DIR "/cases/garden-pond.yaml"},
    {"fill", SOURCE_DIR "/cases/float-switch.yaml", "--for", "3 h"},
    {"choose", SOURCE_DIR "/cases/garden-pond.yaml", "--without-surge"},
    {"surge", SOURCE_DIR "/cases/lesson-air-vessel.yaml", "--precision", "quick"},
    {"study", SOURCE_DIR "/tests/fuzz/results/grid.yaml"},
    {"study", SOURCE_DIR "/tests/fuzz/results/importance.yaml"},
    {"study", SOURCE_DIR "/tests/fuzz/results/grid.yaml", "--failures"},
    {"choose", SOURCE_DIR "/tests/fuzz/results/grid.yaml"},
};

struct seed {
    unsigned char *bytes; /* NULL: not made yet */
    size_t size;
};

static int run(const char *const words[], int count)
{
    char room[WORDS_MOST + 4][PATH_ROOM];
    char *copies[WORDS_MOST + 5] = {NULL};
    for (int i = 0; i < count; i++) {
        (void)snprintf(room[i], sizeof room[i], "%s", words[i]);
        copies[i] = room[i];
    }
    return (int)command_main(count, copies);
}

static void write_bytes(const char *path, const unsigned char *bytes, size_t size)
{
    FILE *file = fopen(path, "wb");
    if (!file || fwrite(bytes, 1, size, file) != size || fclose(file) != 0) {
        abort();
    }
}

static void make_seed(struct seed *seed, const char *const command[WORDS_MOST], const char *folder)
{
    char path[PATH_ROOM];
    const char *words[WORDS_MOST + 4] = {"downsurge"};
    int count = 1;
    (void)snprintf(path, sizeof path, "%s/seed.h5", folder);
    for (int i = 0; i < WORDS_MOST && command[i]; i++) {
        words[count++] = command[i];
    }
    words[count++] = "--output";
    words[count++] = path;
    seed->bytes = malloc(SIZE_MOST);
    FILE *file = run(words, count) <= EXIT_CODE_LIMIT ? fopen(path, "rb") : NULL;
    if (!file || !seed->bytes) {
        abort();
    }
    seed->size = fread(seed->bytes, 1, SIZE_MOST, file);
    (void)fclose(file);
    (void)unlink(path);
}

/* As a disk or a cut connection might: some bytes, and where it ends. */
static void damage(const struct seed *seed, const unsigned char *data, size_t left,
                   const char *path)
{
    unsigned char *copy = malloc(seed->size);
    size_t size = seed->size;
    if (!copy) {
        return;
    }
    memcpy(copy, seed->bytes, size);
    if (left > 3 && data[0] % 4 == 0) {
        size = size - 1 - (((size_t)data[1] << 16) + ((size_t)data[2] << 8) + data[3]) % size;
    }
    for (size_t i = 4; i + 4 <= left; i += 4) {
        const size_t at = ((size_t)data[i] << 16) + ((size_t)data[i + 1] << 8) + data[i + 2];
        copy[at % (seed->size - SEAL_ROOM)] = data[i + 3]; /* the seal itself stays */
    }
    write_bytes(path, copy, size);
    struct failure failure = {0};
    struct reader *reader = reader_open(path, &failure);
    if (reader && (size != seed->size || memcmp(copy, seed->bytes, size) != 0)) {
        abort(); /* damaged, and taken as good */
    }
    if (!reader && failure.message[0] == '\0') {
        abort();
    }
    reader_close(reader);
    free(copy);
}

static void look_at(const char *path, const char *folder)
{
    char page[PATH_ROOM];
    char text[PATH_ROOM];
    (void)snprintf(page, sizeof page, "%s/page.html", folder);
    (void)snprintf(text, sizeof text, "%s/text", folder);
    const char *const all[] = {"downsurge", "show", path, "--output", text};
    const char *const json[] = {"downsurge", "show", path, "--json", "--output", text};
    const char *const none[] = {"downsurge", "show", path, "/surge/none", "--output", text};
    const char *const report[] = {"downsurge", "report", path, "--quiet", "--output", page};
    (void)run(all, 5);
    (void)run(json, 6);
    (void)run(none, 6);
    (void)run(report, 6);
    (void)unlink(page);
    (void)unlink(text);
}

int LLVMFuzzerTestOneInput(const unsigned char *data, size_t size)
{
    static struct seed seeds[SEEDS]; /* kept from run to run */
    char folder[] = "/tmp/downsurge-fuzz-XXXXXX";
    char path[PATH_ROOM];
    if (size < 2 || !mkdtemp(folder)) {
        return 0;
    }
    (void)setenv("PATH", "/nowhere", 1); /* without gnuplot, which would take the time */
    (void)snprintf(path, sizeof path, "%s/results.h5", folder);
    const int number = data[0] % SEEDS;
    struct seed *seed = &seeds[number];
    if (!seed->bytes) {
        make_seed(seed, commands_of_seeds[number], folder);
    }
    if (data[1] % 8 == 0) {
        damage(seed, data + 2, size - 2, path);
    } else {
        write_bytes(path, seed->bytes, seed->size - SEAL_ROOM);
        if (results_change(path, data + 2, size - 2)) {
            look_at(path, folder);
        }
    }
    (void)unlink(path);
    (void)rmdir(folder);
    return 0;
}
