/* Criterion draws in libgit2 to show how two texts of its newer assertions differ,
 * cr_assert(eq(str, a, b)), which we do not use. Libgit2 draws in 14 libraries more, and reads all
 * certificates of the machine as it starts: in every child process, so with every test, and twenty
 * times slower under valgrind. A library of that name with nothing in it takes its place in the
 * test programs (no_git.cmake). */

#include <stdio.h>
#include <stdlib.h>

int git_libgit2_init(void);
int git_libgit2_shutdown(void);
int git_diff_buffers(void);

/* How often it was begun. */
int git_libgit2_init(void)
{
    return 1;
}

/* How often it is still to be ended. */
int git_libgit2_shutdown(void)
{
    return 0;
}

/* Asked for when such an assertion fails; Criterion could not go on without an answer. */
int git_diff_buffers(void)
{
    fputs("cr_assert(eq(str, ...)) failed; cr_assert_str_eq() shows how the texts differ\n",
          stderr);
    abort();
}
