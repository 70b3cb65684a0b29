#include "io/command/page.h"

#include <sys/stat.h>

/* Whether two names lead to one file. */
static bool is_one(const char *name, const char *other)
{
    struct stat one;
    struct stat two;
    return stat(name, &one) == 0 && stat(other, &two) == 0 && one.st_dev == two.st_dev &&
           one.st_ino == two.st_ino;
}

/* Whether `file` is one that the command reads; told. */
static bool is_read(const struct request *request, const char *file)
{
    for (int i = 0; i < request->operand_count; i++) {
        if (is_one(file, request->operands[i])) {
            complain(request->terminal,
                     "file '%s': is what the command reads; choose another name to write to", file);
            return true;
        }
    }
    return false;
}

bool page_open(struct page *page, const struct request *request, const char *file,
               const char *beginning)
{
    struct failure failure = {0};
    page->request = request;
    page->terminal = *request->terminal;
    page->file = NULL;
    page->nowhere = NULL;
    if (file && is_read(request, file)) {
        return false;
    }
    if (file) {
        page->file = whole_file_open(file, beginning, &failure);
        if (!page->file) {
            complain_failure(request->terminal, &failure);
            return false;
        }
        page->terminal.out = whole_file_stream(page->file);
        page->terminal.out_has_colour = false;
        page->terminal.width = 0;
    } else if (request_is_silent(request)) {
        page->nowhere = fopen("/dev/null", "w");
        page->terminal.out = page->nowhere ? page->nowhere : page->terminal.out;
        page->terminal.out_has_colour = false;
    }
    return true;
}

enum exit_code page_close(struct page *page, enum exit_code code)
{
    struct failure failure = {0};
    if (page->nowhere) {
        (void)fclose(page->nowhere);
    }
    if (!page->file) {
        return code;
    }
    if (code != EXIT_CODE_DONE && code != EXIT_CODE_LIMIT) {
        whole_file_abandon(page->file);
        return code;
    }
    if (!whole_file_finish(page->file, &failure)) {
        complain_failure(page->request->terminal, &failure);
        return EXIT_CODE_FILE;
    }
    return code;
}
