/* Failure: an error as a value, with the place in the user's case that caused it.
 * A function that can fail returns true when done, takes `struct failure *` last and is MUST_CHECK;
 * the function that knows the reason fills it with fail(). Only main turns kinds into exit codes.
 */
#ifndef MODELS_FAILURE_H
#define MODELS_FAILURE_H

#include <stdarg.h>
#include <stdbool.h>

#define MUST_CHECK __attribute__((warn_unused_result))
#define PRINTF_LIKE(template, first) __attribute__((format(printf, template, first)))

/* Where in the user's files something was said. All zero: nowhere. */
struct place {
    const char *file; /* borrowed from the case's arena; NULL: nowhere */
    int line;         /* from 1 */
    int column;       /* from 1 */
};

enum failure_kind {
    FAILURE_NONE = 0,
    FAILURE_INPUT,  /* the case or the command line is wrong */
    FAILURE_FILE,   /* a file cannot be read or written */
    FAILURE_MEMORY, /* memory ended */
    FAILURE_STOPPED /* the caller's progress callback asked to stop */
};

enum { FAILURE_MESSAGE_SIZE = 640 };

struct failure {
    enum failure_kind kind;
    struct place place;
    char message[FAILURE_MESSAGE_SIZE]; /* "subject 'name': what is wrong; value seen; remedy" */
};

/* Fills `failure` and returns false, so that a function can say
 * `return fail(failure, FAILURE_INPUT, place, "pump '%s': ...", name);`. Of a message too long some
 * of the middle is left out (letters_fit), so that its end, the reason and the remedy, stays.
 * `failure` may not be NULL. */
bool fail(struct failure *failure, enum failure_kind kind, struct place place, const char *format,
          ...) PRINTF_LIKE(4, 5);

/* The same, of a list of arguments. */
bool fail_list(struct failure *failure, enum failure_kind kind, struct place place,
               const char *format, va_list arguments) PRINTF_LIKE(4, 0);

/* fail() for memory that ended; `what` names what it was wanted for. Here in full, so that a
 * compiler or analyser sees everywhere that it gives false and does not follow NULL further. */
static inline bool fail_memory(struct failure *failure, const char *what)
{
    const struct place nowhere = {0};
    (void)fail(failure, FAILURE_MEMORY, nowhere, "memory ended while making room for %s", what);
    return false;
}

#endif
