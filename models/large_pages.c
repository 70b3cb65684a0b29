/* madvise is beyond POSIX; only this file may see it. */
#define _DEFAULT_SOURCE /* NOLINT(bugprone-reserved-identifier,cert-dcl37-c,cert-dcl51-cpp) */

#include "models/large_pages.h"

#include <stdint.h>
#include <sys/mman.h>

#ifdef MADV_HUGEPAGE /* of Linux, beyond POSIX */

static const uintptr_t small_page = 4096; /* or a multiple of it: then the system refuses */
static const size_t large_page = (size_t)2 << 20;
static const size_t nearly_all = (size_t)3 << 19;   /* of a large page: three quarters */
static const size_t least_filled = (size_t)1 << 16; /* bytes: less is not worth two calls */

void *large_pages_take(size_t filled, size_t *size)
{
    if (*size > SIZE_MAX / 2) {
        return NULL;
    }
    const size_t pages = (filled + large_page - nearly_all) / large_page;
    const size_t small = (*size + small_page - 1) / small_page * small_page;
    const size_t need = small > pages * large_page ? small : pages * large_page;
    const size_t whole = need + large_page;
    if (pages == 0) {
        return NULL;
    }
    char *room = mmap(NULL, whole, PROT_READ | PROT_WRITE, MAP_PRIVATE | MAP_ANONYMOUS, -1, 0);
    if (room == MAP_FAILED) {
        return NULL;
    }
    /* what lies before the first large page, and behind the need, goes back untouched */
    const size_t before = (large_page - (uintptr_t)room % large_page) % large_page;
    if (before > 0) {
        (void)munmap(room, before);
    }
    if (whole - before > need) {
        (void)munmap(room + before + need, whole - before - need);
    }
    (void)madvise(room + before, pages * large_page, MADV_HUGEPAGE);
    *size = need;
    return room + before;
}

void large_pages_give(void *room, size_t size)
{
    (void)munmap(room, size);
}

void large_pages_fill(void *room, size_t size)
{
#ifdef MADV_POPULATE_WRITE /* since Linux 5.14 */
    const size_t before = (small_page - (uintptr_t)room % small_page) % small_page;
    if (size < before + least_filled) {
        return;
    }
    char *begin = (char *)room + before;
    const size_t whole = (size - before) / small_page * small_page;
    unsigned char is_there = 1;
    if (mincore(begin + whole - small_page, small_page, &is_there) == 0 && (is_there & 1U) == 0) {
        (void)madvise(begin, whole, MADV_POPULATE_WRITE);
    }
#else
    (void)room;
    (void)size;
#endif
}

#else

void *large_pages_take(size_t filled, size_t *size)
{
    (void)filled;
    (void)size;
    return NULL;
}

void large_pages_give(void *room, size_t size)
{
    (void)room;
    (void)size;
}

void large_pages_fill(void *room, size_t size)
{
    (void)room;
    (void)size;
}

#endif
