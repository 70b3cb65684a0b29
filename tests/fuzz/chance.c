/* Drives a fuzz target with bytes by chance:
 *     chance_SUBJECT [COUNT [FIRST SEED]]
 * A wrong answer aborts; the seed told last before it repeats it. */
#include "tests/fuzz/fuzz.h"
#include "tests/solver/random_numbers.h"

#include <stdio.h>

enum { LENGTH = 160 };

int main(int count, char *words[])
{
    const long tries = count > 1 ? strtol(words[1], NULL, 10) : 40;
    const long first = count > 2 ? strtol(words[2], NULL, 10) : 1;
    for (long seed = first; seed < first + tries; seed++) {
        struct random random;
        unsigned char data[LENGTH];
        random_seed(&random, (uint64_t)seed);
        for (int i = 0; i < LENGTH; i++) {
            data[i] = (unsigned char)random_pick(&random, 256);
        }
        if (tries <= 100 || seed % 100 == 0) {
            (void)printf("seed %ld\n", seed);
            (void)fflush(stdout);
        }
        LLVMFuzzerTestOneInput(data, LENGTH);
    }
    (void)printf("%ld inputs tried\n", tries);
    return tries > 0 ? 0 : 1;
}
