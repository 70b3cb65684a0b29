#include "io/results/crc32c.h"

#include <stdbool.h>
#include <string.h>

#if defined(__x86_64__) && defined(__GNUC__)
#include <nmmintrin.h>
#endif

enum { LETTERS = 256, AT_ONCE = 8 };

/* What a byte does to a sum that is `after` bytes on. */
struct tables {
    uint32_t of[AT_ONCE][LETTERS];
};

static uint32_t take_byte(uint32_t sum, uint32_t byte)
{
    static const uint32_t polynomial = 0x82F63B78; /* with its bits turned round */
    sum ^= byte;
    for (int bit = 0; bit < 8; bit++) {
        sum = sum >> 1 ^ (sum & 1 ? polynomial : 0);
    }
    return sum;
}

static void fill(struct tables *tables)
{
    for (uint32_t i = 0; i < LETTERS; i++) {
        tables->of[0][i] = take_byte(0, i);
    }
    for (size_t after = 1; after < AT_ONCE; after++) {
        for (size_t i = 0; i < LETTERS; i++) {
            const uint32_t before = tables->of[after - 1][i];
            tables->of[after][i] = before >> 8 ^ tables->of[0][before & 0xFF];
        }
    }
}

uint32_t crc32c(uint32_t sum, size_t size, const unsigned char bytes[])
{
    sum = ~sum;
    for (size_t i = 0; i < size; i++) {
        sum = take_byte(sum, bytes[i]);
    }
    return ~sum;
}

/* Eight bytes at once, each by its own table (Kounavis & Berry 2005). */
void crc32c_lanes_by_table(size_t size, const unsigned char *const lanes[CRC32C_LANES],
                           uint32_t sums[CRC32C_LANES])
{
    struct tables tables;
    fill(&tables);
    for (size_t lane = 0; lane < CRC32C_LANES; lane++) {
        uint32_t sum = ~sums[lane];
        for (size_t at = 0; at < size; at += AT_ONCE) {
            const unsigned char *bytes = lanes[lane] + at;
            uint32_t next = 0;
            for (size_t i = 0; i < AT_ONCE; i++) {
                const uint32_t letter = i < 4 ? bytes[i] ^ (sum >> (8 * i) & 0xFF) : bytes[i];
                next ^= tables.of[AT_ONCE - 1 - i][letter];
            }
            sum = next;
        }
        sums[lane] = ~sum;
    }
}

#if defined(__x86_64__) && defined(__GNUC__)
__attribute__((target("sse4.2"))) static void
lanes_by_order(size_t size, const unsigned char *const lanes[CRC32C_LANES],
               uint32_t sums[CRC32C_LANES])
{
    uint64_t sum[CRC32C_LANES];
    for (size_t lane = 0; lane < CRC32C_LANES; lane++) {
        sum[lane] = (uint32_t)~sums[lane];
    }
    for (size_t at = 0; at < size; at += AT_ONCE) {
        for (size_t lane = 0; lane < CRC32C_LANES; lane++) {
            uint64_t bytes;
            memcpy(&bytes, lanes[lane] + at, sizeof bytes);
            sum[lane] = _mm_crc32_u64(sum[lane], bytes);
        }
    }
    for (size_t lane = 0; lane < CRC32C_LANES; lane++) {
        sums[lane] = ~(uint32_t)sum[lane];
    }
}

static bool has_order(void)
{
    return __builtin_cpu_supports("sse4.2") != 0;
}
#else
static void lanes_by_order(size_t size, const unsigned char *const lanes[CRC32C_LANES],
                           uint32_t sums[CRC32C_LANES])
{
    crc32c_lanes_by_table(size, lanes, sums);
}

static bool has_order(void)
{
    return false;
}
#endif

void crc32c_lanes(size_t size, const unsigned char *const lanes[CRC32C_LANES],
                  uint32_t sums[CRC32C_LANES])
{
    if (has_order()) {
        lanes_by_order(size, lanes, sums);
    } else {
        crc32c_lanes_by_table(size, lanes, sums);
    }
}
