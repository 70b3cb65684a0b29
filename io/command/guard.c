#include "io/command/guard.h"

#include "io/command/command.h"
#include "io/results/leftovers.h"
#include "io/results/seal.h"

#include <errno.h>
#include <fcntl.h>
#include <signal.h>
#include <stdint.h>
#include <string.h>
#include <sys/resource.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

/* Of the processor, s. The largest files take some seconds. */
enum { TIME_MOST = 120 };

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

static bool needs_guard(const char *path)
{
    struct stat status;
    bool needs = false;
    const int descriptor =
        open(path, O_RDONLY | O_NONBLOCK); /* a pipe without a writer lets none wait */
    if (descriptor >= 0) {
        needs = fstat(descriptor, &status) == 0 && S_ISREG(status.st_mode) &&
                !seal_is_there(descriptor) && has_mark(descriptor, (uint64_t)status.st_size);
        (void)close(descriptor);
    }
    return needs;
}

static void bound_child(void)
{
    const struct rlimit no_core = {0, 0};
    struct rlimit time;
    (void)setrlimit(RLIMIT_CORE, &no_core);
    if (getrlimit(RLIMIT_CPU, &time) == 0 && time.rlim_cur > TIME_MOST) {
        time.rlim_cur = TIME_MOST;
        (void)setrlimit(RLIMIT_CPU, &time);
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
    int status = 0;
    for (int i = 2; command && !path && i < argc; i++) {
        path = needs_guard(argv[i]) ? argv[i] : NULL;
    }
    (void)signal(SIGCHLD, SIG_DFL); /* ignored, as some begin us, a child's end would not be told */
    const pid_t child = path ? fork() : -1;
    if (child < 0) {
        return false;
    }
    if (child == 0) {
        bound_child();
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
