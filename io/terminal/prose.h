/* Prose: text for people in lines no longer than they can read or their terminal can show.
 * It is written piece by piece like to a stream and folded at blanks on its way. What it is told
 * as one line stays one where it fits; else its next lines begin below the last gap of two or more
 * blanks near the line's start, where a list has its second column, or else below the line's first
 * word, and two columns further in where up to 19 blanks stand before it. Memory is taken only
 * for long pieces. */
#ifndef IO_TERMINAL_PROSE_H
#define IO_TERMINAL_PROSE_H

#include "io/terminal/terminal.h"
#include "models/failure.h"

struct prose {
    FILE *out;    /* borrowed */
    int limit;    /* columns; 0: no line is folded */
    int extra;    /* above 0: instead of these two */
    int at;       /* columns of the line that are written */
    int hang;     /* blanks before a next line */
    int blanks;   /* that stand before the word */
    int length;   /* bytes of the word, which waits for its end */
    bool is_next; /* this line is one of the next ones */
    char word[256];
};

/* Answers: to the terminal's width, at most 100 columns; 80 where what is written goes elsewhere.
 */
void prose_answers(struct prose *prose, const struct terminal *terminal);

/* Messages: as answers on a terminal; one line each where they go elsewhere, for programs that look
 * for places in them. */
void prose_messages(struct prose *prose, const struct terminal *terminal);

/* Onto a stream, without folding. */
void prose_plain(struct prose *prose, FILE *out);

/* More text, of any length. A line end ends a line. When memory has ended, a piece of more than
 * 1000 bytes loses its end, but for whole letters. */
void prose_add(struct prose *prose, const char *format, ...) PRINTF_LIKE(2, 3);

/* The same, of a list of arguments. */
void prose_add_list(struct prose *prose, const char *format, va_list arguments) PRINTF_LIKE(2, 0);

/* The same, as it stands. */
void prose_text(struct prose *prose, const char *text);

/* The same in a tone, which `has_colour` may be false for. */
void prose_tone(struct prose *prose, bool has_colour, enum terminal_tone tone, const char *text);

/* Writes the word that waits. */
void prose_end(struct prose *prose);

/* One piece of the answers, whole lines. */
void prose_tell(const struct terminal *terminal, const char *format, ...) PRINTF_LIKE(2, 3);

/* The same with a word in a tone and a colon before it: "exceeded: ...". */
void prose_mark(const struct terminal *terminal, enum terminal_tone tone, const char *word,
                const char *format, ...) PRINTF_LIKE(4, 5);

#endif
