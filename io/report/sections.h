/* Sections: the parts of a report, one function each; a heading h2 stands before it already. */
#ifndef IO_REPORT_SECTIONS_H
#define IO_REPORT_SECTIONS_H

#include "io/report/html.h"
#include "io/report/material.h"

#include <stdio.h>

/* A table of at most some hundred rows, nothing where the sheet has none of them. `mask`: see
 * struct html_rows. */
void section_table(const struct sheet *sheet, const char *caption,
                   const struct trade_column *columns, const char *mask, FILE *out);

/* What the hours and the findings add to the answer. */
void answer_hours(const struct sheet *filling, FILE *out);
void answer_findings(const struct sheet *findings, FILE *out);

/* What a study and the failures add to the question, as items of a list, and to the answer. */
void question_many(const struct material *material, FILE *out);
void answer_many(const struct material *material, FILE *out);

/* What the surge adds to the answer: highest, lowest, and every limit that it exceeds. */
void answer_surge(const struct sheet *surge, FILE *out);

void section_question(const struct material *material, FILE *out);
void section_answer(const struct material *material, FILE *out);
void section_choice(const struct material *material, FILE *out);
void section_pictures(const struct material *material, FILE *out);
void section_findings(const struct material *material, FILE *out);
void section_flow(const struct material *material, FILE *out);
void section_surge(const struct material *material, FILE *out);
void section_filling(const struct material *material, FILE *out);
void section_study(const struct material *material, FILE *out);
void section_failures(const struct material *material, FILE *out);
void section_parts(const struct material *material, FILE *out);
void section_assumptions(const struct material *material, FILE *out);
void section_proof(const struct material *material, FILE *out);
void section_cautions(const struct material *material, FILE *out);
void section_checklist(const struct material *material, FILE *out);

#endif
