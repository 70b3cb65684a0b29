/* Scalar: a text of a YAML file in quotes or folded, from its letters as they stand there
 * (YAML 1.2.2, 5.7, 7.3, 8.1.3). libfyaml 0.7.12 finds where such a text begins and ends, but
 * misreads what is in it: it takes five single quotes in a row for three, drops a blank that is
 * escaped before a line break, and drops one of the empty lines before a line that stands further
 * in. `raw` is what stands between the quotes, or all lines of a folded text; line breaks are "\n".
 */
#ifndef IO_DOOR_SCALAR_H
#define IO_DOOR_SCALAR_H

#include <stdbool.h>
#include <stddef.h>

/* Bytes that a text has at most for each byte that it is made from; a zero closes it. */
enum { SCALAR_GROWTH = 2 };

/* Between single quotes; its length is given back. */
size_t scalar_single(const char *raw, size_t length, char text[]);

/* Between double quotes; false: there is no such escape. */
bool scalar_double(const char *raw, size_t length, char text[], size_t *made);

/* Behind ">". `read` is what libfyaml made of it, whose line breaks at the end and whose blanks at
 * the head of the first line with something in it are right, and tell what the head of the text
 * asked for. */
size_t scalar_folded(const char *raw, size_t length, const char *read, char text[]);

/* Whether the head of a text behind "|" or ">" says by a number how far in it stands
 * (YAML 1.2.2, 8.1.1.1), which libfyaml takes wrongly where the first lines are blank. `raw` is its
 * first line, in a file that begins at `file`. */
bool scalar_has_number(const char *file, const char *raw);

#endif
