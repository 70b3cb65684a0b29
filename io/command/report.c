#include "io/command/command.h"
#include "io/command/list.h"
#include "io/command/page.h"
#include "io/command/patience.h"
#include "io/report/page.h"
#include "io/results/json.h"

#include <string.h>

enum { FILES_MAX = MATERIAL_FILES_MAX };

static const struct option options[] = {
    PATIENCE_OPTION,
    {NULL, 0, NULL, NULL, NULL},
};

static bool open_all(const struct request *request, struct reader *readers[FILES_MAX],
                     struct failure *failure)
{
    for (int i = 0; i < request->operand_count && i < FILES_MAX; i++) {
        readers[i] = reader_open(request->operands[i], failure);
        if (!readers[i]) {
            return false;
        }
    }
    return true;
}

/* "out/site.h5" becomes "out/site.html"; false: the name is too long. */
static bool page_name(const struct request *request, size_t size, char name[])
{
    const char *path = request->operands[0];
    const char *slash = strrchr(path, '/');
    const char *dot = strrchr(slash ? slash : path, '.');
    int length = dot && dot > path && dot[-1] != '/' ? (int)(dot - path) : (int)strlen(path);
    const char *asked = request_value(request, "output", NULL);
    int written =
        asked ? snprintf(name, size, "%s", asked) : snprintf(name, size, "%.*s.html", length, path);
    return written > 0 && (size_t)written < size;
}

static void tell(const struct request *request, const struct material *material, const char *name)
{
    if (material->picture_why[0]) {
        complain(request->terminal, "pictures are missing in the report: %s",
                 material->picture_why);
    }
    if (!material->site) {
        complain(request->terminal, "sketch, parts and assumptions are missing in the report: %s",
                 material->case_why);
    }
    if (request_has(request, "json")) {
        struct json json;
        json_start(&json, request->terminal->out);
        json_open_object(&json);
        json_key(&json, "page");
        json_text(&json, name);
        json_close_object(&json);
    } else if (!request_has(request, "quiet")) {
        (void)fprintf(request->terminal->out, "%s\n", name);
    }
}

static enum exit_code write_page(const struct request *request, const struct material *material)
{
    char name[1024];
    struct page page;
    if (!page_name(request, sizeof name, name)) {
        complain(request->terminal, "the name of the page is too long");
        return EXIT_CODE_FILE;
    }
    if (!page_open(&page, request, name, WHOLE_FILE_PAGE)) {
        return EXIT_CODE_FILE;
    }
    report_write(material, page.terminal.out);
    enum exit_code code = page_close(&page, EXIT_CODE_DONE);
    if (code == EXIT_CODE_DONE) {
        tell(request, material, name);
    }
    return code;
}

static enum exit_code run(const struct request *request)
{
    struct failure failure = {0};
    struct reader *readers[FILES_MAX] = {NULL};
    enum exit_code code = EXIT_CODE_DONE;
    bool is_good = false;
    double patience = 0.0;
    if (!patience_read(request, &patience)) {
        return EXIT_CODE_INPUT;
    }
    struct arena *arena = arena_new();
    struct material *material = arena ? arena_take(arena, 1, sizeof *material) : NULL;
    if (!material) {
        (void)fail_memory(&failure, "the report");
    } else if (open_all(request, readers, &failure)) {
        is_good =
            material_gather(material, request->operand_count, readers, patience, arena, &failure);
    }
    if (is_good) {
        code = write_page(request, material);
    } else {
        complain_failure(request->terminal, &failure);
        code = exit_code_of(&failure);
    }
    for (int i = 0; i < FILES_MAX; i++) {
        reader_close(readers[i]);
    }
    arena_free(arena);
    return code;
}

const struct command command_report = {
    .name = "report",
    .operands = "RESULTS [MORE...]",
    .summary = "One page to read, print and hand over, from results",
    .details = "Writes an HTML page beside the results, or to --output, that needs nothing from\n"
               "outside. Further files of the same case add what the first lacks: surge, hours.",
    .example = "  downsurge choose site.yaml --output choice.h5\n"
               "  downsurge surge site.yaml --output surge.h5\n"
               "  downsurge report choice.h5 surge.h5 --output site.html",
    .options = options,
    .reads_results = true,
    .run = run,
};
