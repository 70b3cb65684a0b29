#include "io/command/command.h"
#include "io/door/door.h"
#include "io/nearest.h"
#include "io/terminal/prose.h"

#include <string.h>

const char help_purpose[] =
    "Chooses and places the non-return valves of a pumped site made of plastic pipe, and checks "
    "the "
    "whole of it: flow, suction, how valves open and shut, surge, pressure class.";

const char help_endings[] = "0 done, 1 a limit is exceeded (with --strict), 2 bad input, 3 no "
                            "solution, 4 a file could not be written";

/* Where the words of a list begin. */
enum { WORDS_AT = 28 };

/* A name and what it is; a long name gets a line of its own. */
static void print_item(const struct terminal *terminal, const char *name, const char *words)
{
    int length = terminal_width(name);
    if (length + 4 > WORDS_AT) {
        prose_tell(terminal, "  %s\n%*s%s\n", name, WORDS_AT, "", words);
    } else {
        prose_tell(terminal, "  %s%*s%s\n", name, WORDS_AT - 2 - length, "", words);
    }
}

static void print_options(const struct terminal *terminal, const struct option *options)
{
    for (; options && options->name; options++) {
        char text[64];
        char letter[8] = "    ";
        if (options->letter) {
            (void)snprintf(letter, sizeof letter, "-%c, ", options->letter);
        }
        (void)snprintf(text, sizeof text, "%s--%s%s%s", letter, options->name,
                       options->value ? " " : "", options->value ? options->value : "");
        print_item(terminal, text, options->help);
    }
}

static void print_program(const struct terminal *terminal)
{
    prose_tell(terminal, "%s\n", help_purpose);
    (void)fputc('\n', terminal->out);
    terminal_say(terminal, TONE_STRONG, "Commands\n");
    for (int i = 0; i < command_count; i++) {
        char text[64];
        (void)snprintf(text, sizeof text, "%s %s", commands[i]->name, commands[i]->operands);
        print_item(terminal, text, commands[i]->summary);
    }
    (void)fputc('\n', terminal->out);
    terminal_say(terminal, TONE_STRONG, "Options of every command\n");
    print_options(terminal, common_options);
    (void)fputc('\n', terminal->out);
    terminal_say(terminal, TONE_STRONG, "Instead of a command\n");
    print_item(terminal, "--manual", "write the manual page, to be read with 'man -l -'");
    print_item(terminal, "--keys [SECTION]",
               "tell what a case file may say, section by section, or in one of them and those "
               "within it (study, vary, pipe, air vessel)");
    print_item(terminal, "--completion SHELL",
               "write what lets bash or zsh complete commands and options");
    (void)fputc('\n', terminal->out);
    terminal_say(terminal, TONE_STRONG, "Ends with\n");
    prose_tell(terminal, "  %s\n", help_endings);
    (void)fputc('\n', terminal->out);
    (void)fputs("New here? 'downsurge new site.yaml' writes a case to go on from.\n"
                "'downsurge COMMAND --help' tells more, with an example.\n",
                terminal->out);
}

/* Line ends count as blanks, an empty line begins a new paragraph. */
static void print_details(const struct terminal *terminal, const char *text)
{
    struct prose prose;
    prose_answers(&prose, terminal);
    while (*text) {
        const int length = (int)strcspn(text, "\n");
        prose_add(&prose, "%.*s", length, text);
        text += length;
        const size_t ends = strspn(text, "\n");
        text += ends;
        prose_add(&prose, ends > 1 ? "\n\n" : *text ? " " : "");
    }
    prose_add(&prose, "\n");
}

void help_print(const struct terminal *terminal, const struct command *command)
{
    if (!command) {
        print_program(terminal);
        return;
    }
    (void)fprintf(terminal->out, "downsurge %s%s%s [OPTIONS]\n\n", command->name,
                  *command->operands ? " " : "", command->operands);
    prose_tell(terminal, "%s.\n", command->summary);
    if (command->details) {
        (void)fputc('\n', terminal->out);
        print_details(terminal, command->details);
    }
    (void)fputc('\n', terminal->out);
    terminal_say(terminal, TONE_STRONG, "Options\n");
    print_options(terminal, command->options);
    print_options(terminal, common_options);
    (void)fputc('\n', terminal->out);
    terminal_say(terminal, TONE_STRONG, "Example\n");
    (void)fprintf(terminal->out, "%s\n", command->example);
}

/* --- the keys of a case file --- */

static void print_key(const struct terminal *terminal, const struct key *key)
{
    char words[600];
    const bool has_unit = key->kind == KEY_QUANTITY || key->kind == KEY_QUANTITIES;
    (void)snprintf(words, sizeof words, "%s (%s%s%s%s%s%s)", key->help, key_kind(key),
                   has_unit ? ", such as " : "", has_unit ? quantity_example(key->quantity) : "",
                   key->fallback ? "; when not said: " : "", key->fallback ? key->fallback : "",
                   key->is_required ? "; must be there" : "");
    print_item(terminal, key->name, words);
}

static void print_section(const struct terminal *terminal, const struct section *section)
{
    terminal_say(terminal, TONE_STRONG, section->name);
    prose_tell(terminal, ": %s\n", section->help);
    for (int k = 0; k < section->key_count; k++) {
        print_key(terminal, &section->keys[k]);
    }
}

/* Whether a section is asked for by its own name or by that of the one it stands in: "study" asks
 * for "study: vary" too. */
static bool is_asked_for(const char *name, const char *only)
{
    const size_t length = strlen(only);
    return strncmp(name, only, length) == 0 && (name[length] == '\0' || name[length] == ':');
}

/* Whether it is asked for by a name behind its first: "pump" for "part: pump", "vary" for
 * "study: vary: uncertain". */
static bool is_later_name(const char *name, const char *only)
{
    const char *colon = strchr(name, ':');
    while (colon && !is_asked_for(colon + 2, only)) {
        colon = strchr(colon + 2, ':');
    }
    return colon != NULL;
}

/* Sections that `asks` takes; NULL: all. How many. */
static int print_sections(const struct terminal *terminal, const struct sections *sections,
                          const char *only, bool asks(const char *name, const char *only))
{
    int count = 0;
    for (int i = 0; i < sections->count; i++) {
        if (!only || asks(sections->list[i]->name, only)) {
            (void)fputs(count++ > 0 ? "\n" : "", terminal->out);
            print_section(terminal, sections->list[i]);
        }
    }
    return count;
}

bool help_print_keys(const struct terminal *terminal, const char *only)
{
    struct sections sections;
    struct nearest nearest;
    case_sections(&sections);
    nearest_start(&nearest, only ? only : "");
    for (int i = 0; i < sections.count; i++) {
        nearest_offer(&nearest, sections.list[i]->name);
    }
    int count = print_sections(terminal, &sections, only, is_asked_for);
    count = count > 0 ? count : print_sections(terminal, &sections, only, is_later_name);
    if (count == 0) {
        complain(terminal, "a case file has no section '%.60s'%s", only,
                 nearest_hint(&(struct hint){{0}}, nearest.found,
                              "; 'downsurge --keys' tells them all"));
    }
    return count > 0;
}
