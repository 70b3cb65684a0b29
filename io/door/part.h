/* Part: one entry of a run's list while it is read; it becomes one link.
 * Read in three turns: its words; its bore, once the pipes beside it are known; its law, once the
 * elevations of its ends are known. */
#ifndef IO_DOOR_PART_H
#define IO_DOOR_PART_H

#include "io/door/draft.h"

struct part;

/* How one kind of part is read; one table row a kind. */
struct part_kind {
    const char *word;            /* for names and messages: "pipe", "bend" */
    const char *const *openings; /* keys, closed by NULL, one of which opens such a part */
    const struct section *section;
    size_t words_size;          /* of the struct that the section's values go to */
    const struct section *more; /* a second table, or NULL; its values go into the same struct */
    size_t more_offset;
    bool (*read)(struct draft *draft, struct part *part);
    bool (*make)(struct draft *draft, struct part *part);
};

struct part {
    const struct part_kind *kind;
    const struct tree *node; /* a map or a text; NULL: added by us */
    struct place place;
    const char *subject; /* "run 'main', pipe" */
    const char *word;    /* the key that opened it: "bend" */
    void *words;         /* of kind->words_size */
    const char *name;    /* NULL: not said, then "main/bend-1" */
    double end;          /* m, elevation at its end; NAN: not said */
    double start;        /* m, elevation at its start, from a profile; NAN */
    double length;       /* m, of a pipe; 0 */
    double bore;         /* m; NAN until known */
    double bore_before;  /* m, of the nearest pipe before it; settled with the bores; NAN */
    double bore_after;   /* m, of the nearest pipe after it; NAN */
    bool is_pipe;
    bool is_pump;
    bool is_valve;
    bool is_union;
    bool is_entry; /* it has the entry loss in it: none is added */
    bool is_exit;
    bool is_one_way;
    bool reducer_before; /* a reducer is listed next to it */
    bool reducer_after;
    double elevation_from; /* m, settled by the run */
    double elevation_to;
    double area; /* made: m2 */
    const struct element *element;
    const void *data;
    int link;
};

/* The only child of `part` with this key, or NULL; its place, or the part's. */
const struct tree *part_child(const struct part *part, const char *key);
struct place part_child_place(const struct part *part, const char *key);

/* Turn 1: the words of one entry of a run's list. False: told. */
MUST_CHECK bool part_read(struct draft *draft, const char *run, const struct tree *node,
                          struct part *part);

/* Adds the sections of all kinds of parts. */
void parts_add_sections(struct sections *sections);

extern const struct part_kind pipe_part;
extern const struct part_kind pump_part;
extern const struct part_kind valve_part;
extern const struct part_kind fitting_part;
extern const struct part_kind throttling_part;
extern const struct part_kind reducer_part;
extern const struct part_kind strainer_part;
extern const struct part_kind float_valve_part;
extern const struct part_kind flow_limiter_part;
extern const struct part_kind regulator_part;

/* An entry or exit at a tank that the case does not list; `one_way`: pouring in above the water. */
struct part fitting_part_at_tank(struct draft *draft, bool is_exit, bool one_way,
                                 struct place place);

/* Of a made valve's words: which sides have unions by its own statement. */
void valve_part_unions(const struct part *part, bool *before, bool *after);

#endif
