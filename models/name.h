/* Name: how the words of a person are compared with the words of a table.
 * Case, spaces, hyphens and underscores do not matter: "PVC-U", "pvc u" and "pvcu" are the same. */
#ifndef MODELS_NAME_H
#define MODELS_NAME_H

#include <stdbool.h>

bool name_is_same(const char *one, const char *other);

/* Letters to put in, take out or change to make one name of the other (edit distance, Levenshtein
 * 1966), after the same simplification; names are compared up to their 60th character. */
int name_distance(const char *one, const char *other);

#endif
