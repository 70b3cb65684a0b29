#include "io/results/utf8.h"

/* Table 3-7 of The Unicode Standard: the second byte's range depends on the first. */
struct lead {
    unsigned char first;
    unsigned char last;
    unsigned char second_least;
    unsigned char second_most;
    unsigned char length;
};

size_t utf8_length(const char *text)
{
    static const struct lead leads[] = {
        {0x00, 0x7F, 0x00, 0xFF, 1}, {0xC2, 0xDF, 0x80, 0xBF, 2}, {0xE0, 0xE0, 0xA0, 0xBF, 3},
        {0xE1, 0xEC, 0x80, 0xBF, 3}, {0xED, 0xED, 0x80, 0x9F, 3}, {0xEE, 0xEF, 0x80, 0xBF, 3},
        {0xF0, 0xF0, 0x90, 0xBF, 4}, {0xF1, 0xF3, 0x80, 0xBF, 4}, {0xF4, 0xF4, 0x80, 0x8F, 4},
    };
    unsigned char first = (unsigned char)text[0];
    for (size_t i = 0; i < sizeof leads / sizeof leads[0]; i++) {
        const struct lead *lead = &leads[i];
        if (first < lead->first || first > lead->last) {
            continue;
        }
        for (size_t at = 1; at < lead->length; at++) {
            unsigned char byte = (unsigned char)text[at];
            unsigned char least = at == 1 ? lead->second_least : 0x80;
            unsigned char most = at == 1 ? lead->second_most : 0xBF;
            if (byte < least || byte > most) {
                return 0;
            }
        }
        return lead->length;
    }
    return 0;
}
