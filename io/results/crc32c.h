/* CRC-32C: the sum of Castagnoli, Braeuer & Herrmann 1993 (polynomial 0x1EDC6F41, reflected), as in
 * RFC 3720, 12.1; several at once, since one alone waits for itself. By the machine's own order
 * where it has one, else by tables; the same sums. */
#ifndef IO_RESULTS_CRC32C_H
#define IO_RESULTS_CRC32C_H

#include <stddef.h>
#include <stdint.h>

enum { CRC32C_LANES = 8 };

/* The sum of bytes that follow those of `sum` (0: none before). */
uint32_t crc32c(uint32_t sum, size_t size, const unsigned char bytes[]);

/* The same of each lane [size]; size is a whole number of eights. */
void crc32c_lanes(size_t size, const unsigned char *const lanes[CRC32C_LANES],
                  uint32_t sums[CRC32C_LANES]);

/* The same by tables. */
void crc32c_lanes_by_table(size_t size, const unsigned char *const lanes[CRC32C_LANES],
                           uint32_t sums[CRC32C_LANES]);

#endif
