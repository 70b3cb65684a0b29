/* madvise is beyond POSIX; only this file may see it. */
#define _DEFAULT_SOURCE /* NOLINT(bugprone-reserved-identifier,cert-dcl37-c,cert-dcl51-cpp) */

#include "models/large_pages.h"

#include <stdint.h>
#include <sys/mman.h>

#ifdef MADV_HUGEPAGE /* of Linux, beyond POSIX */

static const uintptr_t small_page = 4096; /* or a multiple of it: then the system refuses */
static const size_t size_least = (size_t)8 << 20;

void large_pages_ask(void *room, size_t size)
{
    if (size >= size_least) {
        /* Whole pages only: what lies on those at its ends is somebody else's too. */
        const uintptr_t before = (small_page - (uintptr_t)room % small_page) % small_page;
        (void)madvise((char *)room + before, (size - before) / small_page * small_page,
                      MADV_HUGEPAGE);
    }
}

#else

void large_pages_ask(void *room, size_t size)
{
    (void)room;
    (void)size;
}

#endif
