#include "io/door/nearest.h"

#include <stddef.h>
#include <string.h>

enum { LONGEST = 40 };

static int smaller(int a, int b)
{
    return a < b ? a : b;
}

/* Three rows of the usual table are enough: the row before last serves the swap. */
static int word_distance(const char *a, const char *b)
{
    int rows[3][LONGEST + 1];
    const int a_length = (int)strlen(a);
    const int b_length = (int)strlen(b);
    int *before = rows[0];
    int *above = rows[1];
    int *row = rows[2];
    for (int j = 0; j <= b_length; j++) {
        above[j] = j;
        before[j] = j;
    }
    for (int i = 1; i <= a_length; i++) {
        row[0] = i;
        for (int j = 1; j <= b_length; j++) {
            const int change = above[j - 1] + (a[i - 1] != b[j - 1]);
            row[j] = smaller(change, smaller(above[j], row[j - 1]) + 1);
            if (i > 1 && j > 1 && a[i - 1] == b[j - 2] && a[i - 2] == b[j - 1]) {
                row[j] = smaller(row[j], before[j - 2] + 1);
            }
        }
        int *spare = before;
        before = above;
        above = row;
        row = spare;
    }
    return above[b_length];
}

void nearest_init(struct nearest *nearest, const char *word)
{
    const int length = (int)strnlen(word, LONGEST + 1);
    nearest->word = length <= LONGEST ? word : NULL;
    nearest->best = NULL;
    nearest->distance = 1 + length / 3 + 1;
}

void nearest_offer(struct nearest *nearest, const char *known)
{
    if (!nearest->word || strlen(known) > LONGEST) {
        return;
    }
    const int distance = word_distance(nearest->word, known);
    if (distance < nearest->distance) {
        nearest->distance = distance;
        nearest->best = known;
    }
}
