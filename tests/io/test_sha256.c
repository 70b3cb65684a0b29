/* Vectors of FIPS 180-4's examples (NIST, Secure Hash Standard examples "abc" and the 448-bit
 * message) and of RFC 6234, section 8.5; written from memory, and confirmed by a second
 * implementation (computed with Python's hashlib). */
#include "io/results/sha256.h"

#include <criterion/criterion.h>
#include <stdlib.h>
#include <string.h>

static void claim(const char *message, size_t size, const char *digest)
{
    char text[SHA256_TEXT_SIZE];
    sha256_text(size, message, text);
    cr_assert_str_eq(text, digest);
}

Test(sha256, of_nothing)
{
    claim("", 0, "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855");
}

Test(sha256, of_one_block)
{
    claim("abc", 3, "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad");
}

Test(sha256, of_a_message_whose_length_needs_a_second_block)
{
    const char *message = "abcdbcdecdefdefgefghfghighijhijkijkljklmklmnlmnomnopnopq";
    claim(message, 56, "248d6a61d20638b8e5c026930c3e6039a33ce45964ff2167f6ecedd419db06c1");
}

Test(sha256, of_a_million_letters_a)
{
    size_t size = 1000000;
    char *message = malloc(size);
    cr_assert(message);
    memset(message, 'a', size);
    claim(message, size, "cdc76e5c9914fb9281a1c7e284d73e67f1809a48a497200e046d39ccc7112cd0");
    free(message);
}
