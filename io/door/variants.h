/* Variants: the sites of a study, each read from the case's tree with its values put in.
 * Everything a case may say can be varied that way, and is checked like a case of its own. */
#ifndef IO_DOOR_VARIANTS_H
#define IO_DOOR_VARIANTS_H

#include "io/door/read_study.h"
#include "io/door/shelf.h"
#include "solver/study/variant.h"

struct variants {
    struct arena *arena; /* holds the tree, the tables, the study and the base site */
    struct faults faults;
    struct units *units;
    struct shelf shelf; /* every table that the case names, also those that only its study does */
    struct tree *root;
    struct site *site; /* the case as it stands */
    struct case_study case_study;
    int count;
    double *coordinates; /* [count][input_count] */
};

/* Reads the case at site->path anew, as a tree, with its study; `site` is that case, read before.
 * False: variants->faults tells. End with variants_clear either way. */
MUST_CHECK bool variants_init(struct variants *variants, struct site *site, struct arena *arena);
void variants_clear(struct variants *variants);

/* Reads the section study of a case that has one, as variants_init does; true where there is none.
 * False: told in `faults`. */
MUST_CHECK bool variants_check(struct site *site, struct arena *arena, struct faults *faults);

/* The shape of sweep.site: `user` is the struct variants. Not to be called by two threads at a
 * time. */
const struct site *variants_site(void *user, int variant, struct arena *arena, struct row *row,
                                 struct failure *failure);

#endif
