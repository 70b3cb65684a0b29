#include "io/command/list.h"

#include "io/command/command.h"

const struct command *const commands[] = {
    &command_catalogue,
};

const int command_count = (int)(sizeof commands / sizeof commands[0]);
