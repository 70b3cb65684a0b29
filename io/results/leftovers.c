#include "io/results/leftovers.h"

#include <ctype.h>
#include <dirent.h>
#include <errno.h>
#include <fcntl.h>
#include <string.h>
#include <sys/file.h>
#include <sys/stat.h>
#include <unistd.h>

enum { CHANCE = 6 }; /* letters that mkstemp chose */

bool leftover_hold(int descriptor)
{
    struct stat status;
    /* Who clears away holds the lock for a moment, then the name is gone. */
    return flock(descriptor, LOCK_EX | LOCK_NB) == 0
               ? fstat(descriptor, &status) == 0 && status.st_nlink > 0
               : errno != EWOULDBLOCK;
}

/* Whether an entry of the folder is called as an unfinished file of `name` would be. */
static bool is_named_so(const char *entry, const char *name)
{
    const size_t length = strlen(name);
    const size_t ending = sizeof UNFINISHED - 1 - CHANCE;
    if (strncmp(entry, name, length) != 0 || strncmp(entry + length, UNFINISHED, ending) != 0) {
        return false;
    }
    const char *letter = entry + length + ending;
    while (isalnum((unsigned char)*letter)) {
        letter++;
    }
    return *letter == '\0' && letter == entry + length + ending + CHANCE;
}

/* The name is looked at again once the lock is held: it may stand for another file by then. */
static void clear_one(int folder, const char *name)
{
    struct stat ours;
    struct stat there;
    const int file = openat(folder, name, O_RDWR | O_NOFOLLOW | O_NONBLOCK | O_CLOEXEC);
    if (file < 0) {
        return;
    }
    if (fstat(file, &ours) == 0 && S_ISREG(ours.st_mode) && ours.st_uid == geteuid() &&
        flock(file, LOCK_EX | LOCK_NB) == 0 &&
        fstatat(folder, name, &there, AT_SYMLINK_NOFOLLOW) == 0 && there.st_ino == ours.st_ino &&
        there.st_dev == ours.st_dev) {
        (void)unlinkat(folder, name, 0);
    }
    (void)close(file);
}

void leftovers_clear(const char *path)
{
    char folder[4096] = ".";
    const char *slash = strrchr(path, '/');
    const size_t length = slash ? (size_t)(slash - path) + 1 : 0;
    if (length >= sizeof folder) {
        return;
    }
    if (slash) {
        memcpy(folder, path, length);
        folder[length] = '\0';
    }
    DIR *entries = opendir(folder);
    for (const struct dirent *entry = entries ? readdir(entries) : NULL; entry;
         entry = readdir(entries)) {
        if (is_named_so(entry->d_name, slash ? slash + 1 : path)) {
            clear_one(dirfd(entries), entry->d_name);
        }
    }
    if (entries) {
        (void)closedir(entries);
    }
}
