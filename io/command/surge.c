#include "io/command/list.h"
#include "io/command/surge_size.h"
#include "io/command/surge_tell.h"
#include "io/command/work.h"
#include "io/results/surge_sheet.h"
#include "io/terminal/progress.h"
#include "solver/surge/precision.h"

static bool put_runs(const struct work *work, const struct surge *surge, struct store *store,
                     struct json *json, struct failure *failure)
{
    struct sheet sheet;
    bool is_good = true;
    for (int i = 0; is_good && i < surge->run_count; i++) {
        is_good = surge_run_sheet(work->site, &surge->runs[i], &sheet, work->arena, failure);
        if (is_good && store) {
            is_good = store_sheet(store, &sheet, failure);
        }
        if (is_good && json) {
            json_key(json, work->site->network->runs[surge->runs[i].run].name);
            json_sheet(json, &sheet);
        }
    }
    return is_good;
}

static enum exit_code store_surge(const struct work *work, const struct surge *surge,
                                  const struct sheet *sheet, const struct surge_size *size)
{
    struct failure failure = {0};
    struct store *store = work_store(work);
    if (!store) {
        return EXIT_CODE_FILE;
    }
    if (!store_sheet(store, sheet, &failure) || !put_runs(work, surge, store, NULL, &failure) ||
        (size->is_wanted && !store_sheet(store, &size->sheet, &failure))) {
        store_free(store);
        return work_fail(work, &failure);
    }
    return work_write(work, store);
}

static bool print_json(const struct work *work, const struct surge *surge,
                       const struct sheet *sheet, const struct surge_size *size)
{
    struct failure failure = {0};
    struct json json;
    work_json(work, &json);
    if (size->is_wanted) {
        json_key(&json, "sizing");
        json_sheet(&json, &size->sheet);
    }
    json_key(&json, "surge");
    json_sheet(&json, sheet);
    json_key(&json, "runs");
    json_open_object(&json);
    bool is_good = put_runs(work, surge, NULL, &json, &failure);
    json_close_object(&json);
    json_close_object(&json);
    return is_good;
}

static enum exit_code judge_ending(const struct work *work, const struct surge *surge)
{
    if (surge->ending == SURGE_DONE) {
        return EXIT_CODE_DONE;
    }
    const char *point = surge->group_failed_point == NETWORK_NONE
                            ? NULL
                            : work->site->network->points[surge->group_failed_point].name;
    complain(work->request->terminal, "surge: %s%s%s after %.4g s",
             surge_ending_text(surge->ending), point ? ", at " : "", point ? point : "",
             surge->time_reached);
    return EXIT_CODE_NO_SOLUTION;
}

/* Tells and writes what was reached, also when the run could not go to its end. */
static enum exit_code tell(const struct work *work, const struct surge *surge,
                           const struct surge_size *size)
{
    struct failure failure = {0};
    struct sheet sheet;
    enum exit_code code = EXIT_CODE_DONE;
    if (!surge_sheet(work->site, surge, &sheet, work->arena, &failure)) {
        return work_fail(work, &failure);
    }
    bool has_exceeded = surge_exceeds(surge, &sheet);
    if (request_has(work->request, "output")) {
        code = store_surge(work, surge, &sheet, size);
    }
    if (code != EXIT_CODE_DONE) {
        return code;
    }
    bool is_told = request_has(work->request, "json") ? print_json(work, surge, &sheet, size)
                                                      : surge_tell(work, surge, &sheet);
    if (!is_told) {
        (void)fail_memory(&failure, "the tables");
        return work_fail(work, &failure);
    }
    code = judge_ending(work, surge);
    return code == EXIT_CODE_DONE ? work_verdict(work, has_exceeded) : code;
}

static enum precision asked_precision(const struct request *request)
{
    const char *word = request_value(request, "precision", "normal");
    return word[0] == 'q' ? PRECISION_QUICK : word[0] == 'f' ? PRECISION_FINE : PRECISION_NORMAL;
}

/* With --size: the search; its table comes first. Where none suffices there is no run to tell. */
static enum exit_code find_size(struct work *work, struct surge_size *size)
{
    const bool is_json = request_has(work->request, "json");
    if (!request_has(work->request, "size")) {
        return EXIT_CODE_DONE;
    }
    enum exit_code code = surge_size_find(work, asked_precision(work->request), size);
    if (size->found.try_count == 0) {
        return code;
    }
    if (is_json && code != EXIT_CODE_DONE) {
        struct json json;
        work_json(work, &json);
        json_key(&json, "sizing");
        json_sheet(&json, &size->sheet);
        json_close_object(&json);
    } else if (!is_json && !surge_size_print(work, size)) {
        return EXIT_CODE_NO_SOLUTION;
    }
    if (code != EXIT_CODE_DONE) {
        complain(work->request->terminal, "surge: no size in the range keeps the limits");
    }
    return code;
}

static enum exit_code solve(struct work *work)
{
    struct failure failure = {0};
    struct surge surge = {0};
    struct progress progress;
    struct surge_options chosen = surge_defaults;
    struct surge_size size = {0};
    if (!work->site->surge.is_given) {
        complain(work->request->terminal,
                 "%s: the case says nothing of surge; give it a section 'surge' with a duration "
                 "and events",
                 work->request->operands[0]);
        return EXIT_CODE_INPUT;
    }
    enum exit_code code = find_size(work, &size);
    if (code == EXIT_CODE_DONE) {
        code = work_steady(work);
    }
    if (code != EXIT_CODE_DONE) {
        return code;
    }
    progress_start(&progress, work->request->terminal, "surge",
                   request_has(work->request, "quiet"));
    chosen.progress = progress_tell;
    chosen.user = &progress;
    bool is_done =
        surge_run_precisely(work->site, work->site->network, &work->steady, &chosen,
                            asked_precision(work->request), &surge, work->arena, &failure);
    progress_end(&progress);
    return is_done ? tell(work, &surge, &size) : work_fail(work, &failure);
}

static enum exit_code run(const struct request *request)
{
    return work_run(request, solve);
}

static const struct option options[] = {
    {.name = "precision",
     .value = "WORD",
     .words = "quick normal fine",
     .help = "quick: one grid; normal, the default: two, with error bands; fine: three, with "
             "narrower ones; each further one costs four times more"},
    {.name = "size",
     .value = "PART",
     .words = "vessel flywheel relief",
     .help =
         "find the smallest vessel, flywheel or relief valve of the case that keeps the limits"},
    {.name = "limit",
     .value = "LIMITS",
     .help = "what it must keep: highest, lowest, class, reverse, slam, each with its value"},
    {.name = "at",
     .value = "NAME",
     .help = "which vessel, pump or relief valve, where there are several"},
    {.name = "between",
     .value = "SIZES",
     .help = "the smallest and the largest to try: \"50 L, 5 m3\""},
    {0},
};

const struct command command_surge = {
    .name = "surge",
    .operands = "CASE",
    .summary = "What the pipes feel after a pump stops or a valve moves",
    .details =
        "Starts from the steady flow and follows the events of the case's section 'surge'.\n"
        "With --size it first looks for the smallest vessel, flywheel or relief valve of the\n"
        "case that keeps the limits, by whole runs on one grid, sees to it that it keeps them\n"
        "with its whole error band on the grids of --precision, else takes a larger one, and\n"
        "then tells of the run with that one.\n"
        "Grids of 50,000 nodes and more are shared by all cores (OMP_NUM_THREADS), with the same\n"
        "digits as by one.\n"
        "Limits: highest and lowest pressure (metres of water or bar) along all runs or 'in'\n"
        "one, class (share of what the pipes allow), reverse (m/s) and slam of valves.",
    .example =
        "  downsurge surge site.yaml --output site.h5\n  downsurge plot site.h5\n"
        "  downsurge surge site.yaml --size vessel --limit 'highest 60 m, lowest 1 m in main'",
    .options = options,
    .run = run,
};
