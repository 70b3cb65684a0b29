/* Hours: a small case as a person writes it, read and run to its end by the tests of filling. */
#ifndef TESTS_IO_HOURS_H
#define TESTS_IO_HOURS_H

#include "io/door/door.h"
#include "solver/filling/filling.h"

#include <criterion/criterion.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

struct hours {
    struct arena *arena;
    const struct site *site;
    struct filling filling;
};

static inline void write_file(const char *folder, const char *name, const char *text)
{
    char path[200];
    (void)snprintf(path, sizeof path, "%s/%s", folder, name);
    FILE *file = fopen(path, "w");
    cr_assert_not_null(file);
    (void)fputs(text, file);
    (void)fclose(file);
}

/* The case with, where not NULL, table.csv beside it; run to its end. */
static inline struct hours hours_of(const char *text, const char *table)
{
    char folder[] = "filling-case-XXXXXX";
    char path[200];
    struct hours hours = {.arena = arena_new()};
    struct faults faults;
    struct failure failure = {0};
    struct site *site = NULL;
    cr_assert_not_null(mkdtemp(folder));
    write_file(folder, "case.yaml", text);
    write_file(folder, "table.csv", table ? table : "");
    (void)snprintf(path, sizeof path, "%s/case.yaml", folder);
    faults_init(&faults, hours.arena);
    const bool is_read = read_site(path, hours.arena, &site, &faults);
    faults_write(&faults, FAULT_ERROR, stderr);
    (void)unlink(path);
    (void)snprintf(path, sizeof path, "%s/table.csv", folder);
    (void)unlink(path);
    (void)rmdir(folder);
    cr_assert(is_read);
    hours.site = site;
    cr_assert(filling_run(site, &filling_defaults, &hours.filling, hours.arena, &failure), "%s",
              failure.message);
    cr_assert_eq(hours.filling.ending, FILLING_DONE);
    cr_expect(fabs(hours.filling.residual) <= 1e-9 * hours.filling.moved);
    return hours;
}

static inline const struct filling_tank_answer *tank_of(const struct hours *hours, const char *name)
{
    const int tank = network_find_tank(hours->site->network, name);
    cr_assert_neq(tank, NETWORK_NONE);
    return &hours->filling.tanks[tank];
}

static inline const struct filling_pump_answer *pump_of(const struct hours *hours, const char *name)
{
    const int link = network_find_link(hours->site->network, name);
    int index = hours->filling.pump_count - 1;
    while (index >= 0 && hours->site->filling.pumps[index].link != link) {
        index--;
    }
    cr_assert_geq(index, 0, "no pump '%s'", name);
    return &hours->filling.pumps[index];
}

/* Time of the event number `number` (from 0) of a kind on what is called `name`; NAN: none. */
static inline double time_of(const struct hours *hours, enum filling_event_kind kind,
                             const char *name, int number)
{
    for (int i = 0; i < hours->filling.event_count; i++) {
        const struct filling_event *event = &hours->filling.events[i];
        const char *subject = filling_event_subject(hours->site, kind, event->subject);
        if (event->kind == kind && strcmp(subject, name) == 0 && number-- == 0) {
            return event->time;
        }
    }
    return (double)NAN;
}

#endif
