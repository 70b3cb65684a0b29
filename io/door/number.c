#include "io/door/number.h"

#include <math.h>
#include <stdlib.h>

enum { LONGEST_NUMBER = 60 };

static const char *skip_digits(const char *text)
{
    while (*text >= '0' && *text <= '9') {
        text++;
    }
    return text;
}

/* After "e-3" if that stands here, else here. */
static const char *skip_exponent(const char *text)
{
    if (*text != 'e' && *text != 'E') {
        return text;
    }
    const char *digits = text + 1;
    if (*digits == '+' || *digits == '-') {
        digits++;
    }
    const char *end = skip_digits(digits);
    return end > digits ? end : text;
}

const char *number_read(const char *text, double *value)
{
    char copy[LONGEST_NUMBER + 1];
    while (*text == ' ' || *text == '\t') {
        text++;
    }
    const char *digits = *text == '+' || *text == '-' ? text + 1 : text;
    const char *end = skip_digits(digits);
    long digit_count = end - digits;
    if (*end == '.') {
        const char *fraction = end + 1;
        end = skip_digits(fraction);
        digit_count += end - fraction;
    }
    if (digit_count == 0) {
        return NULL;
    }
    end = skip_exponent(end);
    const long length = end - text;
    if (length > LONGEST_NUMBER) {
        return NULL;
    }
    for (long i = 0; i < length; i++) {
        copy[i] = text[i];
    }
    copy[length] = '\0';
    *value = strtod(copy, NULL);
    return isfinite(*value) ? end : NULL;
}
