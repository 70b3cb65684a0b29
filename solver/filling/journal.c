#include "solver/filling/journal.h"

#include <stddef.h>
#include <string.h>

/* s */
static const double chatter_time = 1.0;

bool journal_init(struct journal *journal, const struct site *site, int room, struct arena *arena,
                  struct failure *failure)
{
    memset(journal, 0, sizeof *journal);
    journal->room = room > 2 ? room : 2;
    journal->stride = 1;
    journal->pump_count = site->filling.pump_count;
    journal->tank_count = site->network->tank_count;
    const int subjects = journal->pump_count + journal->tank_count + site->network->link_count;
    journal->events = arena_take(arena, (size_t)journal->room, sizeof *journal->events);
    journal->watches = arena_take(arena, (size_t)subjects, sizeof *journal->watches);
    return (journal->events && journal->watches) || fail_memory(failure, "the filling run");
}

static int watch_of(const struct journal *journal, enum filling_event_kind kind, int subject)
{
    if (kind < FILLING_BRIM) {
        return subject;
    }
    return journal->pump_count + subject + (kind < FILLING_UNCOVERED ? 0 : journal->tank_count);
}

static void watch(struct journal *journal, const struct filling_event *event)
{
    struct journal_watch *mine = &journal->watches[watch_of(journal, event->kind, event->subject)];
    if (mine->count == 0 || event->time - mine->since > chatter_time) {
        mine->since = event->time;
        mine->count = 0;
    }
    mine->count++;
    if (mine->count > JOURNAL_CHATTER && !journal->is_chattering) {
        journal->is_chattering = true;
        journal->last = *event;
    }
}

void journal_note(struct journal *journal, double time, enum filling_event_kind kind, int subject,
                  double level)
{
    const struct filling_event event = {time, kind, subject, level};
    const double number = journal->total;
    journal->total += 1.0;
    watch(journal, &event);
    if (number < (double)journal->count * journal->stride) {
        return; /* between two that are kept */
    }
    if (journal->count == journal->room) {
        for (ptrdiff_t i = 0; 2 * i < journal->count; i++) {
            journal->events[i] = journal->events[2 * i];
        }
        journal->count = (journal->count + 1) / 2;
        journal->stride *= 2;
        if (number < (double)journal->count * journal->stride) {
            return;
        }
    }
    journal->events[journal->count++] = event;
}
