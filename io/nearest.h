/* Nearest: the known word a person most likely meant. */
#ifndef IO_NEAREST_H
#define IO_NEAREST_H

struct nearest {
    const char *word;  /* as typed; borrowed */
    const char *found; /* the nearest word offered so far that is near enough, or NULL */
    int distance;
};

void nearest_start(struct nearest *nearest, const char *word);

/* Looks at one more known word. Near enough: at most a third of the typed letters, rounded up, have
 * to change, and not all of them. */
void nearest_offer(struct nearest *nearest, const char *known);

#endif
