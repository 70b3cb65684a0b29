/* UTF-8 (RFC 3629): how many bytes the next character takes. */
#ifndef IO_RESULTS_UTF8_H
#define IO_RESULTS_UTF8_H

#include <stddef.h>

/* Bytes of the character at `text` (ends with NUL), 1 to 4; 0 when the bytes there are no character
 * of UTF-8 (stray, cut short, overlong, surrogate, beyond U+10FFFF). */
size_t utf8_length(const char *text);

#endif
