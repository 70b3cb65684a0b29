/* List: one line for each command there is. */
#ifndef IO_COMMAND_LIST_H
#define IO_COMMAND_LIST_H

struct command;

extern const struct command command_new;
extern const struct command command_check;
extern const struct command command_steady;
extern const struct command command_fill;
extern const struct command command_surge;
extern const struct command command_choose;
extern const struct command command_valve;
extern const struct command command_study;
extern const struct command command_show;
extern const struct command command_plot;
extern const struct command command_report;
extern const struct command command_catalogue;

#endif
