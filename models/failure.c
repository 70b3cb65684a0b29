#include "models/failure.h"

#include "models/letters.h"

#include <stdlib.h>

bool fail_list(struct failure *failure, enum failure_kind kind, struct place place,
               const char *format, va_list arguments)
{
    char room[2 * FAILURE_MESSAGE_SIZE];
    failure->kind = kind;
    failure->place = place;
    char *whole = letters_print(sizeof room, room, format, arguments);
    letters_fit(whole, sizeof failure->message, failure->message);
    if (whole != room) {
        free(whole);
    }
    return false;
}

bool fail(struct failure *failure, enum failure_kind kind, struct place place, const char *format,
          ...)
{
    va_list arguments;
    va_start(arguments, format);
    (void)fail_list(failure, kind, place, format, arguments);
    va_end(arguments);
    return false;
}
