#include "models/failure.h"

#include <stdarg.h>
#include <stdio.h>

bool fail(struct failure *failure, enum failure_kind kind, struct place place, const char *format,
          ...)
{
    va_list arguments;
    failure->kind = kind;
    failure->place = place;
    va_start(arguments, format);
    (void)vsnprintf(failure->message, sizeof failure->message, format, arguments);
    va_end(arguments);
    return false;
}
