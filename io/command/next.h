/* Next: what a person may do next, told at the end of a command. */
#ifndef IO_COMMAND_NEXT_H
#define IO_COMMAND_NEXT_H

#include "io/command/command.h"
#include "models/site.h"

/* After a case was read: the commands that fit what it says. */
void next_of_case(const struct terminal *terminal, const char *path, const struct site *site);

/* After results were written by a command with --output: how they become pictures and a page.
 * Nothing without --output, with --json or --quiet. */
void next_of_results(const struct request *request, const struct terminal *terminal);

#endif
