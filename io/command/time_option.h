/* Time option: a time above 0 that an option gives. */
#ifndef IO_COMMAND_TIME_OPTION_H
#define IO_COMMAND_TIME_OPTION_H

#include "io/command/command.h"

/* `text` in seconds; what is wrong with it is told as of --`option`. */
enum exit_code time_option_read(const struct request *request, const char *option, const char *text,
                                double *seconds);

#endif
