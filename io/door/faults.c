#include "io/door/faults.h"

#include <stdlib.h>
#include <string.h>

enum { FIRST_ROOM = 16 };

void faults_init(struct faults *faults, struct arena *arena)
{
    memset(faults, 0, sizeof *faults);
    faults->arena = arena;
}

static struct fault *take(struct faults *faults)
{
    if (faults->count == faults->room) {
        const int room = faults->room ? 2 * faults->room : FIRST_ROOM;
        struct fault *list = arena_take(faults->arena, (size_t)room, sizeof *list);
        if (!list) {
            faults->memory_ended = true;
            return NULL;
        }
        if (faults->count > 0) {
            memcpy(list, faults->list, (size_t)faults->count * sizeof *list);
        }
        faults->list = list;
        faults->room = room;
    }
    return &faults->list[faults->count++];
}

/* Room for one more of this level, or NULL when enough are kept. */
static struct fault *add(struct faults *faults, enum fault_level level)
{
    faults->found[level]++;
    if (faults->found[level] > FAULTS_MOST) {
        return NULL;
    }
    struct fault *fault = take(faults);
    if (fault) {
        fault->level = level;
    }
    return fault;
}

bool faults_add_list(struct faults *faults, enum fault_level level, struct place place,
                     const char *format, va_list arguments)
{
    struct fault *fault = add(faults, level);
    if (fault) {
        (void)fail_list(&fault->failure, FAILURE_INPUT, place, format, arguments);
    }
    return false;
}

bool faults_add(struct faults *faults, enum fault_level level, struct place place,
                const char *format, ...)
{
    va_list arguments;
    va_start(arguments, format);
    (void)faults_add_list(faults, level, place, format, arguments);
    va_end(arguments);
    return false;
}

bool faults_add_failure(struct faults *faults, const struct failure *failure)
{
    struct fault *fault = add(faults, FAULT_ERROR);
    if (fault) {
        fault->failure = *failure;
    }
    return false;
}

bool faults_add_memory(struct faults *faults, const char *what)
{
    struct failure failure;
    (void)fail_memory(&failure, what);
    faults->memory_ended = true;
    return faults_add_failure(faults, &failure);
}

int faults_count(const struct faults *faults, enum fault_level level)
{
    return faults->found[level];
}

/* What is told where memory ended before any error could be noted. */
static const struct failure no_memory = {
    .kind = FAILURE_MEMORY, .message = "memory ended while making room for what is wrong"};

const struct failure *faults_first(const struct faults *faults)
{
    for (int i = 0; i < faults->count; i++) {
        if (faults->list[i].level == FAULT_ERROR) {
            return &faults->list[i].failure;
        }
    }
    return faults->memory_ended ? &no_memory : NULL;
}

bool faults_is_wrong(const struct faults *faults, struct place place)
{
    for (int i = 0; i < faults->count; i++) {
        const struct place *told = &faults->list[i].failure.place;
        if (faults->list[i].level == FAULT_ERROR && told->line == place.line &&
            told->column == place.column && told->file && place.file &&
            strcmp(told->file, place.file) == 0) {
            return true;
        }
    }
    return false;
}

/* Errors without a file (memory, for one) come first; the case before its tables. */
static int file_rank(const struct fault *fault)
{
    const char *file = fault->failure.place.file;
    if (!file) {
        return 0;
    }
    const size_t length = strlen(file);
    return length >= 4 && strcmp(file + length - 4, ".csv") == 0 ? 2 : 1;
}

static int compare(const void *left, const void *right)
{
    const struct fault *a = left;
    const struct fault *b = right;
    if (file_rank(a) != file_rank(b)) {
        return file_rank(a) < file_rank(b) ? -1 : 1;
    }
    const struct place *p = &a->failure.place;
    const struct place *q = &b->failure.place;
    const int order = p->file && q->file ? strcmp(p->file, q->file) : 0;
    if (order != 0) {
        return order;
    }
    if (p->line != q->line) {
        return p->line < q->line ? -1 : 1;
    }
    if (p->column != q->column) {
        return p->column < q->column ? -1 : 1;
    }
    return strcmp(a->failure.message, b->failure.message);
}

void faults_sort(struct faults *faults)
{
    if (faults->count > 1) {
        qsort(faults->list, (size_t)faults->count, sizeof *faults->list, compare);
    }
}

void faults_tell(const struct faults *faults, enum fault_level level, struct prose *prose)
{
    int kept = 0;
    for (int i = 0; i < faults->count; i++) {
        const struct failure *failure = &faults->list[i].failure;
        if (faults->list[i].level != level) {
            continue;
        }
        kept++;
        if (failure->place.file && failure->place.line > 0) {
            prose_add(prose, "%s:%d:%d: %s\n", failure->place.file, failure->place.line,
                      failure->place.column, failure->message);
        } else if (failure->place.file) {
            prose_add(prose, "%s: %s\n", failure->place.file, failure->message);
        } else {
            prose_add(prose, "%s\n", failure->message);
        }
    }
    if (faults->found[level] > kept) {
        prose_add(prose, "and %d more%s\n", faults->found[level] - kept,
                  faults->memory_ended ? ", for which there was no memory" : "");
    } else if (faults->memory_ended && level == FAULT_ERROR) {
        prose_add(prose, "memory ended\n");
    }
    prose_end(prose);
}

void faults_write(const struct faults *faults, enum fault_level level, FILE *out)
{
    struct prose prose;
    prose_plain(&prose, out);
    faults_tell(faults, level, &prose);
}
