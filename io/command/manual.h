/* Manual: the manual page and the shells' completions, made from the same tables as the help, so
 * that they cannot tell anything else. */
#ifndef IO_COMMAND_MANUAL_H
#define IO_COMMAND_MANUAL_H

#include <stdbool.h>
#include <stdio.h>

/* The page downsurge(1), in the macros of man(7). */
void manual_write(FILE *out);

/* What a shell, "bash" or "zsh", reads to complete commands, options and the words an option takes.
 * False: another shell; nothing is written. */
bool completion_write(const char *shell, FILE *out);

#endif
