/* Fuzz: the one function of a fuzz target. With clang's -fsanitize=fuzzer the library drives it;
 * otherwise replay.c runs it over files. */
#ifndef TESTS_FUZZ_FUZZ_H
#define TESTS_FUZZ_FUZZ_H

#include <stddef.h>
#include <stdlib.h>

/* Tries one input; a wrong answer aborts. Returns 0. */
int LLVMFuzzerTestOneInput(const unsigned char *data, size_t size);

#endif
