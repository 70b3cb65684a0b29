#include "io/terminal/prose.h"

#include "models/letters.h"

#include <stdarg.h>
#include <stdlib.h>
#include <string.h>

enum {
    USUAL_PIECE = 1000,
    WIDEST = 100,
    USUAL = 80,
    GAP_WITHIN = 34,
    SECOND_COLUMN = 20,
    WORD_LONGEST = 250
};

static int narrow(int width)
{
    return width < WIDEST ? width : WIDEST;
}

void prose_answers(struct prose *prose, const struct terminal *terminal)
{
    prose_plain(prose, terminal->out);
    prose->limit = terminal->width > 0 ? narrow(terminal->width) : USUAL;
}

void prose_messages(struct prose *prose, const struct terminal *terminal)
{
    prose_plain(prose, terminal->messages);
    prose->limit = narrow(terminal->messages_width);
    prose->extra = 4;
}

void prose_plain(struct prose *prose, FILE *out)
{
    memset(prose, 0, sizeof *prose);
    prose->out = out;
}

/* The word that waits, on this line or the next. */
static void put_word(struct prose *prose)
{
    if (prose->length == 0) {
        return;
    }
    prose->word[prose->length] = '\0';
    const int columns = terminal_width(prose->word);
    if (prose->at == 0) {
        /* An item of a list; but not the second column of one whose first stands above. */
        const int usual = prose->blanks > 0 && prose->blanks < SECOND_COLUMN ? 2 : 0;
        prose->hang = prose->blanks + (prose->extra > 0 ? prose->extra : usual);
    } else if (prose->blanks > 1 && !prose->is_next && prose->at + prose->blanks <= GAP_WITHIN) {
        prose->hang = prose->at + prose->blanks;
    }
    if (prose->limit > 0 && prose->at > prose->hang &&
        prose->at + prose->blanks + columns > prose->limit) {
        (void)fprintf(prose->out, "\n%*s", prose->hang, "");
        prose->at = prose->hang;
        prose->blanks = 0;
        prose->is_next = true;
    }
    (void)fprintf(prose->out, "%*s%s", prose->blanks, "", prose->word);
    prose->at += prose->blanks + columns;
    prose->blanks = 0;
    prose->length = 0;
}

static void end_line(struct prose *prose)
{
    put_word(prose);
    (void)fputc('\n', prose->out);
    prose->at = 0;
    prose->blanks = 0;
    prose->is_next = false;
}

/* A number and what follows it, mostly its unit, stay together. */
static bool is_number(const struct prose *prose)
{
    const char *last = prose->word + prose->length - 1;
    return prose->length > 0 && prose->length < 16 && *last >= '0' && *last <= '9' &&
           strspn(prose->word, "0123456789.-+e") >= (size_t)prose->length;
}

void prose_text(struct prose *prose, const char *text)
{
    for (; *text; text++) {
        if (*text == '\n') {
            end_line(prose);
        } else if (*text == ' ' && text[1] > ' ' && is_number(prose)) {
            prose->word[prose->length++] = *text;
        } else if (*text == ' ') {
            put_word(prose);
            prose->blanks++;
        } else {
            if (prose->length + 1 == (int)sizeof prose->word ||
                (prose->length >= WORD_LONGEST && !letter_goes_on(*text))) {
                put_word(prose); /* between two letters */
            }
            prose->word[prose->length++] = *text;
        }
    }
}

void prose_add_list(struct prose *prose, const char *format, va_list arguments)
{
    char room[USUAL_PIECE];
    char *text = letters_print(sizeof room, room, format, arguments);
    prose_text(prose, text);
    if (text != room) {
        free(text);
    }
}

void prose_add(struct prose *prose, const char *format, ...)
{
    va_list arguments;
    va_start(arguments, format);
    prose_add_list(prose, format, arguments);
    va_end(arguments);
}

void prose_tone(struct prose *prose, bool has_colour, enum terminal_tone tone, const char *text)
{
    put_word(prose);
    terminal_tone(prose->out, has_colour, tone);
    prose_text(prose, text);
    put_word(prose);
    terminal_tone(prose->out, has_colour, TONE_PLAIN);
}

void prose_end(struct prose *prose)
{
    put_word(prose);
}

void prose_tell(const struct terminal *terminal, const char *format, ...)
{
    struct prose prose;
    va_list arguments;
    prose_answers(&prose, terminal);
    va_start(arguments, format);
    prose_add_list(&prose, format, arguments);
    va_end(arguments);
    prose_end(&prose);
}

void prose_mark(const struct terminal *terminal, enum terminal_tone tone, const char *word,
                const char *format, ...)
{
    struct prose prose;
    va_list arguments;
    prose_answers(&prose, terminal);
    prose.extra = 4;
    prose_tone(&prose, terminal->out_has_colour, tone, word);
    prose_add(&prose, ": ");
    va_start(arguments, format);
    prose_add_list(&prose, format, arguments);
    va_end(arguments);
    prose_end(&prose);
}
