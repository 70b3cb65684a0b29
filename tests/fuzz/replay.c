/* Replays a fuzz target over every file of the folders named, whole, cut short at several lengths,
 * and with single bytes changed (a fixed sequence of pseudo-random numbers, so that a failure
 * repeats). A crash ends the program, and so the test. */
#include "tests/fuzz/fuzz.h"

#include <dirent.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>

enum { SIZE_MOST = 65536, CUTS = SHORT_RUNS ? 1 : 4, CHANGES = SHORT_RUNS ? 2 : 8 };

/* Next number of a xorshift sequence (Marsaglia 2003). */
static uint64_t next_number(uint64_t *state)
{
    *state ^= *state << 13;
    *state ^= *state >> 7;
    *state ^= *state << 17;
    return *state;
}

static void try_changed(unsigned char *data, size_t size)
{
    uint64_t state = 88172645463325252ULL ^ size;
    for (int i = 0; size > 0 && i < CHANGES; i++) {
        const size_t at = (size_t)(next_number(&state) % size);
        const unsigned char kept = data[at];
        data[at] = (unsigned char)next_number(&state);
        LLVMFuzzerTestOneInput(data, size);
        data[at] = kept;
    }
}

static int replay_file(const char *path)
{
    static const char message[] = "%s: cannot be read\n";
    FILE *file = fopen(path, "rb");
    unsigned char *data = malloc(SIZE_MOST);
    if (!file || !data) {
        (void)fprintf(stderr, message, path);
        free(data);
        return 0;
    }
    const size_t size = fread(data, 1, SIZE_MOST, file);
    (void)fclose(file);
    for (size_t cut = 0; cut <= CUTS; cut++) {
        LLVMFuzzerTestOneInput(data, size * cut / CUTS);
    }
    try_changed(data, size);
    free(data);
    return 1;
}

static int replay_folder(const char *name)
{
    int count = 0;
    DIR *folder = opendir(name);
    if (!folder) {
        (void)fprintf(stderr, "%s: no such folder\n", name);
        return 0;
    }
    for (struct dirent *entry = readdir(folder); entry; entry = readdir(folder)) {
        char path[1024];
        if (entry->d_name[0] != '.') {
            (void)snprintf(path, sizeof path, "%s/%s", name, entry->d_name);
            count += replay_file(path);
        }
    }
    (void)closedir(folder);
    return count;
}

int main(int count, char *words[])
{
    int files = 0;
    for (int i = 1; i < count; i++) {
        files += replay_folder(words[i]);
    }
    (void)printf("%d files replayed\n", files);
    return files > 0 ? 0 : 1;
}
