#include "models/name.h"

#include <ctype.h>

enum { NAME_MAX = 60 };

/* The next character that matters, in lower case; 0 at the end. Moves `text` behind it. */
static int next(const char **text)
{
    while (**text == ' ' || **text == '-' || **text == '_' || **text == '\t') {
        (*text)++;
    }
    if (!**text) {
        return 0;
    }
    return tolower((unsigned char)*(*text)++);
}

bool name_is_same(const char *one, const char *other)
{
    int left = 0;
    int right = 0;
    do {
        left = next(&one);
        right = next(&other);
    } while (left && left == right);
    return left == right;
}

static int smallest(int a, int b, int c)
{
    const int least = a < b ? a : b;
    return least < c ? least : c;
}

int name_distance(const char *one, const char *other)
{
    int row[NAME_MAX + 1];
    int letters[NAME_MAX];
    int length = 0;
    int letter = 0;
    while (length < NAME_MAX && (letter = next(&other)) != 0) {
        letters[length++] = letter;
    }
    for (int i = 0; i <= length; i++) {
        row[i] = i;
    }
    for (int line = 1; line <= NAME_MAX && (letter = next(&one)) != 0; line++) {
        int corner = row[0];
        row[0] = line;
        for (int i = 1; i <= length; i++) {
            const int change = corner + (letters[i - 1] != letter);
            corner = row[i];
            row[i] = smallest(row[i] + 1, row[i - 1] + 1, change);
        }
    }
    return row[length];
}
