#include "models/letters.h"

#include <assert.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

bool letter_goes_on(char byte)
{
    return ((unsigned char)byte & 0xC0U) == 0x80U;
}

size_t letter_take(const unsigned char *at, size_t left, unsigned *code)
{
    static const struct {
        size_t length;
        unsigned least;
        unsigned char mask, lead;
    } forms[] = {{1, 0, 0x80, 0x00},
                 {2, 0x80, 0xE0, 0xC0},
                 {3, 0x800, 0xF0, 0xE0},
                 {4, 0x10000, 0xF8, 0xF0}};
    for (size_t i = 0; i < sizeof forms / sizeof *forms; i++) {
        if ((at[0] & forms[i].mask) != forms[i].lead) {
            continue;
        }
        unsigned value = at[0] & (unsigned char)~forms[i].mask;
        if (forms[i].length > left) {
            return 0;
        }
        for (size_t k = 1; k < forms[i].length; k++) {
            if (!letter_goes_on((char)at[k])) {
                return 0;
            }
            value = value << 6 | (at[k] & 0x3F);
        }
        const bool is_good =
            value >= forms[i].least && value <= 0x10FFFF && (value & ~0x7FFU) != 0xD800;
        *code = value;
        return is_good ? forms[i].length : 0;
    }
    return 0;
}

size_t letter_length(const char *text)
{
    unsigned code = 0;
    return letter_take((const unsigned char *)text, strnlen(text, 3) + 1, &code);
}

bool letter_is_control(unsigned code)
{
    const bool is_white = code == '\t' || code == '\n' || code == '\r';
    return (code < 0x20 && !is_white) || (code >= 0x7F && code < 0xA0) ||
           (code >= 0x2028 && code <= 0x202E) || (code >= 0x2066 && code <= 0x2069);
}

bool letters_mend(char text[])
{
    char *to = text;
    bool is_good = true;
    for (const char *from = text; *from;) {
        if (*from >= ' ' && *from <= '~') { /* most are */
            *to++ = *from++;
            continue;
        }
        unsigned code = 0;
        size_t length = letter_length(from);
        (void)letter_take((const unsigned char *)from, length, &code);
        if (length > 0 && !letter_is_control(code)) {
            memmove(to, from, length);
            to += length;
        } else {
            *to++ = '?';
            is_good = false;
        }
        from += length > 0 ? length : 1;
        while (length == 0 && letter_goes_on(*from)) { /* the rest of it */
            from++;
        }
    }
    *to = '\0';
    return is_good;
}

size_t letters_within(const char *text, size_t room)
{
    size_t length = strnlen(text, room + 1);
    if (length > room) {
        length = room;
        while (length > 0 && letter_goes_on(text[length])) {
            length--;
        }
    }
    return length;
}

void letters_fit(const char *text, size_t size, char copy[])
{
    static const char gap[] = " ... ";
    const size_t length = strlen(text);
    assert(size > 2 * sizeof gap);
    if (length < size) {
        memcpy(copy, text, length + 1);
        return;
    }
    const size_t head = letters_within(text, (size - sizeof gap) / 2);
    size_t from = length - (size - sizeof gap - head);
    while (letter_goes_on(text[from])) {
        from++;
    }
    memcpy(copy, text, head);
    memcpy(copy + head, gap, sizeof gap - 1);
    memcpy(copy + head + sizeof gap - 1, text + from, length - from + 1);
}

char *letters_print(size_t size, char room[], const char *format, va_list arguments)
{
    va_list again;
    va_copy(again, arguments);
    const int length = vsnprintf(room, size, format, arguments);
    char *whole = room;
    if (length >= 0 && (size_t)length >= size) {
        whole = malloc((size_t)length + 1);
        if (whole) {
            (void)vsnprintf(whole, (size_t)length + 1, format, again);
        } else {
            whole = room;
        }
    }
    va_end(again);
    (void)letters_mend(whole);
    return whole;
}
