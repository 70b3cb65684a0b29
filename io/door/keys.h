/* Keys: what may stand in a section of a case file, as tables. From one table come the reading, the
 * messages (unknown key with the nearest known one, wrong type, missing key), the defaults and the
 * help. */
#ifndef IO_DOOR_KEYS_H
#define IO_DOOR_KEYS_H

#include "io/door/faults.h"
#include "io/door/plausible.h"
#include "io/door/tree.h"
#include "io/door/units.h"
#include "models/water.h"

#include <stddef.h>

struct shelf;

/* What every reading function needs. */
struct reader {
    struct arena *arena;
    struct faults *faults;
    struct units *units;
    const struct water *water; /* for heads written as pressures; NULL: not known yet */
    struct shelf *shelf;       /* of its tables, where they are kept; else NULL */
};

enum key_kind {
    KEY_QUANTITY,   /* double; NAN when absent */
    KEY_QUANTITIES, /* struct numbers; count 0 when absent */
    KEY_TEXT,       /* const char *; NULL when absent */
    KEY_YES,        /* int; 1 yes, 0 no, -1 absent */
    KEY_WHOLE,      /* int; -1 when absent */
    KEY_CHOICE,     /* int, index among `choices`; -1 when absent */
    KEY_NODE        /* const struct tree *; NULL when absent; its reader knows more */
};

enum key_range { RANGE_ANY, RANGE_POSITIVE, RANGE_NOT_NEGATIVE, RANGE_SHARE };

enum { NUMBERS_MOST = 64 };

struct numbers {
    int count;
    double *value; /* [count] SI */
};

struct key {
    const char *name;
    const char *help;
    const char *fallback; /* read in its place when absent; NULL: none */
    const char *choices;  /* "above water|below water" */
    size_t offset;        /* in the section's struct */
    enum key_kind kind;
    enum quantity quantity;
    enum key_range range;
    enum plausible plausible; /* what the number is, where its quantity says too little */
    bool is_required;
};

struct section {
    const char *name; /* as in the case file, for help: "tanks", "part: pipe" */
    const char *help;
    int key_count;
    const struct key *keys;
};

enum { SECTIONS_MOST = 64 };

/* A list of sections, for whoever goes through all keys. */
struct sections {
    int count;
    const struct section *list[SECTIONS_MOST];
};

void sections_add(struct sections *sections, const struct section *section);

/* One table and the struct its values go to. */
struct target {
    const struct section *section;
    void *into;
};

/* Reads the map `node` into the targets. Absent values become what key_kind says, or the fallback.
 * `subject` begins each message: "tank 'spring'". False: something was wrong (told); what was right
 * is filled in all the same. */
MUST_CHECK bool keys_read(const struct reader *reader, const struct tree *node, const char *subject,
                          int target_count, const struct target targets[]);

/* Sets every value of the targets as if absent, with fallbacks. */
void keys_clear(const struct reader *reader, int target_count, const struct target targets[]);

/* One value by one key's rule into `into` (the struct, not the field). */
MUST_CHECK bool key_read_value(const struct reader *reader, const struct key *key,
                               const struct tree *node, const char *subject, void *into);

/* "tank 'spring'" in the arena. */
const char *keys_subject(const struct reader *reader, const char *kind, const char *name);

/* What may stand behind a key, in words: "length", "yes or no", "open|shut". */
const char *key_kind(const struct key *key);

#endif
