#include "io/command/study_ranks.h"

#include "io/terminal/interrupt.h"
#include "solver/workers.h"

#include <stdlib.h>
#include <string.h>

struct sweep study_sweep(struct variants *variants)
{
    const struct study *study = &variants->case_study.study;
    return (struct sweep){.count = variants->count,
                          .runs = study->runs,
                          .measure_count = study->measure_count,
                          .measures = study->measures,
                          .site = variants_site,
                          .site_user = variants};
}

/* Puts a team between the sweep and the rest. */
static struct team *join(struct ranks *ranks, struct team_options *options, struct sweep *sweep,
                         struct arena *arena, struct failure *failure)
{
    sweep->worker_count = ranks_workers(ranks);
    options->worker_count = sweep->worker_count > 0 ? sweep->worker_count : workers_count();
    options->count = sweep->count;
    options->is_stopped = interrupt_has_come;
    struct team *team = team_new(ranks, options, arena, failure);
    sweep->next = team_next;
    sweep->serve = team_serve;
    sweep->keep = team_keep;
    sweep->next_user = sweep->serve_user = sweep->keep_user = team;
    return team;
}

static void tell_lost(void *user, int rank, const char *what)
{
    const struct study_keep *keep = user;
    complain(keep->terminal, "study: process %d %s", rank, what);
}

bool study_share(struct ranks *ranks, struct study_keep *keep, struct sweep *sweep,
                 struct failure *failure)
{
    char fingerprint[SHA256_TEXT_SIZE];
    struct team_options options = {.fingerprint = fingerprint,
                                   .is_done = keep->rows.is_done,
                                   .keep = sweep->keep,
                                   .tell = tell_lost,
                                   .keep_user = keep};
    if (ranks->count < 2) {
        return true;
    }
    study_keep_fingerprint(keep->variants, fingerprint);
    return join(ranks, &options, sweep, keep->arena, failure) != NULL;
}

/* What a helper does from the reading of the case on. *is_let_go: the leader has said so. */
static void help_with(const struct work *work, struct ranks *ranks, bool *is_let_go)
{
    char fingerprint[SHA256_TEXT_SIZE];
    struct failure failure = {0};
    struct variants variants;
    struct team_options options = {.fingerprint = fingerprint};
    if (!variants_init(&variants, work->site, work->arena)) {
        complain_faults(work->request->terminal, &variants.faults);
    } else {
        bool is_whole = false;
        struct sweep sweep = study_sweep(&variants);
        study_keep_fingerprint(&variants, fingerprint);
        const struct team *team = join(ranks, &options, &sweep, work->arena, &failure);
        if (!team || !sweep_run(&sweep, &is_whole, &failure)) {
            (void)work_fail(work, &failure);
        }
        *is_let_go = team && team_is_over(team);
    }
    variants_clear(&variants);
}

/* A helper's messages are kept for the leader to tell. */
static enum exit_code help(const struct request *request, struct ranks *ranks)
{
    char *said = NULL;
    size_t size = 0;
    bool is_let_go = false;
    struct work work;
    struct request silent = *request;
    struct terminal terminal = *request->terminal;
    FILE *messages = open_memstream(&said, &size);
    terminal.messages = messages ? messages : terminal.messages;
    terminal.messages_have_colour = terminal.messages_are_watched = false;
    terminal.messages_width = 0;
    silent.terminal = &terminal;
    if (work_start(&work, &silent) == EXIT_CODE_DONE) {
        help_with(&work, ranks, &is_let_go);
    }
    work_end(&work);
    if (messages) {
        (void)fclose(messages);
    }
    if (!is_let_go) {
        team_leave(ranks, said && *said ? said : "was stopped");
    }
    team_say_goodbye(ranks);
    free(said);
    return EXIT_CODE_DONE;
}

enum exit_code study_on_ranks(const struct request *request,
                              enum exit_code (*lead)(struct work *work, struct ranks *ranks))
{
    struct failure failure = {0};
    struct interrupt interrupt;
    struct ranks ranks;
    struct work work;
    /* Before any thread is started, those of MPI too: none shall take the signal. */
    interrupt_hold(&interrupt);
    enum exit_code code = EXIT_CODE_NO_SOLUTION;
    if (!ranks_start(&ranks, &failure)) {
        complain_failure(request->terminal, &failure);
    } else if (ranks.mine > 0) {
        code = help(request, &ranks);
    } else {
        code = work_start(&work, request);
        code = code == EXIT_CODE_DONE ? work_may_write(&work) : code;
        code = code == EXIT_CODE_DONE ? lead(&work, &ranks) : code;
        work_end(&work);
        team_let_go(&ranks);
    }
    ranks_end(&ranks);
    interrupt_release(&interrupt);
    return code;
}
