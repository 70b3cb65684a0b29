/* Study sheets: the group /study, one row a variant, and below it what the rows say together. */
#ifndef IO_RESULTS_STUDY_SHEET_H
#define IO_RESULTS_STUDY_SHEET_H

#include "io/door/variants.h"
#include "io/results/sheet.h"
#include "solver/study/rows.h"
#include "solver/study/statistics.h"

/* "/study": variant, the varied values, the measures, whether it keeps to the limits, whether it is
 * on the front of the compared measures, status and reason. */
MUST_CHECK bool study_sheet(const struct variants *variants, const struct rows *rows,
                            struct sheet *sheet, struct arena *arena, struct failure *failure);

/* "/study/summary": mean, deviation, median and quantiles of each measure. */
MUST_CHECK bool study_summary_sheet(const struct study *study, const struct rows *rows,
                                    struct sheet *sheet, struct arena *arena,
                                    struct failure *failure);

/* "/study/limits": how many rows exceed each limit, the share and its confidence interval. */
MUST_CHECK bool study_limits_sheet(const struct study *study, const struct rows *rows,
                                   struct sheet *sheet, struct arena *arena,
                                   struct failure *failure);

/* "/study/importance": Sobol's indices of each input for each measure. */
MUST_CHECK bool study_importance_sheet(const struct study *study, const struct rows *rows,
                                       struct sheet *sheet, struct arena *arena,
                                       struct failure *failure);

/* "/study/alone": how far each input alone moves each measure from the case as it stands. */
MUST_CHECK bool study_alone_sheet(const struct study *study, const struct rows *rows,
                                  struct sheet *sheet, struct arena *arena,
                                  struct failure *failure);

#endif
