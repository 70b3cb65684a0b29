/* Surge size: the options of `downsurge surge` that look for the smallest protection. */
#ifndef IO_COMMAND_SURGE_SIZE_H
#define IO_COMMAND_SURGE_SIZE_H

#include "io/command/work.h"
#include "solver/surge/sizing.h"

struct surge_size {
    bool is_wanted;
    struct sizing_wish wish;
    struct sizing found;
    struct sheet sheet; /* /surge/sizing: the sizes tried */
};

/* Reads --size, --limit, --at and --between, searches, confirms what it finds on the grids of
 * `confirm`, and puts the size found into the site's network. Anything but EXIT_CODE_DONE: told;
 * `size->sheet` then holds the sizes tried, if any were. */
enum exit_code surge_size_find(struct work *work, enum precision confirm, struct surge_size *size);

/* The sizes tried and what came of it, as text. False: memory ended. */
bool surge_size_print(const struct work *work, const struct surge_size *size);

#endif
