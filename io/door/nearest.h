/* Nearest: which known word a mistyped one was meant to be. */
#ifndef IO_DOOR_NEAREST_H
#define IO_DOOR_NEAREST_H

/* Keeps the best of the words offered so far. */
struct nearest {
    const char *word; /* that was written */
    const char *best; /* NULL: none is near */
    int distance;
};

/* Starts the search; a word farther than about a third of its letters is never offered. */
void nearest_init(struct nearest *nearest, const char *word);

/* Offers a known word (borrowed). Distance: fewest letters inserted, left out, changed or swapped
 * with their neighbour (Damerau 1964, restricted). */
void nearest_offer(struct nearest *nearest, const char *known);

#endif
