/* Page: where a command's text or JSON goes: the standard output, or the whole file of --output. */
#ifndef IO_COMMAND_PAGE_H
#define IO_COMMAND_PAGE_H

#include "io/command/command.h"
#include "io/results/whole_file.h"

struct page {
    const struct request *request;
    struct terminal terminal; /* `out` is where to write */
    struct whole_file *file;  /* NULL: not into a file */
    FILE *nowhere;            /* where the text goes when it is not wanted */
};

/* Opens the page; `file` NULL: on the standard output, or nowhere when the request is silent.
 * `beginning`: see whole_file_open. A file that the command reads is not written. False: told. */
MUST_CHECK bool page_open(struct page *page, const struct request *request, const char *file,
                          const char *beginning);

/* Closes it. `code` comes back, or EXIT_CODE_FILE, told, when the file could not be written. A page
 * that ends with bad input or without an answer leaves no file. */
enum exit_code page_close(struct page *page, enum exit_code code);

#endif
