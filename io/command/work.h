/* Work: what the solving commands share: read the case, solve it at rest in time, judge it, write
 * it down. Each step tells what went wrong itself and returns the exit code that goes with it. */
#ifndef IO_COMMAND_WORK_H
#define IO_COMMAND_WORK_H

#include "io/command/command.h"
#include "io/door/door.h"
#include "io/results/json.h"
#include "io/results/store.h"
#include "models/arena.h"
#include "models/site.h"
#include "solver/findings/findings.h"
#include "solver/steady/steady.h"

struct work {
    const struct request *request;
    struct terminal terminal; /* where the answer goes; nowhere when the request is silent */
    FILE *nowhere;
    struct arena *arena;
    struct site *site;
    struct faults faults;
    struct steady steady;
    struct findings findings;
};

/* Reads the case named first on the command line; its errors, doubts and assumptions go to the
 * messages. Always end with work_end. */
enum exit_code work_start(struct work *work, const struct request *request);
void work_end(struct work *work);

/* Whether results can be put into the file of --output: asked before the work, not after it. */
enum exit_code work_may_write(const struct work *work);

/* A whole command on one case: start, `solve` if the case is good, end. */
enum exit_code work_run(const struct request *request, enum exit_code (*solve)(struct work *work));

/* Solves the steady flow and finds what is to be told of it. */
enum exit_code work_steady(struct work *work);

/* The end of a command whose work is done: EXIT_CODE_LIMIT with --strict when `has_exceeded` or a
 * finding says that a limit is. */
enum exit_code work_verdict(const struct work *work, bool has_exceeded);

/* A store with the root, /case and, when it was solved, /steady and /steady/findings in it; NULL:
 * told. */
struct store *work_store(const struct work *work);

/* Writes a store to the file of --output and frees it. */
enum exit_code work_write(const struct work *work, struct store *store);

/* Opens a JSON document with who made it and from what; close it with json_close_object. */
void work_json(const struct work *work, struct json *json);

/* Tells a failure; the exit code that goes with it. */
enum exit_code work_fail(const struct work *work, const struct failure *failure);

#endif
