#include "io/plot/gnuplot.h"

#include "io/plot/scripts.h"
#include "io/results/whole_file.h"

#include <dirent.h>
#include <errno.h>
#include <fcntl.h>
#include <signal.h>
#include <spawn.h>
#include <stdlib.h>
#include <string.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

extern char **environ; /* POSIX.1-2008 leaves its declaration to the program */

static bool fail_plot(struct failure *failure, const char *what, const char *why)
{
    const struct place nowhere = {0};
    return fail(failure, FAILURE_FILE, nowhere, "plot: %s: %s", what, why);
}

static bool path_of(const struct bench *bench, const char *name, size_t size, char path[])
{
    int length = snprintf(path, size, "%s/%s", bench->folder, name);
    return length > 0 && (size_t)length < size;
}

FILE *bench_file(const struct bench *bench, const char *name, struct failure *failure)
{
    char path[2 * BENCH_PATH_SIZE];
    FILE *file = path_of(bench, name, sizeof path, path) ? fopen(path, "w") : NULL;
    if (!file) {
        (void)fail_plot(failure, name, strerror(errno));
    }
    return file;
}

static bool lay_scripts(const struct bench *bench, struct failure *failure)
{
    for (int i = 0; i < plot_script_count; i++) {
        const struct plot_script *script = &plot_scripts[i];
        FILE *file = bench_file(bench, script->name, failure);
        if (!file) {
            return false;
        }
        bool is_good = fwrite(script->text, 1, script->size, file) == script->size;
        if (fclose(file) != 0 || !is_good) {
            return fail_plot(failure, script->name, strerror(errno));
        }
    }
    return true;
}

bool bench_open(struct bench *bench, double patience, struct failure *failure)
{
    bench->patience = patience;
    const char *folder = getenv("TMPDIR");
    interrupt_hold(&bench->interrupt);
    int length = snprintf(bench->folder, sizeof bench->folder, "%s/downsurge-plot-XXXXXX",
                          folder && *folder ? folder : "/tmp");
    if (length < 0 || (size_t)length >= sizeof bench->folder) {
        errno = ENAMETOOLONG;
        bench->folder[0] = '\0';
    }
    if (!bench->folder[0] || !mkdtemp(bench->folder)) {
        (void)fail_plot(failure, "a temporary folder", strerror(errno));
        bench->folder[0] = '\0';
        return false;
    }
    return lay_scripts(bench, failure);
}

static void clear_folder(struct bench *bench)
{
    char path[2 * BENCH_PATH_SIZE];
    DIR *list = bench->folder[0] ? opendir(bench->folder) : NULL;
    const struct dirent *entry = NULL;
    if (!list) {
        return;
    }
    while ((entry = readdir(list))) {
        if (path_of(bench, entry->d_name, sizeof path, path)) {
            (void)unlink(path); /* of "." and "..": refused */
        }
    }
    (void)closedir(list);
    (void)rmdir(bench->folder);
    bench->folder[0] = '\0';
}

void bench_close(struct bench *bench)
{
    clear_folder(bench);
    interrupt_let(&bench->interrupt);
}

/* What the program said, the first lines of it. */
static void read_messages(const struct bench *bench, size_t size, char text[])
{
    char path[2 * BENCH_PATH_SIZE];
    FILE *file = path_of(bench, "messages", sizeof path, path) ? fopen(path, "r") : NULL;
    size_t length = file ? fread(text, 1, size - 1, file) : 0;
    text[length] = '\0';
    if (file) {
        (void)fclose(file);
    }
}

/* The environment without GNUTERM, with which gnuplot begins on a screen that may not be there.
 * NULL: memory ended. */
static char **plain_environment(void)
{
    static const char screen[] = "GNUTERM=";
    size_t count = 0;
    while (environ[count]) {
        count++;
    }
    char **plain = calloc(count + 1, sizeof *plain);
    for (size_t i = 0, kept = 0; plain && i < count; i++) {
        if (strncmp(environ[i], screen, sizeof screen - 1) != 0) {
            plain[kept++] = environ[i];
        }
    }
    return plain;
}

/* Starts a program for which nothing is held back, in a group of its own, so that what it starts
 * can be ended with it; an error number. */
static int spawn_free(const struct bench *bench, const posix_spawn_file_actions_t *actions,
                      char *const words[], pid_t *child)
{
    posix_spawnattr_t attributes;
    int reason = posix_spawnattr_init(&attributes);
    if (reason != 0) {
        return reason;
    }
    char **environment = plain_environment();
    reason =
        environment ? posix_spawnattr_setsigmask(&attributes, &bench->interrupt.before) : ENOMEM;
    if (reason == 0) {
        reason = posix_spawnattr_setpgroup(&attributes, 0);
    }
    if (reason == 0) {
        reason =
            posix_spawnattr_setflags(&attributes, POSIX_SPAWN_SETSIGMASK | POSIX_SPAWN_SETPGROUP);
    }
    if (reason == 0) {
        reason = posix_spawnp(child, words[0], actions, &attributes, words, environment);
    }
    free(environment);
    (void)posix_spawnattr_destroy(&attributes);
    return reason;
}

/* Starts a program with its messages going to the file "messages" of the bench, and nobody's words
 * to read; an error number. */
static int spawn_program(const struct bench *bench, char *const words[], pid_t *child)
{
    char path[2 * BENCH_PATH_SIZE];
    posix_spawn_file_actions_t actions;
    int reason = posix_spawn_file_actions_init(&actions);
    if (reason != 0) {
        return reason;
    }
    reason = path_of(bench, "messages", sizeof path, path) ? 0 : ENAMETOOLONG;
    if (reason == 0) {
        reason = posix_spawn_file_actions_addopen(&actions, STDOUT_FILENO, path,
                                                  O_WRONLY | O_CREAT | O_TRUNC, 0600);
    }
    if (reason == 0) {
        reason = posix_spawn_file_actions_adddup2(&actions, STDOUT_FILENO, STDERR_FILENO);
    }
    if (reason == 0) {
        reason = posix_spawn_file_actions_addopen(&actions, STDIN_FILENO, "/dev/null", O_RDONLY, 0);
    }
    if (reason == 0) {
        reason = spawn_free(bench, &actions, words, child);
    }
    (void)posix_spawn_file_actions_destroy(&actions);
    return reason;
}

static bool fail_program(struct failure *failure, const char *program, const char *what,
                         const char *why)
{
    const struct place nowhere = {0};
    return fail(failure, FAILURE_FILE, nowhere, "plot: %s %s: %s", program, what, why);
}

/* Seconds since `last`, which becomes now. Never more than a little: time in which this program was
 * stopped, or the machine slept, is not counted. */
static double tick(struct timespec *last)
{
    static const double most = 0.5;
    const struct timespec before = *last;
    (void)clock_gettime(CLOCK_MONOTONIC, last);
    const double passed =
        (double)(last->tv_sec - before.tv_sec) + 1e-9 * (double)(last->tv_nsec - before.tv_nsec);
    return passed < most ? passed : most;
}

/* Waits for a program; one that is still at it when we are to stop, or after `patience` seconds
 * (*is_late), is ended with all of its group. An error number. */
static int wait_for(pid_t child, double patience, int *status, bool *is_late)
{
    static const struct timespec moment = {0, 2000000}; /* short beside a picture's 50 ms */
    struct timespec last;
    pid_t over = 0;
    *is_late = false;
    (void)clock_gettime(CLOCK_MONOTONIC, &last);
    while (over == 0) {
        over = waitpid(child, status, WNOHANG);
        if (over < 0 && errno == EINTR) {
            over = 0;
        } else if (over == 0) {
            patience -= tick(&last);
            *is_late = patience < 0.0;
            if (*is_late || interrupt_has_come()) {
                (void)kill(-child, SIGKILL);
            }
            (void)nanosleep(&moment, NULL);
        }
    }
    return over < 0 ? errno : 0;
}

/* What a program that gave up said, or how it ended. */
static void tell_end(const struct bench *bench, int status, size_t size, char text[])
{
    read_messages(bench, size, text);
    if (text[0] != '\0') {
        return;
    }
    if (WIFSIGNALED(status)) {
        (void)snprintf(text, size, "it was stopped by signal %d", WTERMSIG(status));
    } else {
        (void)snprintf(text, size, "it ended with %d and said nothing", WEXITSTATUS(status));
    }
}

/* Starts words[0], of Debian's `package`, and waits until it has done its work. */
static bool run_program(const struct bench *bench, char *const words[], const char *package,
                        struct failure *failure)
{
    char said[200];
    int status = 0;
    bool is_late = false;
    pid_t child = 0;
    int reason = spawn_program(bench, words, &child);
    if (reason == ENOENT) {
        (void)snprintf(said, sizeof said, "is it installed? Debian's package is %s", package);
        return fail_program(failure, words[0], "could not be started", said);
    }
    if (reason != 0) {
        return fail_program(failure, words[0], "could not be started", strerror(reason));
    }
    reason = wait_for(child, bench->patience, &status, &is_late);
    if (reason != 0) {
        return fail_program(failure, words[0], "could not be waited for", strerror(reason));
    }
    if (is_late && WIFSIGNALED(status)) {
        (void)snprintf(said, sizeof said,
                       "it had no picture after %g s; see whether it runs by itself, or give it "
                       "longer with --patience, such as --patience '20 min'",
                       bench->patience);
        return fail_program(failure, words[0], "was stopped", said);
    }
    if (!WIFEXITED(status) || WEXITSTATUS(status) != 0) {
        tell_end(bench, status, sizeof said, said);
        return fail_program(failure, words[0], "gave up", said);
    }
    return true;
}

/* With what a picture of its kind begins (SVG as XML, PNG, PDF); NULL: it is none. */
static const char *beginning_of(size_t count, const char bytes[])
{
    static const char *const beginnings[] = {"<?xml", "\x89PNG\r\n\x1a\n", "%PDF-"};
    for (size_t i = 0; i < sizeof beginnings / sizeof *beginnings; i++) {
        const size_t length = strlen(beginnings[i]);
        if (count >= length && memcmp(bytes, beginnings[i], length) == 0) {
            return beginnings[i];
        }
    }
    return NULL;
}

static bool copy_picture(FILE *file, const char *picture, const char *path, struct failure *failure)
{
    char block[16384];
    size_t total = 0;
    size_t count = fread(block, 1, sizeof block, file);
    const char *beginning = beginning_of(count, block);
    if (!beginning) {
        return fail_plot(failure, count == 0 ? "an empty picture was made" : "it made no picture",
                         picture);
    }
    struct whole_file *whole = whole_file_open(path, beginning, failure);
    bool is_good = whole != NULL;
    while (is_good && count > 0) {
        is_good = whole_file_put(whole, total, count, block, failure);
        total += count;
        count = fread(block, 1, sizeof block, file);
    }
    if (!is_good) {
        whole_file_abandon(whole);
        return false;
    }
    return whole_file_finish(whole, failure);
}

static bool take_picture(const struct bench *bench, const char *picture, const char *path,
                         struct failure *failure)
{
    char from[2 * BENCH_PATH_SIZE];
    FILE *file = path_of(bench, picture, sizeof from, from) ? fopen(from, "rb") : NULL;
    if (!file) {
        return fail_plot(failure, "no picture was made", picture);
    }
    const bool is_good = copy_picture(file, picture, path, failure);
    (void)fclose(file);
    return is_good;
}

/* gnuplot's command to work in the bench: cd '...', a quote in it doubled. */
static char *change_folder(const struct bench *bench)
{
    char command[2 * BENCH_PATH_SIZE + 8] = "cd '";
    size_t at = strlen(command);
    for (const char *letter = bench->folder; *letter; letter++) {
        command[at++] = *letter;
        if (*letter == '\'') {
            command[at++] = '\'';
        }
    }
    command[at++] = '\'';
    command[at] = '\0';
    return strdup(command);
}

bool bench_plot(const struct bench *bench, const char *script, const char *const words[],
                const char *picture, const char *path, struct failure *failure)
{
    char *all[BENCH_WORDS_MAX + 7] = {0};
    int count = 0;
    bool is_good = true;
    all[count++] = strdup("gnuplot");
    all[count++] = strdup("-d"); /* nobody's own settings, which could cut a picture's axes */
    all[count++] = strdup("-e");
    all[count++] = change_folder(bench);
    all[count++] = strdup("-c");
    all[count++] = strdup(script);
    for (int i = 0; i < BENCH_WORDS_MAX && words[i]; i++) {
        all[count++] = strdup(words[i]);
    }
    for (int i = 0; i < count; i++) {
        is_good = is_good && all[i];
    }
    is_good = is_good ? run_program(bench, all, "gnuplot-nox", failure)
                      : fail_memory(failure, "a picture");
    for (int i = 0; i < count; i++) {
        free(all[i]);
    }
    return is_good && take_picture(bench, picture, path, failure);
}

bool bench_sketch(const struct bench *bench, const char *graph, const char *format,
                  const char *path, struct failure *failure)
{
    char kind[16];
    char from[2 * BENCH_PATH_SIZE];
    char to[2 * BENCH_PATH_SIZE];
    char program[] = "dot";
    char output[] = "-o";
    char resolution[] = "-Gdpi=150"; /* of a PNG; an SVG has no dots */
    char *const words[] = {
        program, kind, output, to, from, strcmp(format, "png") == 0 ? resolution : NULL, NULL};
    int length = snprintf(kind, sizeof kind, "-T%s", format);
    if (length < 0 || (size_t)length >= sizeof kind || !path_of(bench, graph, sizeof from, from) ||
        !path_of(bench, "drawing", sizeof to, to)) {
        return fail_plot(failure, graph, "the name is too long");
    }
    return run_program(bench, words, "graphviz", failure) &&
           take_picture(bench, "drawing", path, failure);
}
