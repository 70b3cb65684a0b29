/* Surge size: the options of `downsurge surge` that look for the smallest protection. */
#ifndef IO_COMMAND_SURGE_SIZE_H
#define IO_COMMAND_SURGE_SIZE_H

#include "io/command/surge_size_tell.h"

/* Reads --size, --limit, --at and --between, searches, confirms what it finds on the grids of
 * `confirm`, and puts the size found into the site's network. Anything but EXIT_CODE_DONE: told;
 * `size->sheet` then holds the sizes tried, if any were. */
enum exit_code surge_size_find(struct work *work, enum precision confirm, struct surge_size *size);

#endif
