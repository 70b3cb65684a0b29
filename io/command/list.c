#include "io/command/list.h"

#include "io/command/command.h"

/* clang-format off */
const struct command *const commands[] = {
    &command_new,
    &command_check,
    &command_steady,
    &command_fill,
    &command_surge,
    &command_choose,
    &command_valve,
    &command_study,
    &command_show,
    &command_plot,
    &command_report,
    &command_catalogue,
};
/* clang-format on */

const int command_count = (int)(sizeof commands / sizeof commands[0]);
