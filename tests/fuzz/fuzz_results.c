/* Whatever a results file holds that HDF5 can open, and whatever became of one of ours on its way:
 * `show` and `report` give an answer or a message, never a crash. A whole results file is made by
 * a command; the bytes choose which, and what is then changed in it. Bytes of a sealed file (see
 * io/results/seal.h) are changed as a disk might. A file without a seal is changed through HDF5, as
 * another tool would, in a child of its own: HDF5 1.10 may crash there, and nothing of it stays.
 * Its bytes too are damaged; then the program's guard reads it, and HDF5 may crash
 * (io/command/guard.h). */
#include "io/command/command.h"
#include "io/command/guard.h"
#include "io/results/reader.h"
#include "tests/fuzz/fuzz.h"
#include "tests/fuzz/results_changed.h"

#include <errno.h>
#include <hdf5.h>
#include <signal.h>
#include <stdio.h>
#include <string.h>
#include <sys/wait.h>
#include <unistd.h>

enum { PATH_ROOM = 256, WORDS_MOST = 8, SEEDS = 9, SEAL_ROOM = 80, SIZE_MOST = 1 << 24 };
enum { PATIENCE = 60 }; /* s by the clock that a child may take */

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

/* As a disk or a cut connection might: some bytes of the first `whole`, and where it ends. What it
 * is then; *size of it. */
static unsigned char *damage(const struct seed *seed, size_t whole, const unsigned char *data,
                             size_t left, const char *path, size_t *size)
{
    unsigned char *copy = malloc(seed->size);
    *size = whole;
    if (!copy) {
        abort();
    }
    memcpy(copy, seed->bytes, seed->size);
    /* Not where the seal is to tell of it: a file cut within its seal has none. */
    if (whole < seed->size && left > 3 && data[0] % 4 == 0) {
        *size = whole - 1 - (((size_t)data[1] << 16) + ((size_t)data[2] << 8) + data[3]) % whole;
    }
    for (size_t i = 4; i + 4 <= left; i += 4) {
        const size_t at = ((size_t)data[i] << 16) + ((size_t)data[i + 1] << 8) + data[i + 2];
        copy[at % (seed->size - SEAL_ROOM)] = data[i + 3]; /* the seal itself stays */
    }
    write_bytes(path, copy, *size);
    return copy;
}

static void damage_sealed(const struct seed *seed, const unsigned char *data, size_t left,
                          const char *path)
{
    size_t size = 0;
    unsigned char *copy = damage(seed, seed->size, data, left, path, &size);
    struct failure failure = {0};
    struct reader *reader = reader_open(path, &failure);
    if (reader && memcmp(copy, seed->bytes, size) != 0) {
        abort(); /* damaged, and taken as good */
    }
    if (!reader && failure.message[0] == '\0') {
        abort();
    }
    reader_close(reader);
    free(copy);
}

/* A child in which HDF5 may crash without a word to libFuzzer. */
static pid_t start_child(void)
{
    static const int signals[] = {SIGSEGV, SIGBUS, SIGABRT, SIGFPE, SIGILL};
    const pid_t child = fork();
    if (child < 0) {
        abort();
    }
    for (size_t i = 0; child == 0 && i < sizeof signals / sizeof *signals; i++) {
        (void)signal(signals[i], SIG_DFL);
    }
    if (child == 0) {
        (void)signal(SIGALRM, SIG_DFL);
        (void)alarm(PATIENCE);
    }
    return child;
}

static int status_of(pid_t child)
{
    int status = 0;
    while (waitpid(child, &status, 0) != child) {
        if (errno != EINTR) { /* libFuzzer's own alarm rings now and then */
            abort();
        }
    }
    return status;
}

/* The whole program on damaged bytes that no seal tells of. */
static void damage_unsealed(const struct seed *seed, const unsigned char *data, size_t left,
                            const char *path)
{
    size_t size = 0;
    free(damage(seed, seed->size - SEAL_ROOM, data, left, path, &size));
    const pid_t child = start_child();
    if (child == 0) {
        char program[] = "downsurge";
        char show[] = "show";
        char json[] = "--json";
        char quiet[] = "--quiet";
        char file[PATH_ROOM];
        int code = 0;
        (void)snprintf(file, sizeof file, "%s", path);
        char *words[] = {program, show, file, json, quiet, NULL};
        _exit(guard_waits(5, words, &code) ? code : (int)command_main(5, words));
    }
    /* The sanitizers' own end of it, 1, is taken for a crash: HDF5 copies beyond its blocks. */
    enum { SANITIZERS_CODE = 1 };
    const int status = status_of(child);
    const int code = WIFEXITED(status) ? WEXITSTATUS(status) : -1;
    const bool took_long = WIFSIGNALED(status) && WTERMSIG(status) == SIGALRM;
    if (!took_long && code != EXIT_CODE_DONE && code != EXIT_CODE_INPUT &&
        code != SANITIZERS_CODE) {
        (void)fprintf(stderr, "the program ended with status 0x%x\n", (unsigned)status);
        abort();
    }
}

/* False: HDF5 would not have the change, or crashed. */
static bool change_apart(const char *path, const unsigned char *data, size_t left)
{
    const pid_t child = start_child();
    if (child == 0) {
        _exit(results_change(path, data, left) ? 0 : 1);
    }
    const int status = status_of(child);
    return WIFEXITED(status) && WEXITSTATUS(status) == 0;
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
        damage_sealed(seed, data + 2, size - 2, path);
    } else if (data[1] % 8 == 1) {
        damage_unsealed(seed, data + 2, size - 2, path);
    } else {
        write_bytes(path, seed->bytes, seed->size - SEAL_ROOM);
        if (change_apart(path, data + 2, size - 2)) {
            look_at(path, folder);
        }
    }
    if (H5Fget_obj_count(H5F_OBJ_ALL, H5F_OBJ_ALL) > 0) {
        abort(); /* something of a file was left open */
    }
    (void)unlink(path);
    (void)rmdir(folder);
    return 0;
}
