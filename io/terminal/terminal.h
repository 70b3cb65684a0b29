/* Terminal: what may be written where, and what a stream can show.
 * Colour only on a terminal, never as the only sign, and not when NO_COLOR is set and not empty (an
 * informal standard of many programs, 2017). */
#ifndef IO_TERMINAL_TERMINAL_H
#define IO_TERMINAL_TERMINAL_H

#include <stdbool.h>
#include <stdio.h>

enum terminal_tone { TONE_PLAIN, TONE_STRONG, TONE_WARNING, TONE_ERROR };

struct terminal {
    FILE *out;      /* answers; borrowed */
    FILE *messages; /* everything else, usually stderr; borrowed */
    bool out_has_colour;
    bool messages_have_colour;
    bool messages_are_watched; /* a person sees them as they come: progress makes sense */
    int width;                 /* columns that answers may take; 0: as many as they like */
    int messages_width;        /* the same of messages */
};

/* Looks at the two streams, at NO_COLOR and TERM, and for the width at COLUMNS (20 or more) or else
 * at the terminal. What goes to a file or to another program is not made narrow. */
void terminal_init(struct terminal *terminal, FILE *out, FILE *messages);

/* Starts and ends a tone on `stream`; writes nothing when `has_colour` is false. */
void terminal_tone(FILE *stream, bool has_colour, enum terminal_tone tone);

/* `text` in a tone on the answers' stream. */
void terminal_say(const struct terminal *terminal, enum terminal_tone tone, const char *text);

/* Columns a line of UTF-8 text takes: characters, not bytes (wide characters count as one). */
int terminal_width(const char *text);

#endif
