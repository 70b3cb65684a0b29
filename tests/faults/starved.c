/* The whole program, with memory that ends: the request numbered STARVED_AT (and every later one if
 * STARVED_FOR_GOOD is set) is refused. At the end the number of requests goes to file descriptor 9
 * if it is open. The linker hands it the requests of our own code only; those of the shared
 * libraries are theirs. */
#include "io/command/command.h"

#include <errno.h>
#include <stdatomic.h>
#include <stdio.h>
#include <stdlib.h>
#include <unistd.h>

static atomic_long requests;
static long refused_from;
static long refused_to;

void *__real_malloc(size_t size);
void *__real_calloc(size_t count, size_t size);
void *__real_realloc(void *room, size_t size);
void *__real_aligned_alloc(size_t alignment, size_t size);
int __real_posix_memalign(void **room, size_t alignment, size_t size);
void *__wrap_malloc(size_t size);
void *__wrap_calloc(size_t count, size_t size);
void *__wrap_realloc(void *room, size_t size);
void *__wrap_aligned_alloc(size_t alignment, size_t size);
int __wrap_posix_memalign(void **room, size_t alignment, size_t size);

static bool is_refused(void)
{
    const long number = atomic_fetch_add(&requests, 1) + 1;
    return number >= refused_from && number <= refused_to;
}

void *__wrap_malloc(size_t size)
{
    return is_refused() ? NULL : __real_malloc(size);
}

void *__wrap_calloc(size_t count, size_t size)
{
    return is_refused() ? NULL : __real_calloc(count, size);
}

void *__wrap_realloc(void *room, size_t size)
{
    return is_refused() ? NULL : __real_realloc(room, size);
}

void *__wrap_aligned_alloc(size_t alignment, size_t size)
{
    return is_refused() ? NULL : __real_aligned_alloc(alignment, size);
}

int __wrap_posix_memalign(void **room, size_t alignment, size_t size)
{
    return is_refused() ? ENOMEM : __real_posix_memalign(room, alignment, size);
}

int main(int argc, char *argv[])
{
    const char *at = getenv("STARVED_AT");
    char words[32];
    refused_from = at ? strtol(at, NULL, 10) : 0;
    refused_to = getenv("STARVED_FOR_GOOD") ? 1000000000 : refused_from;
    if (refused_from == 0) {
        refused_to = 0;
    }
    const int code = (int)command_main(argc, argv);
    refused_to = 0; /* what counts lines asks for memory too */
    const int length = snprintf(words, sizeof words, "%ld\n", atomic_load(&requests));
    const ssize_t written = write(9, words, (size_t)length);
    (void)written; /* nobody listens in most runs */
    return code;
}
