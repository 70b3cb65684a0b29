#include "io/command/command.h"
#include "io/door/faults.h"
#include "io/terminal/prose.h"

#include <stdarg.h>

static void begin(struct prose *prose, const struct terminal *terminal)
{
    prose_messages(prose, terminal);
    prose_tone(prose, terminal->messages_have_colour, TONE_ERROR, "downsurge:");
    prose_add(prose, " ");
}

void complain(const struct terminal *terminal, const char *format, ...)
{
    struct prose prose;
    va_list arguments;
    begin(&prose, terminal);
    va_start(arguments, format);
    prose_add_list(&prose, format, arguments);
    va_end(arguments);
    prose_add(&prose, "\n");
}

void complain_failure(const struct terminal *terminal, const struct failure *failure)
{
    const struct place *place = &failure->place;
    struct prose prose;
    prose_messages(&prose, terminal);
    if (place->file && place->line > 0) {
        prose_add(&prose, "%s:%d:%d: %s\n", place->file, place->line, place->column,
                  failure->message);
    } else if (place->file) {
        prose_add(&prose, "%s: %s\n", place->file, failure->message);
    } else {
        complain(terminal, "%s", failure->message);
    }
}

void complain_faults(const struct terminal *terminal, const struct faults *faults)
{
    struct prose prose;
    prose_messages(&prose, terminal);
    faults_tell(faults, FAULT_ERROR, &prose);
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
