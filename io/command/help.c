#include "io/command/command.h"

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
    (void)fprintf(terminal->out, "  %s", name);
    if (length + 4 > WORDS_AT) {
        (void)fprintf(terminal->out, "\n%*s", WORDS_AT, "");
    } else {
        (void)fprintf(terminal->out, "%*s", WORDS_AT - 2 - length, "");
    }
    terminal_wrap(terminal->out, words, WORDS_AT, terminal->width);
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
    terminal_wrap(terminal->out, help_purpose, 0, terminal->width);
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
    print_item(terminal, "--completion SHELL",
               "write what lets bash or zsh complete commands and options");
    (void)fputc('\n', terminal->out);
    terminal_say(terminal, TONE_STRONG, "Ends with\n");
    (void)fputs("  ", terminal->out);
    terminal_wrap(terminal->out, help_endings, 2, terminal->width);
    (void)fputc('\n', terminal->out);
    (void)fputs("New here? 'downsurge new site.yaml' writes a case to go on from.\n"
                "'downsurge COMMAND --help' tells more, with an example.\n",
                terminal->out);
}

void help_print(const struct terminal *terminal, const struct command *command)
{
    if (!command) {
        print_program(terminal);
        return;
    }
    (void)fprintf(terminal->out, "downsurge %s%s%s [OPTIONS]\n\n", command->name,
                  *command->operands ? " " : "", command->operands);
    terminal_wrap(terminal->out, command->summary, 0, terminal->width);
    if (command->details) {
        terminal_wrap(terminal->out, command->details, 0, terminal->width);
    }
    (void)fputc('\n', terminal->out);
    terminal_say(terminal, TONE_STRONG, "Options\n");
    print_options(terminal, command->options);
    print_options(terminal, common_options);
    (void)fputc('\n', terminal->out);
    terminal_say(terminal, TONE_STRONG, "Example\n");
    (void)fprintf(terminal->out, "%s\n", command->example);
}
