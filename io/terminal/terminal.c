#include "io/terminal/terminal.h"

#include "models/letters.h"

#include <stdlib.h>
#include <string.h>
#include <sys/ioctl.h>
#include <unistd.h>

static bool is_terminal(FILE *stream)
{
    int descriptor = stream ? fileno(stream) : -1;
    return descriptor >= 0 && isatty(descriptor) == 1;
}

static int width_of(FILE *stream)
{
    static const int least = 20;
    struct winsize size = {0};
    const char *said = getenv("COLUMNS");
    long columns = said ? strtol(said, NULL, 10) : 0;
    if (columns >= least && columns < 10000) {
        return (int)columns;
    }
    return is_terminal(stream) && ioctl(fileno(stream), TIOCGWINSZ, &size) == 0 &&
                   size.ws_col >= least
               ? size.ws_col
               : 0;
}

void terminal_init(struct terminal *terminal, FILE *out, FILE *messages)
{
    const char *no_colour = getenv("NO_COLOR");
    const char *kind = getenv("TERM");
    bool is_wanted = (!no_colour || !*no_colour) && kind && strcmp(kind, "dumb") != 0;
    terminal->out = out;
    terminal->messages = messages;
    terminal->messages_are_watched = is_terminal(messages);
    terminal->width = width_of(out);
    terminal->messages_width = terminal->messages_are_watched ? width_of(messages) : 0;
    terminal->out_has_colour = is_wanted && is_terminal(out);
    terminal->messages_have_colour = is_wanted && terminal->messages_are_watched;
}

void terminal_tone(FILE *stream, bool has_colour, enum terminal_tone tone)
{
    /* Select Graphic Rendition of ECMA-48: bold, and with it yellow or red. */
    static const char *const codes[] = {"\033[0m", "\033[1m", "\033[1;33m", "\033[1;31m"};
    if (has_colour) {
        (void)fputs(codes[tone], stream);
    }
}

void terminal_say(const struct terminal *terminal, enum terminal_tone tone, const char *text)
{
    terminal_tone(terminal->out, terminal->out_has_colour, tone);
    (void)fputs(text, terminal->out);
    terminal_tone(terminal->out, terminal->out_has_colour && tone != TONE_PLAIN, TONE_PLAIN);
}

int terminal_width(const char *text)
{
    int width = 0;
    for (; *text; text++) {
        width += !letter_goes_on(*text);
    }
    return width;
}
