#include "io/command/command.h"
#include "io/command/manual.h"
#include "io/nearest.h"
#include "io/ranks/ranks.h"
#include "io/version.h"

#include <errno.h>
#include <signal.h>
#include <string.h>

static const struct command *find_command(const struct terminal *terminal, const char *name)
{
    struct nearest nearest;
    nearest_start(&nearest, name);
    for (int i = 0; i < command_count; i++) {
        if (strcmp(name, commands[i]->name) == 0) {
            return commands[i];
        }
        nearest_offer(&nearest, commands[i]->name);
    }
    complain(terminal, "there is no command '%s'%s", name,
             nearest_hint(&(struct hint){{0}}, nearest.found, "; 'downsurge --help' lists them"));
    return NULL;
}

/* What may stand instead of a command. False: nothing of the kind; else `code` is the end. */
static bool run_alone(const struct terminal *terminal, int argc, char *const argv[],
                      enum exit_code *code)
{
    *code = EXIT_CODE_DONE;
    if (strcmp(argv[1], "--help") == 0 || strcmp(argv[1], "-h") == 0) {
        help_print(terminal, NULL);
    } else if (strcmp(argv[1], "--version") == 0) {
        (void)fprintf(terminal->out, "downsurge %s\n", program_version());
    } else if (strcmp(argv[1], "--manual") == 0) {
        manual_write(terminal->out);
    } else if (strcmp(argv[1], "--keys") == 0) {
        *code =
            help_print_keys(terminal, argc > 2 ? argv[2] : NULL) ? EXIT_CODE_DONE : EXIT_CODE_INPUT;
    } else if (strcmp(argv[1], "--completion") == 0) {
        if (argc < 3 || !completion_write(argv[2], terminal->out)) {
            complain(terminal, "--completion wants a shell: bash or zsh");
            *code = EXIT_CODE_INPUT;
        }
    } else {
        return false;
    }
    return true;
}

static enum exit_code run(const struct terminal *terminal, int argc, char *const argv[])
{
    struct request request = {.terminal = terminal, .word_count = argc - 1, .words = argv + 1};
    if (argc < 2) {
        help_print(terminal, NULL);
        return EXIT_CODE_INPUT;
    }
    enum exit_code code = EXIT_CODE_DONE;
    if (run_alone(terminal, argc, argv, &code)) {
        return code;
    }
    const struct command *command = find_command(terminal, argv[1]);
    if (!command || !request_parse(&request, command, argc - 2, argv + 2)) {
        return EXIT_CODE_INPUT;
    }
    if (request_has(&request, "help")) {
        help_print(terminal, command);
        return EXIT_CODE_DONE;
    }
    if (request_has(&request, "version")) {
        (void)fprintf(terminal->out, "downsurge %s\n", program_version());
        return EXIT_CODE_DONE;
    }
    if (ranks_launched() > 0 && !command->shares_ranks) {
        return EXIT_CODE_DONE; /* number 0 does it alone */
    }
    return command->run(&request);
}

enum exit_code command_main(int argc, char *const argv[])
{
    struct terminal terminal;
    /* A reader that has gone away or a file that grew too large is told by the write itself. */
    (void)signal(SIGPIPE, SIG_IGN);
    (void)signal(SIGXFSZ, SIG_IGN);
    terminal_init(&terminal, stdout, stderr);
    enum exit_code code = run(&terminal, argc, argv);
    errno = 0;
    if (fflush(stdout) != 0 || ferror(stdout)) {
        complain(&terminal, "the standard output could not be written%s%s", errno ? ": " : "",
                 errno ? strerror(errno) : "");
        return EXIT_CODE_FILE;
    }
    return code;
}
