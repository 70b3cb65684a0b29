#include "io/command/guard.h"

#include "io/command/command.h"
#include "io/results/leftovers.h"
#include "io/results/seal.h"

#include <errno.h>
#include <fcntl.h>
#include <signal.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>
#include <sys/resource.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

/* Of the processor, s. The largest files take some seconds. */
enum { TIME_MOST = 120 };

/* Of memory: room for what an ordinary page or a packed file needs, and for each byte of a file
 * what a whole number of one byte becomes (8 as it is held, as much as HDF5 turns it), up to files
 * that fill what is held of any (io/results/texts.h). */
static const uint64_t memory_room = (uint64_t)512 << 20;
enum { MEMORY_OF_BYTE = 16, COUNTED_MOST = 1 << 28 };

/* The address sanitizer ends a program where memory ends, and cannot begin with little. */
#if defined(__has_feature)
#define HAS_FEATURE(name) __has_feature(name)
#else
#define HAS_FEATURE(name) 0
#endif
#if defined(__SANITIZE_ADDRESS__) || HAS_FEATURE(address_sanitizer)
enum { BOUNDS_MEMORY = 0 };
#else
enum { BOUNDS_MEMORY = 1 };
#endif

static const struct command *reading_command(int argc, char *const argv[])
{
    for (int i = 0; argc > 2 && i < command_count; i++) {
        if (commands[i]->reads_results && strcmp(argv[1], commands[i]->name) == 0) {
            return commands[i];
        }
    }
    return NULL;
}

/* HDF5's mark, at the start or behind 512, 1024, 2048, ... bytes of something else ("HDF5 File
 * Format Specification Version 3.0", section II.A). */
static bool has_mark(int descriptor, uint64_t size)
{
    static const unsigned char mark[] = {0x89, 'H', 'D', 'F', '\r', '\n', 0x1a, '\n'};
    unsigned char bytes[sizeof mark];
    for (uint64_t at = 0; at + sizeof mark <= size; at = at == 0 ? 512 : 2 * at) {
        if (pread(descriptor, bytes, sizeof bytes, (off_t)at) == (ssize_t)sizeof bytes &&
            memcmp(bytes, mark, sizeof mark) == 0) {
            return true;
        }
    }
    return false;
}

/* *counted: grows by the file's size, bytes, as far as it counts for memory. */
static bool needs_guard(const char *path, uint64_t *counted)
{
    struct stat status;
    bool needs = false;
    const int descriptor =
        open(path, O_RDONLY | O_NONBLOCK); /* a pipe without a writer lets none wait */
    if (descriptor >= 0) {
        const bool is_ordinary = fstat(descriptor, &status) == 0 && S_ISREG(status.st_mode);
        const uint64_t size = is_ordinary ? (uint64_t)status.st_size : 0;
        needs = is_ordinary && !seal_is_there(descriptor) && has_mark(descriptor, size);
        *counted += size < COUNTED_MOST ? size : COUNTED_MOST;
        (void)close(descriptor);
    }
    return needs;
}

static void bound(int resource, uint64_t most)
{
    struct rlimit limit;
    if (getrlimit(resource, &limit) == 0 && limit.rlim_cur > most) {
        limit.rlim_cur = most;
        (void)setrlimit(resource, &limit);
    }
}

/* Bytes of data that this process has already: libraries may keep much for many processors. What
 * Linux tells (proc(5), statm, the sixth number, pages); elsewhere 0. */
static uint64_t data_so_far(void)
{
    enum { DATA = 6 };
    char line[256] = "";
    const int descriptor = open("/proc/self/statm", O_RDONLY | O_CLOEXEC);
    const ssize_t length = descriptor < 0 ? -1 : read(descriptor, line, sizeof line - 1);
    unsigned long long pages = 0;
    char *at = line;
    for (int i = 0; length > 0 && i < DATA; i++) {
        pages = strtoull(at, &at, 10);
    }
    if (descriptor >= 0) {
        (void)close(descriptor);
    }
    return pages * (uint64_t)sysconf(_SC_PAGESIZE);
}

static void bound_child(uint64_t counted)
{
    bound(RLIMIT_CORE, 0);
    bound(RLIMIT_CPU, TIME_MOST);
    if (BOUNDS_MEMORY) {
        bound(RLIMIT_DATA, data_so_far() + memory_room + MEMORY_OF_BYTE * counted);
    }
}

/* Tells it, and clears away what the child did not finish. */
static int tell_crash(const struct command *command, int argc, char *const argv[], const char *path,
                      bool took_too_long)
{
    struct terminal terminal;
    struct request request = {.terminal = &terminal, .word_count = argc - 1, .words = argv + 1};
    terminal_init(&terminal, stdout, stderr);
    if (took_too_long) {
        complain(
            &terminal,
            "results '%s': HDF5 was not done with it after %d s of processor; it is damaged, or "
            "larger than this program reads; make it anew",
            path, TIME_MOST);
    } else {
        complain(&terminal,
                 "results '%s': HDF5 crashed while reading it; it is damaged, make it anew", path);
    }
    if (request_parse(&request, command, argc - 2, argv + 2)) {
        const char *output = request_value(&request, "output", NULL);
        if (output) {
            leftovers_clear(output);
        }
    }
    return EXIT_CODE_INPUT;
}

bool guard_waits(int argc, char *const argv[], int *code)
{
    const struct command *command = reading_command(argc, argv);
    const char *path = NULL;
    uint64_t counted = 0;
    int status = 0;
    for (int i = 2; command && i < argc; i++) {
        const bool needs = needs_guard(argv[i], &counted);
        path = needs && !path ? argv[i] : path;
    }
    (void)signal(SIGCHLD, SIG_DFL); /* ignored, as some begin us, a child's end would not be told */
    const pid_t child = path ? fork() : -1;
    if (child < 0) {
        return false;
    }
    if (child == 0) {
        bound_child(counted);
        return false;
    }
    while (waitpid(child, &status, 0) < 0) {
        if (errno != EINTR) {
            return false;
        }
    }
    *code = WIFEXITED(status) ? WEXITSTATUS(status)
                              : tell_crash(command, argc, argv, path, WTERMSIG(status) == SIGXCPU);
    return true;
}
