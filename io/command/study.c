#include "io/command/list.h"
#include "io/command/next.h"
#include "io/command/study_failures.h"
#include "io/command/study_keep.h"
#include "io/command/study_ranks.h"
#include "io/command/study_tell.h"
#include "io/command/work.h"
#include "io/results/study_sheet.h"

static const struct option options[] = {
    {"failures", 0, NULL, NULL, "instead: each valve, each pump and the power failing in turn"},
    {NULL, 0, NULL, NULL, NULL},
};

/* The sheets of a study, one after the other into `sheet`; false when number `index` is past the
 * last or (failure has a kind) could not be made. */
static bool make_sheet(const struct study_keep *keep, int index, struct sheet *sheet,
                       struct arena *arena, struct failure *failure)
{
    const struct study *study = &keep->variants->case_study.study;
    switch (index) {
    case 0:
        return study_sheet(keep->variants, &keep->rows, sheet, arena, failure);
    case 1:
        return study_summary_sheet(study, &keep->rows, sheet, arena, failure);
    case 2:
        return study_limits_sheet(study, &keep->rows, sheet, arena, failure);
    case 3:
        return (study->design.kind == DESIGN_IMPORTANCE &&
                study_importance_sheet(study, &keep->rows, sheet, arena, failure)) ||
               (study->design.kind == DESIGN_ONE_AT_A_TIME &&
                study_alone_sheet(study, &keep->rows, sheet, arena, failure));
    default:
        return false;
    }
}

static enum exit_code write_results(const struct work *work, const struct study_keep *keep)
{
    struct failure failure = {0};
    struct sheet sheet;
    struct store *store = work_store(work);
    bool is_good = store != NULL;
    if (!store) {
        return EXIT_CODE_FILE;
    }
    for (int i = 0; is_good && make_sheet(keep, i, &sheet, work->arena, &failure); i++) {
        is_good = store_sheet(store, &sheet, &failure);
    }
    if (!is_good || failure.kind != FAILURE_NONE) {
        store_free(store);
        return work_fail(work, &failure);
    }
    return work_write(work, store);
}

static enum exit_code print_json(const struct work *work, const struct study_keep *keep)
{
    static const char *const names[] = {"study", "summary", "limits", "together"};
    struct failure failure = {0};
    struct json json;
    struct sheet sheet;
    work_json(work, &json);
    for (int i = 0; make_sheet(keep, i, &sheet, work->arena, &failure); i++) {
        json_key(&json, names[i]);
        json_sheet(&json, &sheet);
    }
    json_close_object(&json);
    return failure.kind == FAILURE_NONE ? EXIT_CODE_DONE : work_fail(work, &failure);
}

/* With --strict: a variant that has an answer outside a limit. */
static bool has_exceeded_limit(const struct study_keep *keep)
{
    const struct study *study = &keep->variants->case_study.study;
    for (int i = 0; i < keep->rows.count; i++) {
        if (keep->rows.status[i] == ROW_DONE && !rows_are_within(&keep->rows, i, study)) {
            return true;
        }
    }
    return false;
}

static enum exit_code tell(const struct work *work, const struct study_keep *keep)
{
    struct failure failure = {0};
    if (request_has(work->request, "json")) {
        return print_json(work, keep);
    }
    return study_tell(keep, &work->terminal, &failure) ? EXIT_CODE_DONE : work_fail(work, &failure);
}

static enum exit_code tell_stopped(const struct work *work, const struct study_keep *keep)
{
    if (keep->failure.kind != FAILURE_NONE) {
        return work_fail(work, &keep->failure);
    }
    if (keep->journal) {
        complain(work->request->terminal,
                 "study: stopped with %d of %d variants done; they are kept in %s, and the same "
                 "command goes on from there",
                 keep->rows.done_count, keep->rows.count, keep->journal_path);
    } else {
        complain(work->request->terminal,
                 "study: stopped with %d of %d variants done; with --output they would have been "
                 "kept",
                 keep->rows.done_count, keep->rows.count);
    }
    return EXIT_CODE_NO_SOLUTION;
}

static void tell_found(const struct work *work, const struct study_keep *keep)
{
    if (keep->found > 0 && !request_has(work->request, "quiet")) {
        (void)fprintf(work->request->terminal->messages,
                      "Going on from %s: %d of %d variants were done before.\n", keep->journal_path,
                      keep->found, keep->rows.count);
    }
}

/* Runs what is left, then tells and writes. */
static enum exit_code run_all(const struct work *work, struct ranks *ranks,
                              struct variants *variants, struct study_keep *keep)
{
    struct failure failure = {0};
    bool is_whole = false;
    struct sweep sweep = study_sweep(variants);
    sweep.is_done = keep->rows.is_done;
    sweep.keep = study_keep_row;
    sweep.keep_user = keep;
    if (!study_share(ranks, keep, &sweep, &failure)) {
        return work_fail(work, &failure);
    }
    tell_found(work, keep);
    progress_start(&keep->progress, work->request->terminal, "study",
                   request_has(work->request, "quiet"));
    const bool is_done = sweep_run(&sweep, &is_whole, &failure);
    progress_end(&keep->progress);
    if (!is_done) {
        return work_fail(work, &failure);
    }
    if (keep->rows.done_count < keep->rows.count) {
        return tell_stopped(work, keep);
    }
    const enum exit_code code =
        request_has(work->request, "output") ? write_results(work, keep) : EXIT_CODE_DONE;
    return code == EXIT_CODE_DONE ? tell(work, keep) : code;
}

/* The interrupt is held all the while, so that the results are whole. */
static enum exit_code study(struct work *work, struct ranks *ranks)
{
    struct failure failure = {0};
    struct variants variants;
    struct study_keep keep = {0};
    enum exit_code code = EXIT_CODE_INPUT;
    if (!variants_init(&variants, work->site, work->arena)) {
        complain_faults(work->request->terminal, &variants.faults);
        code = variants.faults.memory_ended ? EXIT_CODE_NO_SOLUTION : EXIT_CODE_INPUT;
    } else if (!study_keep_init(&keep, &variants, work->request->terminal,
                                request_value(work->request, "output", NULL), work->arena,
                                &failure)) {
        code = work_fail(work, &failure);
    } else {
        code = run_all(work, ranks, &variants, &keep);
        study_keep_clear(&keep, code == EXIT_CODE_DONE);
        if (code == EXIT_CODE_DONE) {
            next_of_results(work->request, &work->terminal);
            code = work_verdict(work, has_exceeded_limit(&keep));
        }
    }
    study_keep_clear(&keep, false);
    variants_clear(&variants);
    return code;
}

static enum exit_code run(const struct request *request)
{
    if (!request_has(request, "failures")) {
        return study_on_ranks(request, study);
    }
    return ranks_launched() > 0 ? EXIT_CODE_DONE : work_run(request, study_failures);
}

const struct command command_study = {
    .name = "study",
    .operands = "CASE",
    .summary = "Many variants of the case, all cores, to be gone on with when stopped",
    .details =
        "The section study of the case says what is varied, how the values are combined, what is\n"
        "kept of each variant and what it must keep to. Measures may be of the steady flow, of "
        "the\n"
        "surge, or of the hours of the section filling; what they need is run. With --output "
        "every\n"
        "finished variant is kept in FILE.journal until the results are whole: after Ctrl-C or\n"
        "worse the same command goes on where it stopped. Results do not depend on the number of\n"
        "threads (OMP_NUM_THREADS), nor of processes when mpirun starts several, on one machine "
        "or\n"
        "many that see the same case file: they share the work, and the first one keeps and\n"
        "writes it. --failures needs no section study: each non-return valve in\n"
        "turn stuck open or shut, leaking, with debris in it or without its spring, each pump\n"
        "failing, and all power failing, in one table with what follows, the worst first.",
    .example = "  downsurge study site.yaml --output study.h5\n"
               "  downsurge study site.yaml --failures\n"
               "  downsurge plot study.h5 --format png",
    .options = options,
    .shares_ranks = true,
    .run = run,
};
