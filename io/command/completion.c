#include "io/command/command.h"
#include "io/command/manual.h"

#include <string.h>

static void bash_options(FILE *out, const struct option *options)
{
    for (; options && options->name; options++) {
        (void)fprintf(out, " --%s", options->name);
    }
}

/* Lines "command:--option) words=...", for options that take one of some words, and with no words
 * for those that take anything: then bash offers files. */
static void bash_values(FILE *out, const char *command, const struct option *options)
{
    for (; options && options->name; options++) {
        if (options->value) {
            (void)fprintf(out, "    %s:--%s", command, options->name);
            if (options->letter) {
                (void)fprintf(out, "|%s:-%c", command, options->letter);
            }
            (void)fprintf(out, ") words='%s'; is_value=1 ;;\n",
                          options->words ? options->words : "");
        }
    }
}

static void write_bash(FILE *out)
{
    (void)fputs("# Made by downsurge --completion bash.\n"
                "_downsurge() {\n"
                "  local current=${COMP_WORDS[COMP_CWORD]} before=${COMP_WORDS[COMP_CWORD-1]}\n"
                "  local command=${COMP_WORDS[1]} words= is_value=\n"
                "  COMPREPLY=()\n"
                "  if [ \"$COMP_CWORD\" -eq 1 ]; then\n    words='",
                out);
    for (int i = 0; i < command_count; i++) {
        (void)fprintf(out, "%s ", commands[i]->name);
    }
    (void)fputs(
        "--help --version --manual --keys --completion'\n  else\n    case $command:$before in\n",
        out);
    for (int i = 0; i < command_count; i++) {
        bash_values(out, commands[i]->name, commands[i]->options);
    }
    bash_values(out, "*", common_options);
    (void)fputs("    --completion:--completion) words='bash zsh'; is_value=1 ;;\n    esac\n"
                "    if [ -z \"$is_value\" ] && [[ $current == -* ]]; then\n"
                "      case $command in\n",
                out);
    for (int i = 0; i < command_count; i++) {
        (void)fprintf(out, "      %s) words='", commands[i]->name);
        bash_options(out, commands[i]->options);
        bash_options(out, common_options);
        (void)fputs("' ;;\n", out);
    }
    (void)fputs("      esac\n    fi\n  fi\n"
                "  COMPREPLY=($(compgen -W \"$words\" -- \"$current\"))\n"
                "}\n"
                "complete -o default -F _downsurge downsurge\n",
                out);
}

/* What stands in brackets or between colons in the words of _arguments(1), inside single quotes. */
static void zsh_text(FILE *out, const char *text)
{
    for (; *text; text++) {
        if (*text == '\'') {
            (void)fputs("'\\''", out);
        } else {
            (void)fprintf(out, "%s%c", strchr("[]:\\", *text) ? "\\" : "", *text);
        }
    }
}

static void zsh_options(FILE *out, const struct option *options)
{
    for (; options && options->name; options++) {
        (void)fputs("        ", out);
        if (options->letter) {
            (void)fprintf(out, "'(-%c --%s)'{-%c,--%s}", options->letter, options->name,
                          options->letter, options->name);
            (void)fputs("'[", out);
        } else {
            (void)fprintf(out, "'--%s[", options->name);
        }
        zsh_text(out, options->help);
        (void)fputs("]", out);
        if (options->value) {
            (void)fputc(':', out);
            zsh_text(out, options->value);
            if (options->words) {
                (void)fprintf(out, ":(%s)", options->words);
            } else {
                (void)fputs(":_files", out);
            }
        }
        (void)fputs("' \\\n", out);
    }
}

static void write_zsh(FILE *out)
{
    (void)fputs("#compdef downsurge\n# Made by downsurge --completion zsh.\n"
                "_downsurge() {\n"
                "  if (( CURRENT == 2 )); then\n    local -a commands=(\n",
                out);
    for (int i = 0; i < command_count; i++) {
        (void)fprintf(out, "      '%s:", commands[i]->name);
        zsh_text(out, commands[i]->summary);
        (void)fputs("'\n", out);
    }
    (void)fputs("    )\n    _describe command commands\n"
                "    compadd -- --help --version --manual --keys --completion\n    return\n  fi\n"
                "  local command=$words[2]\n  shift words\n  (( CURRENT-- ))\n  case $command in\n",
                out);
    for (int i = 0; i < command_count; i++) {
        (void)fprintf(out, "    %s)\n      _arguments -S \\\n", commands[i]->name);
        zsh_options(out, commands[i]->options);
        zsh_options(out, common_options);
        (void)fputs("        '*:file:_files' ;;\n", out);
    }
    (void)fputs("    --completion) compadd bash zsh ;;\n  esac\n}\n_downsurge \"$@\"\n", out);
}

bool completion_write(const char *shell, FILE *out)
{
    if (strcmp(shell, "bash") == 0) {
        write_bash(out);
    } else if (strcmp(shell, "zsh") == 0) {
        write_zsh(out);
    } else {
        return false;
    }
    return true;
}
