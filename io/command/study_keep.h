/* Study keep: the rows of a running study, kept in memory and, when its results go to a file, in a
 * journal beside it from which the same command goes on. */
#ifndef IO_COMMAND_STUDY_KEEP_H
#define IO_COMMAND_STUDY_KEEP_H

#include "io/door/variants.h"
#include "io/results/study_journal.h"
#include "io/terminal/progress.h"
#include "io/terminal/terminal.h"

struct study_keep {
    const struct variants *variants; /* borrowed */
    struct arena *arena;             /* borrowed */
    const struct terminal *terminal; /* borrowed */
    struct rows rows;
    struct study_journal *journal; /* NULL: kept in memory only */
    const char *journal_path;
    int found; /* rows that were in the journal */
    struct progress progress;
    struct failure failure; /* of the journal, while the study runs */
};

/* The fingerprint of a study: of the case with its tables and the program's version. */
void study_keep_fingerprint(const struct variants *variants, char fingerprint[SHA256_TEXT_SIZE]);

/* Makes room for the rows and, when `output` is not NULL, opens <output>.journal. */
MUST_CHECK bool study_keep_init(struct study_keep *keep, const struct variants *variants,
                                const struct terminal *terminal, const char *output,
                                struct arena *arena, struct failure *failure);

/* The shape of sweep.keep: false when an interrupt has come or the journal cannot be written. */
bool study_keep_row(void *user, int variant, const struct row *row);

/* Closes the journal; `is_over`: the results are written, it goes. */
void study_keep_clear(struct study_keep *keep, bool is_over);

#endif
