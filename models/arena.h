/* Arena: memory that is given back all at once.
 * Three kinds of life use one each: the case, the network, one run's workspace.
 * Large pieces, and many small ones told of beforehand, get large pages (models/large_pages.h).
 * A floor stone: its header includes nothing of ours. */
#ifndef MODELS_ARENA_H
#define MODELS_ARENA_H

#include <stddef.h>

struct arena;

/* A new empty arena; NULL when memory ended. Give back with arena_free. */
struct arena *arena_new(void);

/* Frees the arena and everything taken from it. NULL is allowed. */
void arena_free(struct arena *arena);

/* Room for `count` things of `size` bytes each, zeroed, aligned to 64 bytes (a cache line, the
 * widest vector); NULL when memory ended or count * size overflows. A count of 0 gives a valid
 * pointer. */
void *arena_take(struct arena *arena, size_t count, size_t size);

/* What arena_take takes of an arena's room for such a piece, bytes. */
size_t arena_need(size_t count, size_t size);

/* Makes the next pieces lie in one stretch of memory: first `filled` bytes by arena_need that will
 * all be written to, then `sparse` ones of which little will be, if there are such. A wish only:
 * where memory ended they are taken as ever. */
void arena_expect(struct arena *arena, size_t filled, size_t sparse);

/* Lets the system give the memory of the next `bytes` at once, all of which will soon be written to
 * (large_pages_fill). Nothing happens where they do not lie in one stretch. */
void arena_fill(struct arena *arena, size_t bytes);

/* A copy of `text` living as long as the arena; NULL when memory ended. */
char *arena_text(struct arena *arena, const char *text);

/* Bytes taken so far, without the arena's own overhead. */
size_t arena_size(const struct arena *arena);

#endif
