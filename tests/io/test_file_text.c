/* Every byte at every place of short texts: what may stand there, and where a fault is told to be.
 * The rule is the header's: control characters other than tab and line ends are refused, and a byte
 * above 0x7F alone is no UTF-8 (RFC 3629). */
#include "io/door/file.h"

#include <criterion/criterion.h>
#include <string.h>

enum { LONGEST = 27 };

static bool may_stand(int byte)
{
    return byte == '\t' || byte == '\n' || byte == '\r' || (byte >= 0x20 && byte < 0x7F);
}

Test(file_text, each_byte_is_judged_alike_wherever_it_stands)
{
    for (size_t size = 1; size <= LONGEST; size++) {
        for (size_t at = 0; at < size; at++) {
            for (int byte = 0; byte < 256; byte++) {
                char text[LONGEST];
                struct failure failure = {0};
                memset(text, 'a' + (int)(at % 20), size);
                text[at] = (char)(unsigned char)byte;
                const bool is_good = text_check("text", text, size, &failure);
                cr_assert_eq(is_good, may_stand(byte), "0x%02X at %zu of %zu", byte, at, size);
                cr_assert(is_good || failure.place.column == (int)at + 1);
            }
        }
    }
}

Test(file_text, places_count_letters_and_lines)
{
    static const char text[] = "a line of twenty.. letters\n\xC3\xA9\xE2\x82\xAC and some\x01";
    struct failure failure = {0};
    cr_assert_not(text_check("text", text, sizeof text - 1, &failure));
    cr_assert_eq(failure.place.line, 2);
    cr_assert_eq(failure.place.column, 12);
}
