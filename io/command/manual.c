#include "io/command/manual.h"

#include "io/command/command.h"
#include "io/version.h"

#include <ctype.h>
#include <string.h>

/* Text as troff takes it: no letter of it is read as a command (groff_char(7), groff(7)). */
static void write_text(FILE *out, const char *text)
{
    bool is_line_start = true;
    for (; *text; text++) {
        if (is_line_start && (*text == '.' || *text == '\'')) {
            (void)fputs("\\&", out);
        }
        switch (*text) {
        case '\\':
            (void)fputs("\\e", out);
            break;
        case '-':
            (void)fputs("\\-", out);
            break;
        case '\'':
            (void)fputs("\\(aq", out);
            break;
        case '`':
            (void)fputs("\\(ga", out);
            break;
        case '^':
            (void)fputs("\\(ha", out);
            break;
        case '~':
            (void)fputs("\\(ti", out);
            break;
        default:
            (void)fputc(*text, out);
        }
        is_line_start = *text == '\n';
    }
}

static void write_paragraph(FILE *out, const char *text)
{
    (void)fputs(".P\n", out);
    write_text(out, text);
    (void)fputc('\n', out);
}

static void write_options(FILE *out, const struct option *options)
{
    for (; options && options->name; options++) {
        (void)fputs(".TP\n", out);
        if (options->letter) {
            (void)fprintf(out, "\\fB\\-%c\\fR, ", options->letter);
        }
        (void)fputs("\\fB", out);
        write_text(out, "--");
        write_text(out, options->name);
        (void)fputs("\\fR", out);
        if (options->value) {
            (void)fputs(" \\fI", out);
            write_text(out, options->value);
            (void)fputs("\\fR", out);
        }
        (void)fputc('\n', out);
        write_text(out, options->help);
        (void)fputs(".\n", out);
    }
}

static void write_command(FILE *out, const struct command *command)
{
    (void)fputs(".SS ", out);
    write_text(out, command->name);
    if (*command->operands) {
        (void)fputc(' ', out);
        write_text(out, command->operands);
    }
    (void)fputc('\n', out);
    write_text(out, command->summary);
    (void)fputs(".\n", out);
    if (command->details) {
        write_paragraph(out, command->details);
    }
    write_options(out, command->options);
    (void)fputs(".P\nExample:\n.P\n.EX\n", out);
    write_text(out, command->example);
    (void)fputs("\n.EE\n", out);
}

static void write_surroundings(FILE *out)
{
    (void)fputs(".SH EXIT STATUS\n", out);
    write_text(out, help_endings);
    (void)fputs(".\n.SH ENVIRONMENT\n", out);
    (void)fputs(
        ".TP\nNO_COLOR\nwhen set and not empty: no colour.\n"
        ".TP\nCOLUMNS\nhow wide tables may be; else as wide as the terminal. What goes to a\n"
        "file or to another program is not made narrow unless this says so.\n"
        ".TP\nTMPDIR\nwhere pictures are made before they are put in their place.\n",
        out);
    (void)fputs(".SH FILES\n", out);
    write_text(out, "A case is YAML: a site's tanks, pumps and runs of parts, each number with its "
                    "unit. Results are HDF5 with units on every dataset.\n");
    (void)fputs(".SH CAUTIONS\n", out);
    write_text(out,
               "These are screening figures: local codes, makers' instructions and licensed "
               "practice rule. An ordinary non-return valve is no protection of drinking water. "
               "Relieve the pressure on both sides before opening a union. Isolate the power "
               "before reaching in.\n");
}

void manual_write(FILE *out)
{
    (void)fputs(".\\\" Made by downsurge --manual.\n", out);
    (void)fprintf(out, ".TH DOWNSURGE 1 \"\" \"Downsurge %s\" \"User commands\"\n",
                  program_version());
    (void)fputs(".SH NAME\n", out);
    write_text(out, "downsurge - non-return valves, flow and surge in pumped plastic pipe\n");
    (void)fputs(".SH SYNOPSIS\n", out);
    for (int i = 0; i < command_count; i++) {
        (void)fprintf(out, "%s.B downsurge %s\n", i > 0 ? ".br\n" : "", commands[i]->name);
        write_text(out, commands[i]->operands);
        (void)fputs(" [OPTIONS]\n", out);
    }
    (void)fputs(".br\n.B downsurge\n", out);
    write_text(out, "--help | --version | --manual | --keys [SECTION] | --completion SHELL\n");
    (void)fputs(".SH DESCRIPTION\n", out);
    write_text(out, help_purpose);
    (void)fputs("\n.SH COMMANDS\n", out);
    for (int i = 0; i < command_count; i++) {
        write_command(out, commands[i]);
    }
    (void)fputs(".SH OPTIONS OF EVERY COMMAND\n", out);
    write_options(out, common_options);
    write_surroundings(out);
}
