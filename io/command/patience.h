/* Patience: how long gnuplot and Graphviz may take for one picture, as a command is told. */
#ifndef IO_COMMAND_PATIENCE_H
#define IO_COMMAND_PATIENCE_H

#include "io/command/command.h"

/* A row for the options of a command that draws. */
#define PATIENCE_OPTION                                                                            \
    {                                                                                              \
        "patience", 0, "TIME", NULL,                                                               \
            "how long gnuplot or dot may take for one picture, such as '20 min': else 5 min"       \
    }

/* *seconds from --patience, or what it is else. False: told. */
MUST_CHECK bool patience_read(const struct request *request, double *seconds);

#endif
