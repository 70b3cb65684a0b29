/* Large pages: memory that the system may give in pieces of 2 MiB and not of 4 KiB.
 * The system takes 1 to 2 us for the first touch of each page beside the noughts it fills it with,
 * which in a large network is as much as all that is then written there. A wish only: Linux grants
 * it (transparent huge pages) where it is set to "madvise" or "always" and has such pieces;
 * elsewhere nothing happens. A floor stone: includes nothing of ours. */
#ifndef MODELS_LARGE_PAGES_H
#define MODELS_LARGE_PAGES_H

#include <stddef.h>

/* Noughts that begin where a large page does, `*size` bytes of them or somewhat more, which `*size`
 * then tells. The first `filled` bytes will all be written to: large pages are asked for those that
 * these fill, or nearly so, and none beyond. NULL where not one would be, where nothing of the kind
 * is known, or when memory ended. Give back with large_pages_give, with the same size. */
void *large_pages_take(size_t filled, size_t *size);
void large_pages_give(void *room, size_t size);

/* Lets the system give what it has not yet given of `size` bytes that will all be written to: many
 * pages at once, which takes a third less than each at its first touch. Where the last one is there
 * already (memory used before), nothing is done. */
void large_pages_fill(void *room, size_t size);

#endif
