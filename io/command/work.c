#include "io/command/work.h"

#include "io/command/next.h"
#include "io/results/case_sheet.h"
#include "io/results/curves_sheet.h"
#include "io/results/findings_sheet.h"
#include "io/results/sha256.h"
#include "io/results/steady_sheet.h"
#include "io/results/whole_file.h"
#include "io/version.h"

#include <string.h>

enum exit_code work_fail(const struct work *work, const struct failure *failure)
{
    complain_failure(work->request->terminal, failure);
    return exit_code_of(failure);
}

static void tell_faults(const struct work *work, enum fault_level level, const char *title)
{
    const struct terminal *terminal = work->request->terminal;
    struct prose prose;
    if (faults_count(&work->faults, level) == 0) {
        return;
    }
    prose_messages(&prose, terminal);
    prose_tone(&prose, terminal->messages_have_colour, TONE_STRONG, title);
    prose_add(&prose, "\n");
    faults_tell(&work->faults, level, &prose);
    if (terminal->messages_are_watched) {
        prose_add(&prose, "\n"); /* what follows is on the same screen */
    }
}

enum exit_code work_start(struct work *work, const struct request *request)
{
    struct failure failure = {0};
    memset(work, 0, sizeof *work);
    work->request = request;
    work->terminal = *request->terminal;
    work->arena = arena_new();
    if (!work->arena) {
        (void)fail_memory(&failure, "the case");
        return work_fail(work, &failure);
    }
    if (request_is_silent(request)) {
        work->nowhere = fopen("/dev/null", "w");
        work->terminal.out = work->nowhere ? work->nowhere : work->terminal.out;
        work->terminal.out_has_colour = false;
    }
    faults_init(&work->faults, work->arena);
    if (!read_site(request->operands[0], work->arena, &work->site, &work->faults)) {
        complain_faults(request->terminal, &work->faults);
        return work->faults.memory_ended ? EXIT_CODE_NO_SOLUTION : EXIT_CODE_INPUT;
    }
    if (!request_has(request, "quiet")) {
        tell_faults(work, FAULT_DOUBT, "To be looked at again");
    }
    return EXIT_CODE_DONE;
}

void work_end(struct work *work)
{
    if (work->nowhere) {
        (void)fclose(work->nowhere);
    }
    arena_free(work->arena);
}

enum exit_code work_may_write(const struct work *work)
{
    struct failure failure = {0};
    const char *path = request_value(work->request, "output", NULL);
    return !path || whole_file_try(path, WHOLE_FILE_RESULTS, &failure) ? EXIT_CODE_DONE
                                                                       : work_fail(work, &failure);
}

enum exit_code work_run(const struct request *request, enum exit_code (*solve)(struct work *work))
{
    struct work work;
    enum exit_code code = work_start(&work, request);
    if (code == EXIT_CODE_DONE) {
        code = work_may_write(&work);
    }
    if (code == EXIT_CODE_DONE) {
        code = solve(&work);
    }
    if (code == EXIT_CODE_DONE || code == EXIT_CODE_LIMIT) {
        next_of_results(request, &work.terminal);
    }
    work_end(&work);
    return code;
}

/* Residuals at which an answer is good enough to be told although the solver could not get on: a
 * thousandth of a millilitre a second and a micrometre of head. */
static bool is_good_enough(const struct steady *steady)
{
    return steady->mass_residual <= 1e-9 && steady->energy_residual <= 1e-6 &&
           steady->complementarity <= 1e-6;
}

static enum exit_code judge_ending(const struct work *work)
{
    const struct steady *steady = &work->steady;
    const struct network *network = work->site->network;
    if (steady->ending == STEADY_CONVERGED ||
        (steady->ending == STEADY_STALLED && is_good_enough(steady))) {
        return EXIT_CODE_DONE;
    }
    complain(work->request->terminal,
             "no steady answer: %s after %d linear systems; flow does not balance by %.3g L/s%s%s, "
             "head does not by %.3g m%s%s",
             steady_ending_text(steady->ending), steady->steps, 1e3 * steady->mass_residual,
             steady->worst_point == NETWORK_NONE ? "" : " at ",
             steady->worst_point == NETWORK_NONE ? "" : network->points[steady->worst_point].name,
             steady->energy_residual, steady->worst_link == NETWORK_NONE ? "" : " over ",
             steady->worst_link == NETWORK_NONE ? "" : network->links[steady->worst_link].name);
    return EXIT_CODE_NO_SOLUTION;
}

enum exit_code work_steady(struct work *work)
{
    struct failure failure = {0};
    const struct network *network = work->site->network;
    if (!steady_init(&work->steady, network, work->arena, &failure)) {
        return work_fail(work, &failure);
    }
    struct steady_solver *solver = steady_solver_new(network, &failure);
    bool is_done = solver && steady_solve(solver, network, &work->site->water, &steady_defaults,
                                          &work->steady, &failure);
    steady_solver_free(solver);
    if (!is_done) {
        return work_fail(work, &failure);
    }
    enum exit_code code = judge_ending(work);
    if (code != EXIT_CODE_DONE) {
        return code;
    }
    findings_init(&work->findings, work->arena);
    if (!findings_steady(work->site, &work->steady, &work->findings, &failure)) {
        return work_fail(work, &failure);
    }
    return EXIT_CODE_DONE;
}

enum exit_code work_verdict(const struct work *work, bool has_exceeded)
{
    bool is_over = has_exceeded || findings_count(&work->findings, FINDING_FAILED) > 0;
    return is_over && request_has(work->request, "strict") ? EXIT_CODE_LIMIT : EXIT_CODE_DONE;
}

/* The command line as it was typed, words with blanks between. */
static char *join_words(const struct request *request, struct arena *arena)
{
    size_t size = 1;
    for (int i = 0; i < request->word_count; i++) {
        size += strlen(request->words[i]) + 1;
    }
    char *line = arena_take(arena, size, 1);
    char *at = line;
    for (int i = 0; line && i < request->word_count; i++) {
        size_t length = strlen(request->words[i]);
        if (i > 0) {
            *at++ = ' ';
        }
        memcpy(at, request->words[i], length);
        at += length;
    }
    return line;
}

/* A group for each running pump. */
static bool put_curves(const struct work *work, struct store *store, struct sheet *sheet,
                       struct failure *failure)
{
    const struct site *site = work->site;
    bool is_good = true;
    for (int i = 0; is_good && curves_fit(site) && i < site->pump_place_count; i++) {
        const struct pump_unit *unit = site->network->links[site->pump_places[i].link].data;
        is_good = !unit->is_running ||
                  (curves_pump_sheet(site, &work->steady, i, sheet, work->arena, failure) &&
                   store_sheet(store, sheet, failure));
    }
    return is_good;
}

static bool put_all(const struct work *work, struct store *store, struct sheet *sheet,
                    struct failure *failure)
{
    const char *texts[1];
    char *line = join_words(work->request, work->arena);
    if (!line) {
        return fail_memory(failure, "the command line");
    }
    if (!case_root_sheet(work->site, line, sheet, work->arena, failure) ||
        !store_sheet(store, sheet, failure)) {
        return false;
    }
    case_sheet(work->site, sheet, texts);
    if (!store_sheet(store, sheet, failure)) {
        return false;
    }
    return !work->steady.head ||
           (steady_sheet(work->site, &work->steady, sheet, work->arena, failure) &&
            store_sheet(store, sheet, failure) &&
            findings_sheet(&work->findings, "/steady/findings", sheet, work->arena, failure) &&
            store_sheet(store, sheet, failure) && put_curves(work, store, sheet, failure));
}

struct store *work_store(const struct work *work)
{
    struct failure failure = {0};
    struct sheet sheet;
    struct store *store = store_new(request_value(work->request, "output", NULL), &failure);
    if (store && put_all(work, store, &sheet, &failure)) {
        return store;
    }
    (void)work_fail(work, &failure);
    store_free(store);
    return NULL;
}

enum exit_code work_write(const struct work *work, struct store *store)
{
    struct failure failure = {0};
    bool is_good = store_finish(store, &failure);
    store_free(store);
    if (!is_good) {
        return work_fail(work, &failure);
    }
    return EXIT_CODE_DONE;
}

void work_json(const struct work *work, struct json *json)
{
    char digest[SHA256_TEXT_SIZE];
    const char *text = work->site->text ? work->site->text : "";
    sha256_text(strlen(text), text, digest);
    json_start(json, work->terminal.out);
    json_open_object(json);
    json_key(json, "program");
    json_text(json, "downsurge");
    json_key(json, "version");
    json_text(json, program_version());
    json_key(json, "site");
    json_text(json, work->site->name);
    json_key(json, "case_file");
    json_text(json, work->site->path);
    json_key(json, "case_sha256");
    json_text(json, digest);
}
