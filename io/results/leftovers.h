/* Leftovers: what a process that was killed while it wrote left beside the file it meant to write.
 * Each writer holds a lock (flock) on its unfinished file for as long as it lives; the system takes
 * the lock away with the process. So what bears our ending and nobody holds is dead. */
#ifndef IO_RESULTS_LEFTOVERS_H
#define IO_RESULTS_LEFTOVERS_H

#include <stdbool.h>

/* Ending of the name of an unfinished file, made for mkstemp. It says whose it is, so that files of
 * others (parts of a file that was split, say) do not bear it. */
#define UNFINISHED ".downsurge-XXXXXX"

/* Locks an unfinished file of our own while it has this name. False: somebody clears it away as a
 * leftover, take another name. True also where the file system has no locks: then nobody else gets
 * one either, and nothing is cleared away. */
bool leftover_hold(int descriptor);

/* Removes the dead unfinished files of `path`: ordinary files of this user with the ending above,
 * which nobody holds. What cannot be removed stays; nobody is told. */
void leftovers_clear(const char *path);

#endif
