/* Letters: text of any length in letters of UTF-8 (RFC 3629), never cut inside one.
 * A floor stone: includes nothing of ours. */
#ifndef MODELS_LETTERS_H
#define MODELS_LETTERS_H

#include <stdarg.h>
#include <stdbool.h>
#include <stddef.h>

/* Bytes of the letter at `at`, of which `left` can be read, and its code; 0: none (RFC 3629:
 * shortest form, no surrogates, at most U+10FFFF). */
size_t letter_take(const unsigned char *at, size_t left, unsigned *code);

/* Bytes of the letter at `text` (ends with NUL), 1 to 4; 0 when the bytes there are none. */
size_t letter_length(const char *text);

/* Whether a byte goes on with a letter begun before (10xxxxxx). */
bool letter_goes_on(char byte);

/* What makes a terminal do something, or shows a line in another order than it is read in: C0 and
 * C1 control characters other than tab and line ends, DEL, line and paragraph separators, and the
 * embeddings, overrides and isolates of right-to-left writing (Unicode Technical Report 36). */
bool letter_is_control(unsigned code);

/* Puts '?' for what is no whole letter or a control character. False: something was. */
bool letters_mend(char text[]);

/* How many bytes of `text` (ends with NUL) are whole letters and take at most `room` bytes. */
size_t letters_within(const char *text, size_t room);

/* Copies `text` into `copy` of `size` bytes, closed with NUL. What does not fit is left out of its
 * middle, for which " ... " stands: a message names its subject first and its reason last. */
void letters_fit(const char *text, size_t size, char copy[]);

/* Prints text of any length: into `room` of `size` bytes where it fits, else into memory that the
 * caller frees. Returns where it stands; compare with `room`. When memory has ended, what fits.
 * Mended: "%.60s" cuts between bytes, and names of files and of foreign results hold anything. */
__attribute__((format(printf, 3, 0))) char *letters_print(size_t size, char room[],
                                                          const char *format, va_list arguments);

#endif
