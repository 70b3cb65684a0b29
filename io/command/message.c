#include "io/command/command.h"

#include <stdarg.h>

static void begin(const struct terminal *terminal)
{
    terminal_tone(terminal->messages, terminal->messages_have_colour, TONE_ERROR);
    (void)fputs("downsurge: ", terminal->messages);
    terminal_tone(terminal->messages, terminal->messages_have_colour, TONE_PLAIN);
}

void complain(const struct terminal *terminal, const char *format, ...)
{
    va_list arguments;
    begin(terminal);
    va_start(arguments, format);
    (void)vfprintf(terminal->messages, format, arguments);
    va_end(arguments);
    (void)fputc('\n', terminal->messages);
}

void complain_failure(const struct terminal *terminal, const struct failure *failure)
{
    const struct place *place = &failure->place;
    if (place->file && place->line > 0) {
        (void)fprintf(terminal->messages, "%s:%d:%d: %s\n", place->file, place->line, place->column,
                      failure->message);
    } else if (place->file) {
        (void)fprintf(terminal->messages, "%s: %s\n", place->file, failure->message);
    } else {
        complain(terminal, "%s", failure->message);
    }
}

enum exit_code exit_code_of(const struct failure *failure)
{
    switch (failure->kind) {
    case FAILURE_NONE:
        return EXIT_CODE_DONE;
    case FAILURE_INPUT:
        return EXIT_CODE_INPUT;
    case FAILURE_FILE:
        return EXIT_CODE_FILE;
    case FAILURE_MEMORY:
    case FAILURE_STOPPED:
        break;
    }
    return EXIT_CODE_NO_SOLUTION;
}
