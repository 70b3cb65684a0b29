#include "io/command/study_failures.h"

#include "io/results/failures_sheet.h"
#include "io/results/trade_table.h"
#include "io/terminal/interrupt.h"
#include "io/terminal/progress.h"
#include "io/terminal/prose.h"
#include "io/terminal/table.h"

static const struct trade_column columns[] = {
    {"failure", "when", "", 1.0, TABLE_TEXT},
    {"grade", "how bad", "", 1.0, TABLE_TEXT},
    {"then", "what then", "", 1.0, TABLE_TEXT},
    {NULL, NULL, NULL, 0.0, 0},
};

static bool tell_progress(void *user, double share_done)
{
    (void)progress_tell(user, share_done);
    return !interrupt_has_come();
}

static enum exit_code print(const struct work *work, const struct failures *failures,
                            const struct sheet *sheet)
{
    struct failure failure = {0};
    char words[400];
    FILE *out = work->terminal.out;
    if (request_has(work->request, "json")) {
        struct json json;
        work_json(work, &json);
        json_key(&json, "failures");
        json_sheet(&json, sheet);
        json_close_object(&json);
        return EXIT_CODE_DONE;
    }
    (void)fprintf(out, "%s: when one thing fails\n\n",
                  work->site->name ? work->site->name : "Site");
    if (!trade_table(sheet, "The worst first", columns, NULL, &work->terminal, work->arena)) {
        (void)fail_memory(&failure, "the tables");
        return work_fail(work, &failure);
    }
    failures_words(work->site, &failures->sound, &failures->sound, sizeof words, words);
    prose_tell(
        &work->terminal,
        "When nothing fails, the pumps run and are switched off: %s.\n"
        "Leaking: %.0f %% of the bore stays open; debris: %.0f %%, and %.0f %% of its area is lost "
        "to "
        "the flow. Each is tried with the pumps as they run, with all stopped, and as the power "
        "fails. Times are at the first rate of flow: a tank lasts at least so long. Of pressure "
        "and boiling a valve's failing counts by what it adds to a failure of the power.\n"
        "Grave: above the class, boils, a tank within 1 h, below 5 %% of the water, over 50 %% of "
        "it "
        "back, a pump backward beyond its rated speed. Serious: a tank within a day, below half "
        "of the water, prime at risk, over 5 %% back, over half speed.\n",
        words, 100.0 * failures_leak, 100.0 * failures_debris, 100.0 * failures_debris_area);
    return EXIT_CODE_DONE;
}

/* Something bursts, boils, floods or runs dry within a day, or is not known. */
static bool is_over_limits(const struct failures *failures)
{
    bool is_over = false;
    for (int i = 0; i < failures->count; i++) {
        const struct failed *item = &failures->items[i];
        is_over = is_over || item->worst == SEVERITY_UNKNOWN;
        for (int k = CONSEQUENCE_PRESSURE; k <= CONSEQUENCE_DRY; k++) {
            is_over = is_over || item->severity[k] >= SEVERITY_SERIOUS;
        }
    }
    return is_over;
}

static enum exit_code tell(const struct work *work, const struct failures *failures)
{
    struct failure failure = {0};
    struct sheet sheet;
    if (!failures_sheet(work->site, failures, &sheet, work->arena, &failure)) {
        return work_fail(work, &failure);
    }
    if (request_has(work->request, "output")) {
        struct store *store = work_store(work);
        if (!store) {
            return EXIT_CODE_FILE;
        }
        if (!store_sheet(store, &sheet, &failure)) {
            store_free(store);
            return work_fail(work, &failure);
        }
        const enum exit_code code = work_write(work, store);
        if (code != EXIT_CODE_DONE) {
            return code;
        }
    }
    const enum exit_code code = print(work, failures, &sheet);
    const bool is_over = is_over_limits(failures);
    return code == EXIT_CODE_DONE ? work_verdict(work, is_over) : code;
}

enum exit_code study_failures(struct work *work)
{
    struct failure failure = {0};
    struct failures failures = {0};
    struct progress progress;
    struct interrupt interrupt;
    enum exit_code code = work_steady(work);
    if (code != EXIT_CODE_DONE) {
        return code;
    }
    progress_start(&progress, work->request->terminal, "failures",
                   request_has(work->request, "quiet"));
    const struct failures_options asked = {.progress = tell_progress, .user = &progress};
    interrupt_hold(&interrupt);
    const bool is_done = failures_run(work->site, &asked, &failures, work->arena, &failure);
    interrupt_release(&interrupt);
    progress_end(&progress);
    if (!is_done) {
        return work_fail(work, &failure);
    }
    if (failures.is_stopped) {
        complain(work->request->terminal, "study: the failures were stopped before all were tried");
        return EXIT_CODE_NO_SOLUTION;
    }
    return tell(work, &failures);
}
