/* Study journal: the rows of a study as they are finished, in a file beside the results.
 * Each row is written at once with a checksum, so that what ends the program, however hard, takes
 * only the variants then in work; what stands half at the end of the file is cut off when it is
 * opened again. One program at a time (a lock). The journal belongs to one study: a fingerprint of
 * the case with its tables and the program's version stands at its head. Numbers are as this
 * machine keeps them. */
#ifndef IO_RESULTS_STUDY_JOURNAL_H
#define IO_RESULTS_STUDY_JOURNAL_H

#include "io/results/sha256.h"
#include "solver/study/rows.h"

struct study_journal;

/* Opens or makes the journal at `path` and puts the rows it has into `rows`. NULL: another study's,
 * in use, or a file's trouble; failure tells. */
struct study_journal *study_journal_open(const char *path, const char fingerprint[SHA256_TEXT_SIZE],
                                         struct rows *rows, struct arena *arena,
                                         struct failure *failure);

/* Adds a row. Once a second what was added is brought to the disk. */
MUST_CHECK bool study_journal_add(struct study_journal *journal, int index, const struct row *row,
                                  struct failure *failure);

/* Closes it; `is_over`: its rows are safe elsewhere, and the file is removed. NULL is allowed. */
void study_journal_close(struct study_journal *journal, bool is_over);

#endif
