/* Told site: a case in text, its steady answer and what is found of it. */
#ifndef TESTS_IO_TOLD_SITE_H
#define TESTS_IO_TOLD_SITE_H

#include "io/door/door.h"
#include "solver/findings/findings.h"

#include <criterion/criterion.h>
#include <string.h>

struct told_site {
    struct arena *arena;
    struct site *site;
    struct steady steady;
    struct findings findings;
};

/* Reads a case, solves it and finds what is to be said of it; the caller frees the arena. */
static inline struct told_site told_site(const char *text)
{
    struct faults faults;
    struct failure failure = {0};
    struct told_site told = {.arena = arena_new()};
    faults_init(&faults, told.arena);
    cr_assert(read_site_text("told.yaml", text, strlen(text), told.arena, &told.site, &faults),
              "%s", faults_first(&faults) ? faults_first(&faults)->message : "");
    findings_init(&told.findings, told.arena);
    cr_assert(steady_init(&told.steady, told.site->network, told.arena, &failure));
    struct steady_solver *solver = steady_solver_new(told.site->network, &failure);
    cr_assert_not_null(solver);
    cr_assert(steady_solve(solver, told.site->network, &told.site->water, &steady_defaults,
                           &told.steady, &failure));
    steady_solver_free(solver);
    cr_assert_eq(told.steady.ending, STEADY_CONVERGED);
    cr_assert(findings_steady(told.site, &told.steady, &told.findings, &failure));
    return told;
}

/* The first that a rule says of a subject, or NULL. */
static inline const struct finding *told_find(const struct told_site *told, const char *rule,
                                              const char *subject)
{
    for (int i = 0; i < told->findings.count; i++) {
        const struct finding *finding = &told->findings.items[i];
        if (strcmp(finding->rule, rule) == 0 && strcmp(finding->subject, subject) == 0) {
            return finding;
        }
    }
    return NULL;
}

#endif
