/* Faults: everything found wrong, doubtful or assumed while a case was read, in one list.
 * Reading goes on after each, so that all the errors come in one go; at the end the list stands in
 * the order of the files. */
#ifndef IO_DOOR_FAULTS_H
#define IO_DOOR_FAULTS_H

#include "io/terminal/prose.h"
#include "models/arena.h"
#include "models/failure.h"

#include <stdio.h>

enum {
    FAULTS_MOST = 200 /* kept of each level; the rest is only counted */
};

enum fault_level {
    FAULT_ERROR,   /* the case cannot be used */
    FAULT_DOUBT,   /* it can, but a person should look again */
    FAULT_ASSUMED, /* not said in the case; what was taken instead */
    FAULT_LEVEL_COUNT
};

struct fault {
    enum fault_level level;
    struct failure failure;
};

struct faults {
    struct arena *arena; /* borrowed */
    int count;
    int room;
    struct fault *list;           /* [count] */
    int found[FAULT_LEVEL_COUNT]; /* of each level, kept or not */
    bool memory_ended;            /* an entry could not be kept */
};

/* An empty list whose memory is `arena`'s. */
void faults_init(struct faults *faults, struct arena *arena);

/* Adds one; the message is printf's. Always returns false. */
bool faults_add(struct faults *faults, enum fault_level level, struct place place,
                const char *format, ...) PRINTF_LIKE(4, 5);

/* The same, of a list of arguments. */
bool faults_add_list(struct faults *faults, enum fault_level level, struct place place,
                     const char *format, va_list arguments) PRINTF_LIKE(4, 0);

/* Adds a failure as an error. Always returns false. */
bool faults_add_failure(struct faults *faults, const struct failure *failure);

/* Notes that memory ended; `what` names what it was wanted for. Always returns false. */
bool faults_add_memory(struct faults *faults, const char *what);

/* How many of this level were found, kept or not. */
int faults_count(const struct faults *faults, enum fault_level level);

/* The first error; that memory ended, where no error could be noted for it; or NULL. */
const struct failure *faults_first(const struct faults *faults);

/* Whether an error is told at this place already. */
bool faults_is_wrong(const struct faults *faults, struct place place);

/* Puts the list in order of file (as first met), line and column. */
void faults_sort(struct faults *faults);

/* Tells those of a level, one a line: "file:line:column: message", and "and N more". */
void faults_tell(const struct faults *faults, enum fault_level level, struct prose *prose);

/* The same onto a stream. */
void faults_write(const struct faults *faults, enum fault_level level, FILE *out);

#endif
