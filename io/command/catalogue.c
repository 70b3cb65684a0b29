#include "io/command/command.h"
#include "io/command/list.h"
#include "io/command/page.h"
#include "io/nearest.h"
#include "io/results/catalogue_sheets.h"
#include "io/results/json.h"
#include "io/terminal/prose.h"
#include "models/name.h"

static const struct catalogue_part *find_part(const struct request *request, const char *name)
{
    struct nearest nearest;
    nearest_start(&nearest, name);
    for (int i = 0; i < catalogue_part_count; i++) {
        if (name_is_same(catalogue_parts[i].name, name)) {
            return &catalogue_parts[i];
        }
        nearest_offer(&nearest, catalogue_parts[i].name);
    }
    complain(
        request->terminal, "the catalogue has no part '%s'%s", name,
        nearest_hint(&(struct hint){{0}}, nearest.found, "; 'downsurge catalogue' lists them"));
    return NULL;
}

static enum exit_code fail_memory_of(const struct request *request)
{
    complain(request->terminal, "memory ended while making room for the catalogue");
    return EXIT_CODE_NO_SOLUTION;
}

static void list_parts(const struct terminal *terminal)
{
    for (int i = 0; i < catalogue_part_count; i++) {
        prose_tell(terminal, "  %-12s  %s\n", catalogue_parts[i].name, catalogue_parts[i].summary);
    }
    (void)fputs("\n'downsurge catalogue PART' prints one with the source of each row.\n",
                terminal->out);
}

static enum exit_code print_part(const struct page *page, const struct catalogue_part *part,
                                 struct json *json, struct arena *arena)
{
    struct sheet sheet;
    if (!part->fill(&sheet, arena)) {
        return fail_memory_of(page->request);
    }
    if (json) {
        json_key(json, part->name);
        json_sheet(json, &sheet);
        return EXIT_CODE_DONE;
    }
    if (!trade_table(&sheet, part->summary, part->columns, NULL, &page->terminal, arena)) {
        return fail_memory_of(page->request);
    }
    prose_tell(&page->terminal, "%s\n", part->remark);
    return EXIT_CODE_DONE;
}

static enum exit_code print_parts(const struct page *page, const struct catalogue_part *only,
                                  struct json *json, struct arena *arena)
{
    enum exit_code code = EXIT_CODE_DONE;
    if (!only && !json) {
        list_parts(&page->terminal);
        return EXIT_CODE_DONE;
    }
    for (int i = 0; i < catalogue_part_count && code == EXIT_CODE_DONE; i++) {
        if (!only || only == &catalogue_parts[i]) {
            code = print_part(page, &catalogue_parts[i], json, arena);
        }
    }
    return code;
}

static enum exit_code run(const struct request *request)
{
    const char *name = request->operand_count > 0 ? request->operands[0] : NULL;
    const struct catalogue_part *only = name ? find_part(request, name) : NULL;
    struct page page;
    struct json json;
    if (name && !only) {
        return EXIT_CODE_INPUT;
    }
    if (!page_open(&page, request, request_value(request, "output", NULL), NULL)) {
        return EXIT_CODE_FILE;
    }
    struct arena *arena = arena_new();
    enum exit_code code = EXIT_CODE_NO_SOLUTION;
    if (!arena) {
        code = fail_memory_of(request);
    } else if (request_has(request, "json")) {
        json_start(&json, page.terminal.out);
        json_open_object(&json);
        code = print_parts(&page, only, &json, arena);
        json_close_object(&json);
    } else {
        code = print_parts(&page, only, NULL, arena);
    }
    arena_free(arena);
    return page_close(&page, code);
}

const struct command command_catalogue = {
    .name = "catalogue",
    .operands = "[PART]",
    .summary = "Tell what is built in, with the source of every row",
    .details = "Without PART: the parts there are. Rows whose numbers have no published figure\n"
               "behind them are marked as placeholders.",
    .example = "  downsurge catalogue fittings\n  downsurge catalogue materials --json",
    .options = NULL,
    .run = run,
};
