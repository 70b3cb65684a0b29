#include "io/command/command.h"
#include "io/command/list.h"
#include "io/command/next.h"
#include "io/command/page.h"
#include "io/door/door.h"
#include "io/door/explain.h"
#include "io/door/variants.h"
#include "io/results/json.h"

static void json_faults(struct json *json, const struct faults *faults)
{
    static const char *const levels[FAULT_LEVEL_COUNT] = {"error", "doubt", "assumed"};
    json_open_array(json);
    for (int i = 0; i < faults->count; i++) {
        const struct fault *fault = &faults->list[i];
        const struct place *place = &fault->failure.place;
        json_open_object(json);
        json_key(json, "level");
        json_text(json, levels[fault->level]);
        json_key(json, "file");
        json_text(json, place->file);
        json_key(json, "line");
        json_number(json, place->line);
        json_key(json, "column");
        json_number(json, place->column);
        json_key(json, "message");
        json_text(json, fault->failure.message);
        json_close_object(json);
    }
    json_close_array(json);
}

static void write_json(const struct page *page, const struct site *site,
                       const struct faults *faults)
{
    struct json json;
    json_start(&json, page->terminal.out);
    json_open_object(&json);
    json_key(&json, "site");
    json_text(&json, site ? site->name : NULL);
    json_key(&json, "is_usable");
    json_truth(&json, faults_count(faults, FAULT_ERROR) == 0);
    json_key(&json, "faults");
    json_faults(&json, faults);
    json_close_object(&json);
}

static void explain(const struct page *page, const struct site *site, const struct faults *faults)
{
    struct prose prose;
    prose_answers(&prose, &page->terminal);
    explain_site(site, faults, &prose);
    next_of_case(&page->terminal, page->request->operands[0], site);
}

static enum exit_code check(const struct request *request, struct arena *arena)
{
    struct page page;
    struct site *site = NULL;
    struct faults faults;
    if (!page_open(&page, request, request_value(request, "output", NULL), NULL)) {
        return EXIT_CODE_FILE;
    }
    faults_init(&faults, arena);
    bool is_good = read_site(request->operands[0], arena, &site, &faults) &&
                   variants_check(site, arena, &faults);
    enum exit_code code = is_good               ? EXIT_CODE_DONE
                          : faults.memory_ended ? EXIT_CODE_NO_SOLUTION
                                                : EXIT_CODE_INPUT;
    if (request_has(request, "json")) {
        write_json(&page, site, &faults);
    } else if (is_good) {
        explain(&page, site, &faults);
    } else {
        complain_faults(request->terminal, &faults);
    }
    if (is_good && faults_count(&faults, FAULT_DOUBT) > 0 && request_has(request, "strict")) {
        code = EXIT_CODE_LIMIT;
    }
    return page_close(&page, code);
}

static enum exit_code run(const struct request *request)
{
    struct arena *arena = arena_new();
    if (!arena) {
        complain(request->terminal, "memory ended while making room for the case");
        return EXIT_CODE_NO_SOLUTION;
    }
    enum exit_code code = check(request, arena);
    arena_free(arena);
    return code;
}

const struct command command_check = {
    .name = "check",
    .operands = "CASE",
    .summary = "Read a case, explain it, list what is missing or doubtful",
    .details = "All errors come in one go, each with its place and what to do. With --strict it\n"
               "ends with 1 when something is doubtful.",
    .example = "  downsurge check site.yaml",
    .options = NULL,
    .run = run,
};
