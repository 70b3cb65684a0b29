/* SHA-256: the fingerprint of a case, so that results can be matched with what made them.
 * FIPS 180-4 (2015), sections 4.1.2, 4.2.2, 5.1.1, 5.3.3, 6.2. */
#ifndef IO_RESULTS_SHA256_H
#define IO_RESULTS_SHA256_H

#include <stddef.h>

enum { SHA256_TEXT_SIZE = 65 }; /* 64 hexadecimal digits and the end */

/* The digest of `size` bytes as lower-case hexadecimal digits. */
void sha256_text(size_t size, const void *bytes, char text[SHA256_TEXT_SIZE]);

#endif
