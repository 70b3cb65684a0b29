#include "io/results/sha256.h"

#include <stdint.h>
#include <string.h>

enum { BLOCK = 64, WORDS = 8, ROUNDS = 64 };

/* FIPS 180-4, 4.2.2: the first 32 bits of the fractional parts of the cube roots of the first 64
 * primes. */
static const uint32_t constants[ROUNDS] = {
    0x428a2f98, 0x71374491, 0xb5c0fbcf, 0xe9b5dba5, 0x3956c25b, 0x59f111f1, 0x923f82a4, 0xab1c5ed5,
    0xd807aa98, 0x12835b01, 0x243185be, 0x550c7dc3, 0x72be5d74, 0x80deb1fe, 0x9bdc06a7, 0xc19bf174,
    0xe49b69c1, 0xefbe4786, 0x0fc19dc6, 0x240ca1cc, 0x2de92c6f, 0x4a7484aa, 0x5cb0a9dc, 0x76f988da,
    0x983e5152, 0xa831c66d, 0xb00327c8, 0xbf597fc7, 0xc6e00bf3, 0xd5a79147, 0x06ca6351, 0x14292967,
    0x27b70a85, 0x2e1b2138, 0x4d2c6dfc, 0x53380d13, 0x650a7354, 0x766a0abb, 0x81c2c92e, 0x92722c85,
    0xa2bfe8a1, 0xa81a664b, 0xc24b8b70, 0xc76c51a3, 0xd192e819, 0xd6990624, 0xf40e3585, 0x106aa070,
    0x19a4c116, 0x1e376c08, 0x2748774c, 0x34b0bcb5, 0x391c0cb3, 0x4ed8aa4a, 0x5b9cca4f, 0x682e6ff3,
    0x748f82ee, 0x78a5636f, 0x84c87814, 0x8cc70208, 0x90befffa, 0xa4506ceb, 0xbef9a3f7, 0xc67178f2};

static uint32_t turn(uint32_t word, unsigned by)
{
    return (word >> by) | (word << (32 - by));
}

static void schedule(const unsigned char block[BLOCK], uint32_t w[ROUNDS])
{
    for (size_t i = 0; i < 16; i++) {
        w[i] = (uint32_t)block[4 * i] << 24 | (uint32_t)block[4 * i + 1] << 16 |
               (uint32_t)block[4 * i + 2] << 8 | block[4 * i + 3];
    }
    for (size_t i = 16; i < ROUNDS; i++) {
        uint32_t s0 = turn(w[i - 15], 7) ^ turn(w[i - 15], 18) ^ (w[i - 15] >> 3);
        uint32_t s1 = turn(w[i - 2], 17) ^ turn(w[i - 2], 19) ^ (w[i - 2] >> 10);
        w[i] = w[i - 16] + s0 + w[i - 7] + s1;
    }
}

/* FIPS 180-4, 6.2.2, one turn of step 3, but for the move of each variable to the next: instead of
 * it the caller names them one place on. *h comes with the constant and the word added. */
static inline void take_turn(uint32_t a, uint32_t b, uint32_t c, uint32_t *d, uint32_t e,
                             uint32_t f, uint32_t g, uint32_t *h)
{
    const uint32_t s1 = turn(e, 6) ^ turn(e, 11) ^ turn(e, 25);
    const uint32_t s0 = turn(a, 2) ^ turn(a, 13) ^ turn(a, 22);
    const uint32_t choice = (e & f) ^ (~e & g);
    const uint32_t majority = (a & b) ^ (a & c) ^ (b & c);
    const uint32_t t1 = *h + s1 + choice;
    *d += t1;
    *h = t1 + s0 + majority;
}

/* FIPS 180-4, 6.2.2: one block into the hash; after eight turns each variable has its own name
 * again. */
static void take_block(uint32_t hash[WORDS], const unsigned char block[BLOCK])
{
    uint32_t w[ROUNDS];
    uint32_t v[WORDS];
    schedule(block, w);
    memcpy(v, hash, sizeof v);
    for (size_t i = 0; i < ROUNDS; i++) {
        w[i] += constants[i];
    }
    for (size_t i = 0; i < ROUNDS; i += WORDS) {
        for (size_t k = 0; k < WORDS; k++) { /* a stands in v[-k], all numbers modulo eight */
            const size_t a = WORDS - k;
            uint32_t *h = &v[(a + 7) % WORDS];
            *h += w[i + k];
            take_turn(v[a % WORDS], v[(a + 1) % WORDS], v[(a + 2) % WORDS], &v[(a + 3) % WORDS],
                      v[(a + 4) % WORDS], v[(a + 5) % WORDS], v[(a + 6) % WORDS], h);
        }
    }
    for (size_t i = 0; i < WORDS; i++) {
        hash[i] += v[i];
    }
}

void sha256_text(size_t size, const void *bytes, char text[SHA256_TEXT_SIZE])
{
    /* 5.3.3: the fractional parts of the square roots of the first eight primes. */
    uint32_t hash[WORDS] = {0x6a09e667, 0xbb67ae85, 0x3c6ef372, 0xa54ff53a,
                            0x510e527f, 0x9b05688c, 0x1f83d9ab, 0x5be0cd19};
    const unsigned char *at = bytes;
    unsigned char tail[2 * BLOCK] = {0};
    size_t rest = size % BLOCK;
    size_t tail_size = rest < BLOCK - 8 ? BLOCK : 2 * BLOCK;
    uint64_t bits = (uint64_t)size * 8;
    for (size_t done = 0; done + BLOCK <= size; done += BLOCK) {
        take_block(hash, at + done);
    }
    if (rest > 0) {
        memcpy(tail, at + (size - rest), rest);
    }
    tail[rest] = 0x80; /* 5.1.1: one bit, noughts, the length in bits */
    for (size_t i = 0; i < 8; i++) {
        tail[tail_size - 1 - i] = (unsigned char)(bits >> (8 * i));
    }
    for (size_t done = 0; done < tail_size; done += BLOCK) {
        take_block(hash, tail + done);
    }
    for (size_t i = 0; i < 64; i++) {
        text[i] = "0123456789abcdef"[hash[i / 8] >> (28 - 4 * (i % 8)) & 0xFU];
    }
    text[64] = '\0';
}
