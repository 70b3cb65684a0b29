#include "io/results/study_journal.h"

#include <errno.h>
#include <fcntl.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/file.h>
#include <sys/stat.h>
#include <time.h>
#include <unistd.h>

enum { HEAD_SIZE = 160 };

/* One row in the file: index, status, reason, values, checksum; no gaps. */
struct study_journal {
    char *path;
    int descriptor;
    off_t size; /* of what is whole */
    int measure_count;
    size_t record_size;
    unsigned char *record;
    struct timespec synced;
};

static bool fail_journal(const struct study_journal *journal, const char *what,
                         struct failure *failure)
{
    const char *reason = errno ? strerror(errno) : "";
    return fail(failure, FAILURE_FILE, (struct place){0}, "file '%s': %s%s%s", journal->path, what,
                *reason ? ": " : "", reason);
}

/* FNV-1a, 64 bits (Fowler, Noll & Vo; RFC 9923): notices a record of which only a part was
 * written. */
static uint64_t checksum(size_t size, const unsigned char *bytes)
{
    uint64_t sum = 0xcbf29ce484222325U;
    for (size_t i = 0; i < size; i++) {
        sum = (sum ^ bytes[i]) * 0x100000001b3U;
    }
    return sum;
}

static size_t pack(const struct study_journal *journal, int index, const struct row *row)
{
    const int32_t numbers[] = {index, (int32_t)row->status};
    const size_t value_size = (size_t)journal->measure_count * sizeof(double);
    unsigned char *at = journal->record;
    memcpy(at, numbers, sizeof numbers);
    at += sizeof numbers;
    memcpy(at, row->reason, ROW_REASON_SIZE);
    at += ROW_REASON_SIZE;
    memcpy(at, row->value, value_size);
    at += value_size;
    const uint64_t sum = checksum((size_t)(at - journal->record), journal->record);
    memcpy(at, &sum, sizeof sum);
    return (size_t)(at - journal->record) + sizeof sum;
}

/* False: the record is not whole. */
static bool unpack(const struct study_journal *journal, int *index, struct row *row)
{
    int32_t numbers[2];
    uint64_t sum = 0;
    const size_t body = journal->record_size - sizeof sum;
    memcpy(&sum, journal->record + body, sizeof sum);
    if (sum != checksum(body, journal->record)) {
        return false;
    }
    row_init(row);
    memcpy(numbers, journal->record, sizeof numbers);
    memcpy(row->reason, journal->record + sizeof numbers, ROW_REASON_SIZE);
    row->reason[ROW_REASON_SIZE - 1] = '\0';
    memcpy(row->value, journal->record + sizeof numbers + ROW_REASON_SIZE,
           (size_t)journal->measure_count * sizeof(double));
    *index = numbers[0];
    row->status = (enum row_status)numbers[1];
    return numbers[1] >= ROW_DONE && numbers[1] <= ROW_NO_FILLING;
}

static bool write_all(int descriptor, size_t size, const void *bytes)
{
    const unsigned char *at = bytes;
    while (size > 0) {
        const ssize_t written = write(descriptor, at, size);
        if (written < 0 && errno == EINTR) {
            continue;
        }
        if (written <= 0) {
            return false;
        }
        at += written;
        size -= (size_t)written;
    }
    return true;
}

/* Bytes read, fewer only at the end of the file. */
static size_t read_all(int descriptor, size_t size, void *bytes)
{
    unsigned char *at = bytes;
    size_t got = 0;
    while (got < size) {
        const ssize_t here = read(descriptor, at + got, size - got);
        if (here < 0 && errno == EINTR) {
            continue;
        }
        if (here <= 0) {
            break;
        }
        got += (size_t)here;
    }
    return got;
}

static void make_head(const char *fingerprint, const struct rows *rows, char head[HEAD_SIZE])
{
    memset(head, 0, HEAD_SIZE);
    (void)snprintf(head, HEAD_SIZE, "downsurge study journal 1\n%s\n%d rows of %d\n", fingerprint,
                   rows->count, rows->measure_count);
}

/* Reads what is whole and cuts off the rest. */
static bool read_rows(struct study_journal *journal, struct rows *rows, struct arena *arena,
                      struct failure *failure)
{
    struct row row;
    int index = 0;
    while (read_all(journal->descriptor, journal->record_size, journal->record) ==
               journal->record_size &&
           unpack(journal, &index, &row) && index >= 0 && index < rows->count) {
        if (!rows_put(rows, index, &row, arena, failure)) {
            return false;
        }
        journal->size += (off_t)journal->record_size;
    }
    if (ftruncate(journal->descriptor, journal->size) != 0 ||
        lseek(journal->descriptor, journal->size, SEEK_SET) != journal->size) {
        return fail_journal(journal, "cannot be gone on with", failure);
    }
    return true;
}

/* Opens the journal for this program alone; through no link, and without waiting for a pipe. */
static bool hold(struct study_journal *journal, struct failure *failure)
{
    struct stat status;
    errno = 0;
    journal->descriptor =
        open(journal->path, O_RDWR | O_CREAT | O_CLOEXEC | O_NOFOLLOW | O_NONBLOCK, 0666);
    if (journal->descriptor < 0) {
        return fail_journal(journal,
                            errno == ELOOP ? "is a symbolic link; remove it" : "cannot be written",
                            failure);
    }
    if (fstat(journal->descriptor, &status) != 0 || !S_ISREG(status.st_mode)) {
        return fail_journal(journal, "cannot be written, it is not an ordinary file", failure);
    }
    /* Without a name it is that of a study which has just ended. */
    if (flock(journal->descriptor, LOCK_EX | LOCK_NB) != 0 ||
        fstat(journal->descriptor, &status) != 0 || status.st_nlink == 0) {
        errno = 0;
        return fail_journal(journal, "another study is writing it", failure);
    }
    return true;
}

static bool start(struct study_journal *journal, const char *fingerprint, struct rows *rows,
                  struct arena *arena, struct failure *failure)
{
    char wanted[HEAD_SIZE];
    char found[HEAD_SIZE];
    if (!hold(journal, failure)) {
        return false;
    }
    make_head(fingerprint, rows, wanted);
    const size_t size = read_all(journal->descriptor, HEAD_SIZE, found);
    journal->size = HEAD_SIZE;
    if (memcmp(found, wanted, size) != 0) {
        errno = 0;
        return fail_journal(journal,
                            "holds rows of another study, or of this one before the case was "
                            "changed, or something else; remove it, or write the results elsewhere",
                            failure);
    }
    if (size == HEAD_SIZE) {
        return read_rows(journal, rows, arena, failure);
    }
    /* New, or ended before its head was whole: then no row was in it. */
    if (ftruncate(journal->descriptor, 0) != 0 || lseek(journal->descriptor, 0, SEEK_SET) != 0 ||
        !write_all(journal->descriptor, HEAD_SIZE, wanted)) {
        return fail_journal(journal, "could not be written", failure);
    }
    return true;
}

struct study_journal *study_journal_open(const char *path, const char fingerprint[SHA256_TEXT_SIZE],
                                         struct rows *rows, struct arena *arena,
                                         struct failure *failure)
{
    struct study_journal *journal = calloc(1, sizeof *journal);
    if (!journal) {
        (void)fail_memory(failure, "the journal of the study");
        return NULL;
    }
    journal->descriptor = -1;
    journal->measure_count = rows->measure_count;
    journal->record_size = 2 * sizeof(int32_t) + ROW_REASON_SIZE +
                           (size_t)rows->measure_count * sizeof(double) + sizeof(uint64_t);
    journal->record = malloc(journal->record_size);
    journal->path = strdup(path);
    if (!journal->record || !journal->path) {
        (void)fail_memory(failure, "the journal of the study");
    } else if (start(journal, fingerprint, rows, arena, failure)) {
        return journal;
    }
    study_journal_close(journal, false);
    return NULL;
}

bool study_journal_add(struct study_journal *journal, int index, const struct row *row,
                       struct failure *failure)
{
    struct timespec now = {0};
    const size_t size = pack(journal, index, row);
    errno = 0;
    if (!write_all(journal->descriptor, size, journal->record)) {
        const int reason = errno;
        (void)!ftruncate(journal->descriptor, journal->size);
        errno = reason;
        return fail_journal(journal, "could not be written", failure);
    }
    journal->size += (off_t)size;
    (void)clock_gettime(CLOCK_MONOTONIC, &now);
    if (now.tv_sec > journal->synced.tv_sec) {
        journal->synced = now;
        (void)fdatasync(journal->descriptor);
    }
    return true;
}

void study_journal_close(struct study_journal *journal, bool is_over)
{
    if (!journal) {
        return;
    }
    if (journal->descriptor >= 0) {
        if (is_over) {
            (void)unlink(journal->path);
        } else {
            (void)fdatasync(journal->descriptor);
        }
        (void)close(journal->descriptor);
    }
    free(journal->path);
    free(journal->record);
    free(journal);
}
