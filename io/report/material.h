/* Material: all that a report is made of: what results files hold, the case they were made from,
 * and the pictures. */
#ifndef IO_REPORT_MATERIAL_H
#define IO_REPORT_MATERIAL_H

#include "io/door/faults.h"
#include "io/results/reader.h"
#include "models/site.h"

enum {
    MATERIAL_FILES_MAX = 4,
    MATERIAL_PICTURES_MAX = 64,
    MATERIAL_WHY_SIZE = 2 * FAILURE_MESSAGE_SIZE + 80
};

struct picture {
    const char *text; /* the whole SVG */
    const char *title;
    const char *description;
    bool has_legend; /* its description stands in it already */
    bool is_tall;    /* may take a page of its own */
};

struct material {
    struct arena *arena; /* borrowed */
    struct sheet root;
    struct sheet steady;
    struct sheet findings;
    struct sheet choose;
    struct sheet sets; /* of the choice */
    struct sheet surge;
    struct sheet sizing; /* of `surge --size` */
    struct sheet filling;
    struct sheet study;    /* its summary */
    struct sheet variants; /* its rows */
    struct sheet limits;
    struct sheet failures;
    bool has_steady;
    bool has_findings;
    bool has_choose;
    bool has_sets;
    bool has_surge;
    bool has_sizing;
    bool has_filling;
    bool has_study;
    bool has_variants;
    bool has_limits;
    bool has_failures;
    const struct site *site; /* NULL: the case could not be read again; `case_why` tells */
    char case_why[MATERIAL_WHY_SIZE];
    struct faults faults; /* of reading it: doubts and assumptions */
    int picture_count;
    struct picture pictures[MATERIAL_PICTURES_MAX];
    char picture_why[MATERIAL_WHY_SIZE]; /* why pictures are missing; "": none is */
};

/* Gathers from `count` results files of one case, 1 to MATERIAL_FILES_MAX; what an earlier one has
 * is not taken again. `patience`: s for each picture (see gnuplot.h). Missing pictures or a case
 * that cannot be read again are no failure. `material` is large: take it from an arena. */
MUST_CHECK bool material_gather(struct material *material, int count,
                                struct reader *const readers[], double patience,
                                struct arena *arena, struct failure *failure);

/* A text or number of a sheet's attribute, or `otherwise`/NAN. */
const char *material_text(const struct sheet *sheet, const char *name, const char *otherwise);
double material_number(const struct sheet *sheet, const char *name);

/* The number at `row` of a field, NAN when it is not there; its text, "" when it is not. */
double material_value(const struct sheet *sheet, const char *field, size_t row);
const char *material_word(const struct sheet *sheet, const char *field, size_t row);

/* The name a person gave to a point: that of the tank whose mouth it is, or its own. */
const char *material_end(const struct network *network, int point);

/* How many rows a field has, 0: it is not there. */
size_t material_rows(const struct sheet *sheet, const char *field);

/* Whether a field's name is one of `list` [count]. */
bool material_is_among(const char *name, size_t count, const char *const list[]);

#endif
