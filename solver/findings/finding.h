/* Finding: one thing about a site that a person should know, with its number, its limit, where the
 * limit comes from and what to do. Words are constants of the rule that made it; io/ joins them
 * with the numbers. */
#ifndef SOLVER_FINDINGS_FINDING_H
#define SOLVER_FINDINGS_FINDING_H

#include "models/arena.h"
#include "models/failure.h"

enum finding_level {
    FINDING_NOTE,    /* good to know */
    FINDING_WARNING, /* outside good practice */
    FINDING_FAILED   /* a limit is exceeded: it will not work, or not last */
};

struct finding {
    enum finding_level level;
    const char *rule;    /* short name of the rule: "suction margin" */
    const char *subject; /* the pump, valve, run, point or tank it is about; borrowed */
    const char *other;   /* a second subject (the tank that is fed), or NULL */
    struct place place;  /* where the case says it */
    const char *text;    /* what the number is: "NPSH available less required" */
    double value;        /* SI; NAN: no number */
    double limit;        /* SI; NAN: no limit */
    const char *unit;    /* of both: "m", "m/s", "1", "Pa", "s" */
    const char *remedy;  /* what to do, an order */
    const char *source;  /* of the limit, with its mark */
    int question;        /* row of the inventory of a whole job it answers, 1 to 109; 0: none */
};

/* A growing list. When memory ends `is_cut` is set and later findings are dropped. */
struct findings {
    struct arena *arena;
    int count;
    int room;
    struct finding *items; /* [count] */
    bool is_cut;
};

void findings_init(struct findings *findings, struct arena *arena);
void findings_add(struct findings *findings, const struct finding *finding);

/* How many of at least this level. */
int findings_count(const struct findings *findings, enum finding_level least);

const char *finding_level_text(enum finding_level level);

#endif
