/* SVG: a picture made by another program, put inside a page: only shapes and text of it, its ids
 * made the page's own, no script, no style sheet, nothing from outside. */
#ifndef IO_REPORT_SVG_H
#define IO_REPORT_SVG_H

#include <stdbool.h>
#include <stdio.h>

struct svg_words {
    int number;              /* of the picture in the page: its ids begin with "picture-N-" */
    const char *title;       /* one line */
    const char *description; /* what it shows, for those who cannot see it */
};

/* Writes the picture `text` (ends with a zero). False: it is no SVG with a viewBox; nothing was
 * written. */
bool svg_put(FILE *out, const char *text, const struct svg_words *words);

#endif
