/* Case again: the case that a results file was made from, read once more from the text in it. */
#ifndef IO_REPORT_CASE_AGAIN_H
#define IO_REPORT_CASE_AGAIN_H

#include "io/door/faults.h"
#include "io/results/reader.h"
#include "models/site.h"

/* The site of the text in "/case", with what the door assumed and doubted in `faults`; all in
 * `arena`. Tables beside the case are looked for where the case was when the results were made.
 * NULL: there is no such text, or it cannot be read now; `why` (`size` bytes) tells. */
const struct site *case_again(const struct reader *reader, struct arena *arena,
                              struct faults *faults, size_t size, char why[]);

#endif
