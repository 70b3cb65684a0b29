#include "io/results/whole_file.h"

#include "io/results/leftovers.h"

#include <assert.h>
#include <errno.h>
#include <fcntl.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

enum { TRIES_MOST = 20 };

struct whole_file {
    char *path;      /* final name */
    char *temporary; /* name while it is written */
    FILE *stream;
};

static bool fail_file(struct failure *failure, const char *path, const char *what)
{
    const struct place place = {0};
    return fail(failure, FAILURE_FILE, place, "file '%s': %s%s%s", path, what, errno ? ": " : "",
                errno ? strerror(errno) : "");
}

static void free_file(struct whole_file *file)
{
    free(file->path);
    free(file->temporary);
    free(file);
}

/* Rights of the file that is replaced, else of an ordinary new one; mkstemp gives only the owner's.
 */
static void give_rights(int descriptor, const char *path)
{
    struct stat there;
    mode_t mask = umask(0);
    (void)umask(mask);
    (void)fchmod(descriptor, stat(path, &there) == 0 ? there.st_mode & 0777 : 0666 & ~mask);
}

static bool make_names(struct whole_file *file, const char *path)
{
    const size_t size = strlen(path) + sizeof UNFINISHED;
    file->path = strdup(path);
    file->temporary = malloc(size);
    if (!file->path || !file->temporary) {
        return false;
    }
    return true;
}

/* A new file beside its final name, held so that nobody takes it for a leftover. Less than 0: none
 * can be made. */
static int make_file(struct whole_file *file)
{
    for (int tries = 0; tries < TRIES_MOST; tries++) {
        (void)snprintf(file->temporary, strlen(file->path) + sizeof UNFINISHED, "%s%s", file->path,
                       UNFINISHED);
        errno = 0;
        const int descriptor = mkstemp(file->temporary);
        if (descriptor < 0 || leftover_hold(descriptor)) {
            return descriptor;
        }
        (void)unlink(file->temporary);
        (void)close(descriptor);
    }
    return -1;
}

/* Whether what is open under `path` may be replaced by a file that begins with `beginning`. */
static bool is_same_kind(int handle, const char *path, const char *beginning,
                         struct failure *failure)
{
    char begins[sizeof WHOLE_FILE_PAGE + sizeof WHOLE_FILE_RESULTS] = "";
    const char *mark = beginning ? beginning : WHOLE_FILE_RESULTS;
    const size_t length = strlen(mark);
    assert(length < sizeof begins);
    errno = 0;
    const ssize_t got = pread(handle, begins, length, 0);
    const bool is_alike = got == (ssize_t)length && memcmp(begins, mark, length) == 0;
    if (got < 0) {
        return fail_file(failure, path, "cannot be replaced");
    }
    if (got > 0 && is_alike != (beginning != NULL)) {
        return fail_file(failure, path,
                         beginning ? "is there already and of another kind than what would replace "
                                     "it; choose another name, or remove it"
                                   : "is there already and holds results, which a text would "
                                     "replace; choose another name, or remove it");
    }
    return true;
}

/* A folder or a device of that name must not be replaced by a file, nor what somebody wants kept.
 */
static bool is_place_for_file(const char *path, const char *beginning, struct failure *failure)
{
    struct stat status;
    errno = 0;
    if (lstat(path, &status) != 0) {
        return true;
    }
    if (S_ISLNK(status.st_mode)) {
        return fail_file(failure, path, "is a symbolic link; name what it leads to, or remove it");
    }
    if (!S_ISREG(status.st_mode)) {
        return fail_file(failure, path, "cannot be written, it is not an ordinary file");
    }
    if (access(path, W_OK) != 0) {
        return fail_file(failure, path, "may not be replaced");
    }
    const int handle = open(path, O_RDONLY | O_NONBLOCK | O_CLOEXEC);
    if (handle < 0) {
        return fail_file(failure, path, "cannot be looked into before it is replaced");
    }
    const bool is_good = is_same_kind(handle, path, beginning, failure);
    (void)close(handle);
    return is_good;
}

struct whole_file *whole_file_open(const char *path, const char *beginning, struct failure *failure)
{
    if (!is_place_for_file(path, beginning, failure)) {
        return NULL;
    }
    struct whole_file *file = calloc(1, sizeof *file);
    if (!file || !make_names(file, path)) {
        (void)fail_memory(failure, "the name of a file");
        if (file) {
            free_file(file);
        }
        return NULL;
    }
    leftovers_clear(path);
    const int descriptor = make_file(file);
    if (descriptor < 0) {
        (void)fail_file(failure, path, "cannot be written");
        free_file(file);
        return NULL;
    }
    give_rights(descriptor, path);
    file->stream = fdopen(descriptor, "wb");
    if (!file->stream) {
        (void)fail_file(failure, path, "cannot be written");
        (void)close(descriptor);
        (void)unlink(file->temporary);
        free_file(file);
        return NULL;
    }
    return file;
}

bool whole_file_try(const char *path, const char *beginning, struct failure *failure)
{
    struct whole_file *file = whole_file_open(path, beginning, failure);
    whole_file_abandon(file);
    return file != NULL;
}

FILE *whole_file_stream(struct whole_file *file)
{
    return file->stream;
}

/* Not every file system can do it, and the file itself is safe by then: no failure. */
static void bring_folder_to_disk(const char *path)
{
    char folder[4096] = ".";
    const char *slash = strrchr(path, '/');
    size_t length = slash ? (size_t)(slash - path) : 0;
    if (slash && length < sizeof folder) {
        memcpy(folder, path, length);
        folder[length] = '\0';
        if (length == 0) {
            folder[0] = '/';
            folder[1] = '\0';
        }
    }
    int descriptor = open(folder, O_RDONLY);
    if (descriptor >= 0) {
        (void)fsync(descriptor);
        (void)close(descriptor);
    }
}

/* A name given only where there is none (POSIX.1-2008 link fails if there is one); not every file
 * system can do so. */
static bool take_free_name(const struct whole_file *file)
{
    struct stat status;
    if (link(file->temporary, file->path) == 0) {
        (void)unlink(file->temporary);
        return true;
    }
    if (errno == EEXIST || lstat(file->path, &status) == 0) {
        errno = EEXIST;
        return false;
    }
    return rename(file->temporary, file->path) == 0;
}

static bool finish(struct whole_file *file, bool is_new, struct failure *failure)
{
    errno = 0;
    bool is_good =
        ferror(file->stream) == 0 && fflush(file->stream) == 0 && fsync(fileno(file->stream)) == 0;
    /* Renamed while it is still held; what is on the disk by then does not need the closing. */
    is_good = is_good && (is_new ? take_free_name(file) : rename(file->temporary, file->path) == 0);
    int reason = errno;
    if (fclose(file->stream) != 0 && reason == 0) {
        reason = errno; /* of a write long before, which is tried once more */
    }
    errno = reason;
    if (is_good) {
        bring_folder_to_disk(file->path);
    } else {
        (void)fail_file(failure, file->path, "could not be written");
        (void)unlink(file->temporary);
    }
    free_file(file);
    return is_good;
}

bool whole_file_finish(struct whole_file *file, struct failure *failure)
{
    return finish(file, false, failure);
}

bool whole_file_finish_new(struct whole_file *file, struct failure *failure)
{
    return finish(file, true, failure);
}

void whole_file_abandon(struct whole_file *file)
{
    if (file) {
        (void)fclose(file->stream);
        (void)unlink(file->temporary);
        free_file(file);
    }
}

bool whole_file_put(struct whole_file *file, uint64_t at, uint64_t size, const void *bytes,
                    struct failure *failure)
{
    /* Past the stream, which would forget why a write failed. */
    const char *from = bytes;
    while (size > 0) {
        errno = 0;
        ssize_t written = pwrite(fileno(file->stream), from, size, (off_t)at);
        if (written < 0 && errno == EINTR) {
            continue;
        }
        if (written <= 0) {
            return fail_file(failure, file->path, "could not be written");
        }
        from += written;
        at += (uint64_t)written;
        size -= (uint64_t)written;
    }
    return true;
}

bool whole_file_stretch(struct whole_file *file, uint64_t size, struct failure *failure)
{
    errno = 0;
    return ftruncate(fileno(file->stream), (off_t)size) == 0 ||
           fail_file(failure, file->path, "could not be written");
}

bool whole_file_write(const char *path, size_t size, const void *bytes, struct failure *failure)
{
    struct whole_file *file = whole_file_open(path, NULL, failure);
    if (!file) {
        return false;
    }
    if (!whole_file_put(file, 0, size, bytes, failure)) {
        whole_file_abandon(file);
        return false;
    }
    return whole_file_finish(file, failure);
}
