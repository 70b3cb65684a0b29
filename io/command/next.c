#include "io/command/next.h"

#include "io/terminal/prose.h"

#include <string.h>

enum { WORD_SIZE = 400 };

/* A file's name as a shell takes it for one word; a name with a quote is left to the person. */
static const char *word_of(const char *path, char word[WORD_SIZE])
{
    const bool is_plain = path[strspn(path, "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ"
                                            "0123456789._-+/")] == '\0';
    (void)snprintf(word, WORD_SIZE, is_plain || strchr(path, '\'') ? "%s" : "'%s'", path);
    return word;
}

static void tell(const struct terminal *terminal, const char *command, const char *word,
                 const char *what)
{
    prose_tell(terminal, "  downsurge %s %s\n      %s\n", command, word, what);
}

void next_of_case(const struct terminal *terminal, const char *path, const struct site *site)
{
    char word[WORD_SIZE];
    (void)word_of(path, word);
    (void)fputc('\n', terminal->out);
    terminal_say(terminal, TONE_STRONG, "Next\n");
    tell(terminal, "steady", word, "how much water arrives, and what is to be said of the site");
    if (site->valve_count > 0) {
        tell(terminal, "choose", word, "which non-return valve belongs where, and why");
    }
    if (site->surge.is_given) {
        tell(terminal, "surge", word, "what the pipes feel after the events of its section surge");
    }
    if (site->filling.is_given) {
        tell(terminal, "fill", word,
             "levels, switching and energy over the hours of its section filling");
    }
}

void next_of_results(const struct request *request, const struct terminal *terminal)
{
    char word[WORD_SIZE];
    const char *path = request_value(request, "output", NULL);
    if (!path || request_has(request, "json") || request_has(request, "quiet")) {
        return;
    }
    (void)word_of(path, word);
    prose_tell(terminal,
               "\nWritten to %s. Next: 'downsurge report %s' makes a page of it, 'downsurge plot "
               "%s' pictures.\n",
               path, word, word);
}
