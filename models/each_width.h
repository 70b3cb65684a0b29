/* EACH_WIDTH before a static function makes it once for each vector width of the machine's family;
 * which one runs is chosen as the program starts. Digits do not depend on it: no contraction is
 * allowed (CMakeLists.txt), and no sum is reordered. Only gcc on x86-64, and not where a sanitizer
 * must be ready before the choice is made; elsewhere the plain one alone.
 * EACH_BODY before a static function puts it inside those that use it, so that it gets their
 * width. */
#ifndef MODELS_EACH_WIDTH_H
#define MODELS_EACH_WIDTH_H

enum { WIDEST = 8 }; /* doubles in the widest vector */

#if defined(__x86_64__) && defined(__gnu_linux__) && defined(__GNUC__) && !defined(__clang__) &&   \
    !defined(__SANITIZE_ADDRESS__)
#define EACH_WIDTH __attribute__((target_clones("avx512f", "avx2", "default")))
#define EACH_BODY inline __attribute__((always_inline))
#define EACH_PLACE _Pragma("GCC ivdep") _Pragma("GCC unroll 1")
#else
#define EACH_WIDTH
#define EACH_BODY inline
#define EACH_PLACE
#endif

#endif
