#include "io/command/command.h"

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
        (void)fprintf(terminal->out, "  %-24s  %s\n", text, options->help);
    }
}

static void print_program(const struct terminal *terminal)
{
    (void)fputs("Downsurge: non-return valves, flow and surge in pumped plastic pipe.\n\n",
                terminal->out);
    terminal_say(terminal, TONE_STRONG, "Commands\n");
    for (int i = 0; i < command_count; i++) {
        char text[64];
        (void)snprintf(text, sizeof text, "%s %s", commands[i]->name, commands[i]->operands);
        (void)fprintf(terminal->out, "  %-24s  %s\n", text, commands[i]->summary);
    }
    (void)fputc('\n', terminal->out);
    terminal_say(terminal, TONE_STRONG, "Options of every command\n");
    print_options(terminal, common_options);
    (void)fputs("\nEnds with 0 done, 1 a limit is exceeded (with --strict), 2 bad input, 3 no "
                "solution,\n4 a file could not be written.\n"
                "'downsurge COMMAND --help' tells more, with an example.\n",
                terminal->out);
}

void help_print(const struct terminal *terminal, const struct command *command)
{
    if (!command) {
        print_program(terminal);
        return;
    }
    (void)fprintf(terminal->out, "downsurge %s%s%s [OPTIONS]\n\n%s.\n", command->name,
                  *command->operands ? " " : "", command->operands, command->summary);
    if (command->details) {
        (void)fprintf(terminal->out, "%s\n", command->details);
    }
    (void)fputc('\n', terminal->out);
    terminal_say(terminal, TONE_STRONG, "Options\n");
    print_options(terminal, command->options);
    print_options(terminal, common_options);
    (void)fputc('\n', terminal->out);
    terminal_say(terminal, TONE_STRONG, "Example\n");
    (void)fprintf(terminal->out, "%s\n", command->example);
}
