#include "io/results/seal.h"

#include "io/results/crc32c.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

/* PIECE: bytes read of each eighth at a time, so that all stay in the second cache. */
enum { PIECE = 16384, DIGITS = 8 };

static const char mark[] = "\ndownsurge sums "; /* 16 letters; 64 digits follow */

_Static_assert(sizeof mark - 1 + (size_t)CRC32C_LANES * DIGITS == SEAL_SIZE, "mark and digits");

static bool read_at(int descriptor, uint64_t at, size_t size, unsigned char *bytes)
{
    while (size > 0) {
        const ssize_t got = pread(descriptor, bytes, size, (off_t)at);
        if (got <= 0) {
            return false;
        }
        bytes += got;
        at += (uint64_t)got;
        size -= (size_t)got;
    }
    return true;
}

/* The sums of the eighths, side by side; room [CRC32C_LANES][PIECE]. */
static bool sum_eighths(int descriptor, uint64_t eighth, unsigned char *room,
                        uint32_t sums[CRC32C_LANES])
{
    const unsigned char *lanes[CRC32C_LANES];
    for (size_t i = 0; i < CRC32C_LANES; i++) {
        lanes[i] = room + i * PIECE;
    }
    for (uint64_t at = 0; at < eighth; at += PIECE) {
        const size_t size = eighth - at < PIECE ? (size_t)(eighth - at) : PIECE;
        for (size_t i = 0; i < CRC32C_LANES; i++) {
            if (!read_at(descriptor, i * eighth + at, size, room + i * PIECE)) {
                return false;
            }
        }
        crc32c_lanes(size, lanes, sums);
    }
    return true;
}

bool seal_make(int descriptor, uint64_t size, char seal[SEAL_SIZE])
{
    const uint64_t eighth = size / CRC32C_LANES / 8 * 8;
    const uint64_t rest = size - CRC32C_LANES * eighth; /* less than 72 */
    uint32_t sums[CRC32C_LANES] = {0};
    char digits[SEAL_SIZE + 1];
    unsigned char *room = malloc((size_t)CRC32C_LANES * PIECE);
    bool is_good = room && sum_eighths(descriptor, eighth, room, sums) &&
                   read_at(descriptor, size - rest, (size_t)rest, room);
    if (is_good) {
        sums[CRC32C_LANES - 1] = crc32c(sums[CRC32C_LANES - 1], (size_t)rest, room);
        (void)snprintf(digits, sizeof digits, "%s", mark);
        for (size_t i = 0; i < CRC32C_LANES; i++) {
            (void)snprintf(digits + sizeof mark - 1 + i * DIGITS, DIGITS + 1, "%08x", sums[i]);
        }
        memcpy(seal, digits, SEAL_SIZE);
    }
    free(room);
    return is_good;
}

/* The seal with which the open file ends, and the bytes before it. False: it ends with none. */
static bool read_seal(int descriptor, char seal[SEAL_SIZE], uint64_t *size)
{
    struct stat status;
    if (fstat(descriptor, &status) != 0 || !S_ISREG(status.st_mode) || status.st_size < SEAL_SIZE) {
        return false;
    }
    *size = (uint64_t)status.st_size - SEAL_SIZE;
    return read_at(descriptor, *size, SEAL_SIZE, (unsigned char *)seal) &&
           memcmp(seal, mark, sizeof mark - 1) == 0;
}

bool seal_is_there(int descriptor)
{
    char seal[SEAL_SIZE];
    uint64_t size;
    return read_seal(descriptor, seal, &size);
}

bool seal_fits(int descriptor)
{
    char stands[SEAL_SIZE];
    char seal[SEAL_SIZE];
    uint64_t size;
    return !read_seal(descriptor, stands, &size) || !seal_make(descriptor, size, seal) ||
           memcmp(stands, seal, SEAL_SIZE) == 0;
}
