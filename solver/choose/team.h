/* Team: all workers of the machine measuring and judging sets of valves. What a set is found to be
 * never depends on how many workers there are. */
#ifndef SOLVER_CHOOSE_TEAM_H
#define SOLVER_CHOOSE_TEAM_H

#include "models/arena.h"
#include "solver/choose/measure.h"
#include "solver/choose/valve_set.h"
#include "solver/workers.h"

enum team_reference { TEAM_REFERENCE_NONE, TEAM_REFERENCE_WANTED, TEAM_REFERENCE_MADE };

struct team {
    const struct envelope *envelope;
    const struct choose_rule *rule;
    const struct site *site; /* the case as it stands */
    int place_count;
    const int *places;                  /* [place_count] indices in site.valves */
    const struct candidate **ideal;     /* [place_count] valves without loss or inertia */
    struct measures *reference;         /* [condition_count][place_count] with them */
    struct measures *trip_reference;    /* [trip_count][place_count] */
    enum team_reference *has_reference; /* [trip_count] made only where something is missed */
    int worker_count;
    struct workbench **benches; /* [worker_count] */
    struct measures **scratch;  /* [worker_count][place_count] */
    struct workers_lock lock;   /* for what stands below */
    bool is_failed;
    struct failure failure; /* the first */
};

/* One set in one trip. */
struct team_job {
    struct valve_set *set;
    int trip;
    struct measures *found; /* [place_count] room */
};

/* Makes the workers and measures the references of all conditions. The fields above worker_count
 * but for the references are the caller's. End with team_clear either way. False: team->failure. */
MUST_CHECK bool team_init(struct team *team, struct arena *arena);
void team_clear(struct team *team);

/* Starts each set anew and adds every condition and rest. A set that is found to rank behind
 * `limit` (NULL: none) is left there: dropped[i], which may be NULL with it. False: memory. */
MUST_CHECK bool team_steady(struct team *team, int count, struct valve_set sets[],
                            const struct valve_set *limit, bool dropped[]);

/* Runs the jobs and adds what they find to their sets, in their order. False: memory. */
MUST_CHECK bool team_trips(struct team *team, int count, struct team_job jobs[]);

/* Only runs the jobs, with a time step so many times finer, and adds nothing to their sets. */
MUST_CHECK bool team_refine(struct team *team, int refinement, int count, struct team_job jobs[]);

#endif
