#include "io/terminal/terminal.h"

#include <stdlib.h>
#include <string.h>
#include <unistd.h>

static bool is_terminal(FILE *stream)
{
    int descriptor = stream ? fileno(stream) : -1;
    return descriptor >= 0 && isatty(descriptor) == 1;
}

void terminal_init(struct terminal *terminal, FILE *out, FILE *messages)
{
    const char *no_colour = getenv("NO_COLOR");
    const char *kind = getenv("TERM");
    bool is_wanted = (!no_colour || !*no_colour) && kind && strcmp(kind, "dumb") != 0;
    terminal->out = out;
    terminal->messages = messages;
    terminal->messages_are_watched = is_terminal(messages);
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
        /* Bytes 10xxxxxx go on with a character begun before. */
        width += ((unsigned char)*text & 0xC0U) != 0x80U;
    }
    return width;
}
