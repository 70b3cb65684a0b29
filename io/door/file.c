#include "io/door/file.h"

#include "models/letters.h"

#include <errno.h>
#include <fcntl.h>
#include <stdint.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

/* Opens without waiting: a pipe or a device under that name must not hang the program. */
static int open_ordinary(const char *path, size_t most, size_t *size, struct failure *failure)
{
    const struct place place = {.file = path};
    struct stat about;
    const int handle = open(path, O_RDONLY | O_NONBLOCK | O_CLOEXEC);
    if (handle < 0) {
        (void)fail(failure, FAILURE_FILE, place, "cannot be opened: %s", strerror(errno));
        return -1;
    }
    if (fstat(handle, &about) != 0) {
        (void)fail(failure, FAILURE_FILE, place, "cannot be examined: %s", strerror(errno));
    } else if (S_ISDIR(about.st_mode)) {
        (void)fail(failure, FAILURE_FILE, place, "is a folder, not a file");
    } else if (!S_ISREG(about.st_mode)) {
        (void)fail(failure, FAILURE_FILE, place, "is not an ordinary file");
    } else if (about.st_size < 0 || (size_t)about.st_size > most) {
        (void)fail(
            failure, FAILURE_FILE, place,
            "is larger than the %zu MiB that are read; long rows of points and pipes belong into "
            "the files of section 'tables', up to 1024 MiB each",
            most >> 20);
    } else {
        *size = (size_t)about.st_size;
        return handle;
    }
    (void)close(handle);
    return -1;
}

bool file_try(const char *path, struct failure *failure)
{
    size_t size = 0;
    const int handle = open_ordinary(path, SIZE_MAX, &size, failure);
    if (handle >= 0) {
        (void)close(handle);
    }
    return handle >= 0;
}

char *file_read(const char *path, size_t most, struct arena *arena, size_t *size,
                struct failure *failure)
{
    const struct place place = {.file = path};
    size_t length = 0;
    size_t done = 0;
    const int handle = open_ordinary(path, most, &length, failure);
    if (handle < 0) {
        return NULL;
    }
    char *text = arena_take(arena, length + 1, 1);
    if (!text) {
        (void)close(handle);
        (void)fail_memory(failure, "a file");
        return NULL;
    }
    while (done < length) {
        const ssize_t got = read(handle, text + done, length - done);
        if (got < 0 && errno == EINTR) {
            continue;
        }
        if (got < 0) {
            (void)fail(failure, FAILURE_FILE, place, "cannot be read: %s", strerror(errno));
            (void)close(handle);
            return NULL;
        }
        if (got == 0) {
            break; /* it became shorter while we read */
        }
        done += (size_t)got;
    }
    (void)close(handle);
    text[done] = '\0';
    *size = done;
    return text;
}

/* How many bytes from `at` on are printable ASCII or line feeds; most of a text is, and goes eight
 * at a time. */
static size_t plain_bytes(const unsigned char *at, size_t left)
{
    static const uint64_t ones = 0x0101010101010101U;
    static const uint64_t high = 0x8080808080808080U;
    size_t count = 0;
    for (; count + sizeof(uint64_t) <= left; count += sizeof(uint64_t)) {
        uint64_t word;
        memcpy(&word, at + count, sizeof word);
        /* The high bits tell, where all bytes are ASCII. */
        const uint64_t not_below = (word | high) - 0x20 * ones;         /* below a blank */
        const uint64_t not_delete = (word ^ 0x7F * ones) + 0x7F * ones; /* 0x7F */
        const uint64_t not_feed = (word ^ (uint64_t)'\n' * ones) + 0x7F * ones;
        if (((word | (~not_below & not_feed) | ~not_delete) & high) != 0) {
            break;
        }
    }
    while (count < left && ((at[count] >= 0x20 && at[count] < 0x7F) || at[count] == '\n')) {
        count++;
    }
    return count;
}

/* Where byte `end` of a text of good letters stands: lines from 1, letters of its line from 1. */
static struct place place_of(const char *file, const char *text, size_t end)
{
    struct place place = {.file = file, .line = 1, .column = 1};
    for (size_t i = 0; i < end; i++) {
        place.column += letter_goes_on(text[i]) ? 0 : 1;
        if (text[i] == '\n') {
            place.line++;
            place.column = 1;
        }
    }
    return place;
}

bool text_check(const char *file, const char *text, size_t size, struct failure *failure)
{
    const unsigned char *at = (const unsigned char *)text;
    size_t i = 0;
    while (i < size) {
        i += plain_bytes(at + i, size - i);
        if (i == size) {
            break;
        }
        unsigned code = 0;
        const size_t length = letter_take(at + i, size - i, &code);
        if (length == 0) {
            return fail(failure, FAILURE_INPUT, place_of(file, text, i),
                        "byte 0x%02X is not UTF-8 text; save the file as UTF-8", at[i]);
        }
        if (letter_is_control(code)) {
            return fail(failure, FAILURE_INPUT, place_of(file, text, i),
                        "control character 0x%02X is not allowed; this does not look like text",
                        code);
        }
        i += length;
    }
    return true;
}
