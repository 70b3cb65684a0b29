#include "io/command/command.h"
#include "io/nearest.h"

#include <assert.h>
#include <string.h>

const struct option common_options[] = {
    {"json", 0, NULL, NULL, "write one JSON document instead of text"},
    {"output", 'o', "FILE", NULL, "write the results to FILE (HDF5 where a command solves)"},
    {"quiet", 'q', NULL, NULL,
     "no text on the standard output, no doubts, no progress; with --json its document alone"},
    {"strict", 0, NULL, NULL, "end with 1 when a limit is exceeded"},
    {"help", 'h', NULL, NULL, "tell how the command is used, with an example"},
    {"version", 0, NULL, NULL, "tell the version"},
    {NULL, 0, NULL, NULL, NULL},
};

static int option_count(const struct option *options)
{
    int count = 0;
    while (options && options[count].name) {
        count++;
    }
    return count;
}

/* Option number `index`: the command's own come first, then the common ones. */
static const struct option *option_at(const struct command *command, int index)
{
    int own = option_count(command->options);
    if (index < own) {
        return &command->options[index];
    }
    return index - own < option_count(common_options) ? &common_options[index - own] : NULL;
}

static int option_find(const struct command *command, const char *name, size_t length)
{
    const struct option *option = NULL;
    for (int i = 0; (option = option_at(command, i)); i++) {
        if (strlen(option->name) == length && strncmp(option->name, name, length) == 0) {
            return i;
        }
    }
    return -1;
}

bool request_has(const struct request *request, const char *name)
{
    return request_value(request, name, NULL) != NULL;
}

const char *request_value(const struct request *request, const char *name, const char *otherwise)
{
    int index = option_find(request->command, name, strlen(name));
    assert(index >= 0 && index < OPTION_COUNT_MAX);
    return request->values[index] ? request->values[index] : otherwise;
}

bool request_is_silent(const struct request *request)
{
    return request_has(request, "quiet") && !request_has(request, "json");
}

static bool refuse_unknown(const struct request *request, const char *word)
{
    const struct command *command = request->command;
    const struct option *option = NULL;
    struct nearest nearest;
    char name[64];
    size_t length = strcspn(word + 2, "=");
    (void)snprintf(name, sizeof name, "%.*s", length < 63 ? (int)length : 63, word + 2);
    nearest_start(&nearest, name);
    for (int i = 0; (option = option_at(command, i)); i++) {
        nearest_offer(&nearest, option->name);
    }
    char meant[80];
    char otherwise[80];
    (void)snprintf(meant, sizeof meant, "--%s", nearest.found ? nearest.found : "");
    (void)snprintf(otherwise, sizeof otherwise, "; 'downsurge %s --help' lists them",
                   command->name);
    complain(request->terminal, "%s has no option '--%s'%s", command->name, name,
             nearest_hint(&(struct hint){{0}}, nearest.found ? meant : NULL, otherwise));
    return false;
}

int option_word(const struct option *option, const char *value)
{
    const size_t length = strlen(value);
    const char *words = option->words;
    for (int number = 0; *words; number++) {
        const size_t span = strcspn(words, " ");
        if (span == length && strncmp(words, value, span) == 0) {
            return number;
        }
        words += span;
        words += strspn(words, " ");
    }
    return -1;
}

/* Stores option `index`; `value` follows an equals sign, else the next word is taken. */
static bool take_option(struct request *request, int index, const char *value, int count,
                        char *const words[], int *at)
{
    const struct option *option = option_at(request->command, index);
    if (!option->value) {
        if (value) {
            complain(request->terminal, "--%s is a switch and takes no value", option->name);
            return false;
        }
        request->values[index] = "";
        return true;
    }
    if (!value && *at + 1 < count) {
        value = words[++*at];
    }
    if (!value || !*value) {
        complain(request->terminal, "--%s needs a value: --%s %s", option->name, option->name,
                 option->value);
        return false;
    }
    if (option->words && option_word(option, value) < 0) {
        complain(request->terminal, "--%s cannot be '%s'; it is one of: %s", option->name, value,
                 option->words);
        return false;
    }
    request->values[index] = value;
    return true;
}

static bool parse_long(struct request *request, int count, char *const words[], int *at)
{
    const char *word = words[*at];
    size_t length = strcspn(word + 2, "=");
    const char *value = word[2 + length] == '=' ? word + 3 + length : NULL;
    int index = option_find(request->command, word + 2, length);
    if (index < 0) {
        return refuse_unknown(request, word);
    }
    return take_option(request, index, value, count, words, at);
}

/* "-o FILE", "-oFILE", "-q". */
static bool parse_short(struct request *request, int count, char *const words[], int *at)
{
    const char *word = words[*at];
    const struct option *option = NULL;
    for (int i = 0; (option = option_at(request->command, i)); i++) {
        if (option->letter && option->letter == word[1]) {
            return take_option(request, i, word[2] ? word + 2 : NULL, count, words, at);
        }
    }
    complain(request->terminal, "%s has no option '%s'; 'downsurge %s --help' lists them",
             request->command->name, word, request->command->name);
    return false;
}

void command_operands(const struct command *command, int *least, int *most)
{
    const char *at = command->operands;
    *least = 0;
    *most = 0;
    while (*at) {
        size_t length = strcspn(at, " ");
        *least += *at != '[';
        bool goes_on = length > 4 && strncmp(at + length - 4, "...]", 4) == 0;
        *most += goes_on ? OPERAND_COUNT_MAX - *most : 1;
        at += length;
        at += strspn(at, " ");
    }
}

static bool check_operands(const struct request *request)
{
    int least = 0;
    int most = 0;
    command_operands(request->command, &least, &most);
    if (request_has(request, "help") || request_has(request, "version") ||
        request->operand_count >= least) {
        return true;
    }
    complain(request->terminal, "%s wants: downsurge %s %s", request->command->name,
             request->command->name, request->command->operands);
    return false;
}

static bool take_operand(struct request *request, const char *word)
{
    int least = 0;
    int most = 0;
    command_operands(request->command, &least, &most);
    if (request->operand_count >= most || request->operand_count >= OPERAND_COUNT_MAX) {
        complain(request->terminal, "%s does not know what to do with '%s'; it wants: %s %s",
                 request->command->name, word, request->command->name, request->command->operands);
        return false;
    }
    request->operands[request->operand_count++] = word;
    return true;
}

bool request_parse(struct request *request, const struct command *command, int count,
                   char *const words[])
{
    bool options_ended = false;
    bool is_good = true;
    request->command = command;
    assert(option_count(command->options) + option_count(common_options) <= OPTION_COUNT_MAX);
    for (int at = 0; at < count && is_good; at++) {
        const char *word = words[at];
        if (options_ended || word[0] != '-' || word[1] == '\0') {
            is_good = take_operand(request, word);
        } else if (strcmp(word, "--") == 0) {
            options_ended = true;
        } else if (word[1] == '-') {
            is_good = parse_long(request, count, words, &at);
        } else {
            is_good = parse_short(request, count, words, &at);
        }
    }
    return is_good && check_operands(request);
}
