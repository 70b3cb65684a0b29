/* Measures: the numbers a study keeps of each variant, each named in words: "flow of delivery",
 * "pressure at trough", "highest share". */
#ifndef SOLVER_STUDY_MEASURES_H
#define SOLVER_STUDY_MEASURES_H

#include "models/site.h"
#include "solver/filling/filling.h"
#include "solver/steady/steady.h"
#include "solver/surge/surge.h"

/* What is run of a variant besides its steady flow; joined as bits. */
enum study_run { STUDY_STEADY = 0, STUDY_SURGE = 1, STUDY_FILL = 2 };

/* "steady", "steady and surge", "steady and filling", "steady, surge and filling". */
const char *study_runs_text(unsigned runs);

/* What a measure is taken of. */
enum measure_subject {
    MEASURE_OF_SITE,  /* no name */
    MEASURE_OF_LINK,  /* any part */
    MEASURE_OF_POINT, /* a point, tank or outlet */
    MEASURE_OF_TANK,
    MEASURE_OF_PUMP,
    MEASURE_OF_VALVE /* a non-return valve */
};

/* What the solvers said of one variant. */
struct measure_view {
    const struct site *site;
    const struct steady *steady;
    const struct surge *surge;     /* NULL: no surge run was made */
    const struct filling *filling; /* NULL: no filling run was made */
};

struct measure_kind {
    const char *words;     /* "suction margin" */
    const char *unit;      /* UDUNITS spelling of the SI unit */
    const char *long_name; /* "net positive suction head available less required" */
    enum measure_subject subject;
    enum study_run run; /* that gives it; one bit or none */
    bool more_is_better;

    /* Its value; `index` is that of the link, point, tank, pump place or valve place. NAN: there is
     * none (a pump that stands has no suction margin). */
    double (*value)(const struct measure_view *view, int index);
};

struct measure {
    const struct measure_kind *kind;
    const char *name;    /* as the case has it: "flow of delivery" */
    const char *subject; /* "delivery"; NULL for MEASURE_OF_SITE */
};

int measure_kind_count(void);
const struct measure_kind *measure_kind_at(int index);

/* The kind whose words `name` begins with, and in *rest what follows its words; NULL: none. */
const struct measure_kind *measure_kind_find(const char *name, const char **rest);

/* Index of the measure's subject in this site: 0 for MEASURE_OF_SITE; NETWORK_NONE: no such. */
int measure_find_subject(const struct measure *measure, const struct site *site);

/* NAN when the subject or the run that gives it is not there, or nothing was found. */
double measure_value(const struct measure *measure, const struct measure_view *view);

#endif
