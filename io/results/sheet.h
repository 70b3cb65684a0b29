/* Sheet: one group of results in memory: named fields over named dimensions, with units.
 * The one form between the solvers and everything that leaves: HDF5 (store.h), JSON (json.h), text
 * columns (columns.h). What a group holds is told once, where the sheet is filled. Data is borrowed
 * and must outlive the sheet. */
#ifndef IO_RESULTS_SHEET_H
#define IO_RESULTS_SHEET_H

#include <stdbool.h>
#include <stddef.h>

enum { SHEET_DIMENSION_MAX = 16, SHEET_FIELD_MAX = 72, SHEET_ATTRIBUTE_MAX = 48, FIELD_RANK = 2 };

enum field_kind { FIELD_NUMBER, FIELD_WHOLE /* whole numbers, held as doubles */, FIELD_TEXT };

struct dimension {
    const char *name;
    size_t count;
};

struct field {
    const char *name;      /* "head" */
    const char *units;     /* UDUNITS spelling; "1": a plain number or text */
    const char *long_name; /* "total head at the point" */
    enum field_kind kind;
    int rank;                  /* 0 to FIELD_RANK dimensions */
    int dimension[FIELD_RANK]; /* into sheet.dimensions, the slower one first */
    size_t count;              /* values: the product of its dimensions */
    const double *numbers;     /* [count] or NULL */
    const char *const *texts;  /* [count] or NULL; NULL entries read as "" */
};

struct attribute {
    const char *name;
    const char *text; /* NULL: a number */
    double number;
};

struct sheet {
    const char *path; /* "/steady" */
    int dimension_count;
    int field_count;
    int attribute_count;
    bool is_full; /* more was added than there is room for: a fault of the program */
    struct dimension dimensions[SHEET_DIMENSION_MAX];
    struct field fields[SHEET_FIELD_MAX];
    struct attribute attributes[SHEET_ATTRIBUTE_MAX];
};

/* The words that tell of a field. */
struct field_head {
    const char *name;
    const char *units;
    const char *long_name;
};

void sheet_init(struct sheet *sheet, const char *path);

/* Adds a dimension; every dimension needs one field of the same name along it. */
int sheet_dimension(struct sheet *sheet, const char *name, size_t count);

/* Adds fields along one dimension. */
void sheet_numbers(struct sheet *sheet, struct field_head head, int dimension,
                   const double *numbers);
void sheet_wholes(struct sheet *sheet, struct field_head head, int dimension,
                  const double *numbers);
void sheet_texts(struct sheet *sheet, struct field_head head, int dimension,
                 const char *const *texts);

/* Adds numbers [count of slow][count of fast]. */
void sheet_grid(struct sheet *sheet, struct field_head head, int slow, int fast,
                const double *numbers);

/* Adds a field of any shape, as it stands. */
void sheet_field(struct sheet *sheet, const struct field *field);

void sheet_attribute_text(struct sheet *sheet, const char *name, const char *text);
void sheet_attribute_number(struct sheet *sheet, const char *name, double number);

/* The field or attribute of this name, or NULL. */
const struct field *sheet_find(const struct sheet *sheet, const char *name);
const struct attribute *sheet_find_attribute(const struct sheet *sheet, const char *name);

/* The field that gives a dimension its values, or NULL. */
const struct field *sheet_scale(const struct sheet *sheet, int dimension);

#endif
