/* Inventory: every question that a whole job of valves and pipework on a pumped site has to answer,
 * and who answers it: the program (by which command, where), the case file (by which key), or a
 * person on the spot. Findings carry the number of the question they answer. */
#ifndef SOLVER_FINDINGS_INVENTORY_H
#define SOLVER_FINDINGS_INVENTORY_H

enum { INVENTORY_COUNT = 109 };

enum answered_by {
    ANSWERED_BY_PROGRAM, /* computed; `where` names the command and the field or finding */
    ANSWERED_BY_CASE,    /* stated by the user; `where` names the key */
    ANSWERED_BY_PERSON   /* looked at on the spot; `where` says what to look for */
};

struct question {
    int number;       /* 1 to INVENTORY_COUNT */
    const char *part; /* survey, flow, ... */
    const char *asks;
    enum answered_by by;
    const char *where;
};

/* The question at `index`, 0 to INVENTORY_COUNT - 1, in order of number. */
const struct question *inventory_at(int index);

const char *answered_by_text(enum answered_by by);

#endif
