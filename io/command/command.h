/* Command: what every command of the program is made of.
 * A command is one file with one constant `struct command`; parsing, help and messages all come
 * from its tables. Registering it is one line in io/command/list.c. */
#ifndef IO_COMMAND_COMMAND_H
#define IO_COMMAND_COMMAND_H

#include "io/terminal/terminal.h"
#include "models/failure.h"

#include <stdbool.h>

/* How the program ends. */
enum exit_code {
    EXIT_CODE_DONE = 0,
    EXIT_CODE_LIMIT = 1,       /* done, but a limit is exceeded, and --strict was given */
    EXIT_CODE_INPUT = 2,       /* the case or the command line is wrong */
    EXIT_CODE_NO_SOLUTION = 3, /* no answer was found, or memory ended before */
    EXIT_CODE_FILE = 4         /* a file could not be written */
};

enum { OPTION_COUNT_MAX = 16, OPERAND_COUNT_MAX = 4 };

/* An option; a list of them ends with a name of NULL. */
struct option {
    const char *name;  /* without the dashes: "output" */
    char letter;       /* 0: no short form */
    const char *value; /* "FILE"; NULL: a plain switch */
    const char *words; /* values allowed, blanks between: "svg png"; NULL: anything */
    const char *help;  /* one line */
};

struct request;
struct faults;

struct command {
    const char *name;
    const char *operands; /* "CASE", "RESULTS [PATH]"; in square brackets: may be left out,
                             ending in "...]": may stand as often as there is room */
    const char *summary;  /* one line */
    const char *details;  /* more lines for --help; NULL: none */
    const char *example;  /* lines that can be typed as they stand */
    const struct option *options;
    bool reads_results; /* its operands may be results files: see io/command/guard.h */
    bool shares_ranks;  /* what to do with several processes is its own affair; else one works */
    enum exit_code (*run)(const struct request *request);
};

/* What the person asked for. */
struct request {
    const struct command *command;
    const struct terminal *terminal;
    int word_count;     /* everything after the program's name, as typed */
    char *const *words; /* borrowed */
    int operand_count;
    const char *operands[OPERAND_COUNT_MAX]; /* borrowed from argv */
    const char *values[OPTION_COUNT_MAX];    /* by number of the option (own, then common); NULL:
                                                not given; a switch: "" */
};

/* Options every command has. */
extern const struct option common_options[];

/* Every command, in the order of the help. */
extern const struct command *const commands[];
extern const int command_count;

/* Whether an option was given; its value or `otherwise`. The name must be in the tables. */
bool request_has(const struct request *request, const char *name);
const char *request_value(const struct request *request, const char *name, const char *otherwise);

/* Whether nothing is to be printed: with --quiet, but with --json its document is the result. */
bool request_is_silent(const struct request *request);

/* Which of an option's words, counted from 0, the value is; -1: none of them. */
int option_word(const struct option *option, const char *value);

/* Reads the words after the program's name. EXIT_CODE_INPUT and a message on terminal->messages
 * when they make no sense. */
MUST_CHECK bool request_parse(struct request *request, const struct command *command, int count,
                              char *const words[]);

/* Number of operands a command needs at least and takes at most. */
void command_operands(const struct command *command, int *least, int *most);

/* The help of the program (command NULL) or of one command. */
void help_print(const struct terminal *terminal, const struct command *command);

/* What a case file may say: every section with its keys, or the one called `only` (NULL: all).
 * False: there is none of that name; told. */
MUST_CHECK bool help_print_keys(const struct terminal *terminal, const char *only);

/* What the program is for, and with what it ends, in words. */
extern const char help_purpose[];
extern const char help_endings[];

/* Tells an error: "downsurge: file:line:column: message". */
void complain(const struct terminal *terminal, const char *format, ...) PRINTF_LIKE(2, 3);
void complain_failure(const struct terminal *terminal, const struct failure *failure);

/* All errors found while a case was read, one a line. */
void complain_faults(const struct terminal *terminal, const struct faults *faults);

/* The exit code that goes with a failure. */
enum exit_code exit_code_of(const struct failure *failure);

/* The whole program. */
enum exit_code command_main(int argc, char *const argv[]);

#endif
