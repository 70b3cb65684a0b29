/* List: one line for each command there is. */
#ifndef IO_COMMAND_LIST_H
#define IO_COMMAND_LIST_H

struct command;

extern const struct command command_catalogue;

#endif
