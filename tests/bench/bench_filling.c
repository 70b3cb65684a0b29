/* How long a year of the demonstration site takes. A measurement, no test:
 *   cmake --build build --target bench_filling && build/bench_filling */
#include "io/door/door.h"
#include "solver/filling/filling.h"

#include <stdio.h>
#include <time.h>

static double now(void)
{
    struct timespec time;
    (void)clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &time);
    return (double)time.tv_sec + 1e-9 * (double)time.tv_nsec;
}

static int run(struct arena *arena)
{
    struct failure failure = {0};
    struct filling filling;
    struct faults faults;
    struct site *site = NULL;
    struct filling_options options = filling_defaults;
    faults_init(&faults, arena);
    if (!read_site(SOURCE_DIR "/cases/alder-beck.yaml", arena, &site, &faults)) {
        return 1;
    }
    options.duration = 365.0 * 86400.0;
    const double start = now();
    if (!filling_run(site, &options, &filling, arena, &failure)) {
        (void)fprintf(stderr, "%s\n", failure.message);
        return 1;
    }
    (void)printf("a year: %.2f s of one core; %s; %.0f events, %.0f steps, %.0f steady answers, "
                 "%.1f us each; %.1g of the water moved not accounted for\n",
                 now() - start, filling_ending_text(filling.ending), filling.switch_count,
                 filling.step_count, filling.solve_count,
                 1e6 * (now() - start) / filling.solve_count, filling.residual / filling.moved);
    return 0;
}

int main(void)
{
    struct arena *arena = arena_new();
    const int code = arena ? run(arena) : 1;
    arena_free(arena);
    return code;
}
