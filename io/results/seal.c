#include "io/results/seal.h"

#include "io/results/sha256.h"

#include <string.h>

static const char mark[] = "\ndownsurge seal "; /* 16 letters; 64 digits follow */

void seal_make(size_t size, const void *bytes, char seal[SEAL_SIZE])
{
    char digest[SHA256_TEXT_SIZE];
    sha256_text(size, bytes, digest);
    memcpy(seal, mark, sizeof mark - 1);
    memcpy(seal + sizeof mark - 1, digest, SHA256_TEXT_SIZE - 1);
}

bool seal_fits(size_t size, const void *bytes)
{
    char seal[SEAL_SIZE];
    const char *end = NULL;
    if (size < SEAL_SIZE) {
        return true;
    }
    end = (const char *)bytes + (size - SEAL_SIZE);
    if (memcmp(end, mark, sizeof mark - 1) != 0) {
        return true;
    }
    seal_make(size - SEAL_SIZE, bytes, seal);
    return memcmp(end, seal, SEAL_SIZE) == 0;
}
