/* Journal: every switching of a run in order, evenly thinned when there are too many, with a watch
 * for what switches to and fro without end. */
#ifndef SOLVER_FILLING_JOURNAL_H
#define SOLVER_FILLING_JOURNAL_H

#include "solver/filling/filling.h"

/* One thing that switches within one second more often than this chatters: no float, valve or
 * contactor can follow it, and a run would step for ever. */
enum { JOURNAL_CHATTER = 8 };

/* When a subject began to be watched, and how often it switched since. */
struct journal_watch {
    double since; /* s */
    int count;
};

struct journal {
    int room;
    int count;
    int stride; /* one in so many is kept */
    double total;
    struct filling_event *events; /* [room] */
    int pump_count;
    int tank_count;
    struct journal_watch *watches; /* [pumps + tanks + links] */
    bool is_chattering;
    struct filling_event last; /* what chattered */
};

MUST_CHECK bool journal_init(struct journal *journal, const struct site *site, int room,
                             struct arena *arena, struct failure *failure);

void journal_note(struct journal *journal, double time, enum filling_event_kind kind, int subject,
                  double level);

#endif
