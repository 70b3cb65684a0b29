/* Ending memory: a test program that includes this sees every call for memory of our own code, and
 * says how many are served. The linker wraps the calls of each test that includes it (tests.cmake).
 */
#ifndef TESTS_SOLVER_ENDING_MEMORY_H
#define TESTS_SOLVER_ENDING_MEMORY_H

#include <stddef.h>

static long calls;           /* counted, all there were */
static long calls_left = -1; /* that are served; -1: no end */
static long call_refused =
    -1; /* the one, by `calls` before it, that alone is not served; -1: none */

void *__real_malloc(size_t size);
void *__real_calloc(size_t count, size_t size);
void *__real_realloc(void *old, size_t size);
void *__real_aligned_alloc(size_t alignment, size_t size);
void *__wrap_malloc(size_t size);
void *__wrap_calloc(size_t count, size_t size);
void *__wrap_realloc(void *old, size_t size);
void *__wrap_aligned_alloc(size_t alignment, size_t size);

static int may_serve(void)
{
    if (calls++ == call_refused || calls_left == 0) {
        return 0;
    }
    calls_left -= calls_left > 0;
    return 1;
}

void *__wrap_malloc(size_t size)
{
    return may_serve() ? __real_malloc(size) : NULL;
}

void *__wrap_calloc(size_t count, size_t size)
{
    return may_serve() ? __real_calloc(count, size) : NULL;
}

void *__wrap_realloc(void *old, size_t size)
{
    return may_serve() ? __real_realloc(old, size) : NULL;
}

void *__wrap_aligned_alloc(size_t alignment, size_t size)
{
    return may_serve() ? __real_aligned_alloc(alignment, size) : NULL;
}

#endif
