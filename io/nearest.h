/* Nearest: the known word a person most likely meant. */
#ifndef IO_NEAREST_H
#define IO_NEAREST_H

struct nearest {
    const char *word;  /* as typed; borrowed */
    const char *found; /* the nearest word offered so far that is near enough, or NULL */
    int distance;
};

/* The end of a message that names it. */
struct hint {
    char text[200];
};

void nearest_start(struct nearest *nearest, const char *word);

/* Looks at one more known word. Near enough: at most a third of the typed letters, rounded up, have
 * to change, and not all of them. */
void nearest_offer(struct nearest *nearest, const char *known);

/* "; did you mean 'spring cone'?" when something was found, else `otherwise`: for the end of a
 * message. The text lives in `hint`. */
const char *nearest_hint(struct hint *hint, const char *found, const char *otherwise);

#endif
