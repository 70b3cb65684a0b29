/* Time option: a time above 0 that an option gives. */
#ifndef IO_COMMAND_TIME_OPTION_H
#define IO_COMMAND_TIME_OPTION_H

#include "io/command/command.h"

enum { TIME_OPTION_SIZE = 64 };

/* `number` with `unit` behind it, which is "" where it has its own, in seconds; as they are told,
 * without blanks at the end, in `text`. What is wrong with it is told as of --`option`. */
enum exit_code time_option_read(const struct request *request, const char *option,
                                const char *number, const char *unit, char text[TIME_OPTION_SIZE],
                                double *seconds);

#endif
