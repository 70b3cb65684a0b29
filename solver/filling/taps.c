#include "solver/filling/taps.h"

#include <math.h>

/* m of gauge head that count as none. */
static const double no_head = 1e-6;

static bool is_tap(const struct works *works, int index)
{
    const struct filling_plan *plan = works->plan;
    const struct point *point = &works->network->points[index];
    bool is_drawn = point->draw > 0.0;
    for (int i = 0; i < plan->draw_count && !is_drawn; i++) {
        is_drawn = plan->draws[i].point == index;
    }
    return is_drawn && !point->is_held && point->tank == NETWORK_NONE;
}

bool taps_init(struct taps *taps, const struct works *works, struct arena *arena,
               struct failure *failure)
{
    const size_t most = (size_t)works->network->point_count;
    *taps = (struct taps){.works = works,
                          .answers = arena_take(arena, most, sizeof *taps->answers),
                          .is_short = arena_take(arena, most, sizeof *taps->is_short),
                          .is_low = arena_take(arena, most, sizeof *taps->is_low)};
    if (!taps->answers || !taps->is_short || !taps->is_low) {
        return fail_memory(failure, "the filling run");
    }
    for (int i = 0; i < works->network->point_count; i++) {
        if (is_tap(works, i)) {
            taps->answers[taps->count++] = (struct filling_tap_answer){
                .point = i, .lowest = (double)INFINITY, .lowest_time = (double)NAN};
        }
    }
    return true;
}

void taps_look(struct taps *taps, double time)
{
    const struct steady *steady = &taps->works->steady;
    for (int i = 0; i < taps->count; i++) {
        struct filling_tap_answer *answer = &taps->answers[i];
        const struct point *point = &taps->works->network->points[answer->point];
        const double head = steady->head[answer->point] - point->elevation;
        const bool is_open = point->draw > 0.0;
        const bool is_cut_off = steady->zone[answer->point] != NETWORK_NONE; /* has no head */
        taps->is_short[i] = is_open && (is_cut_off || head < -no_head);
        taps->is_low[i] = is_open && (is_cut_off || head < point->wanted_head - no_head);
        if (is_open && !is_cut_off && head < answer->lowest) {
            answer->lowest = head;
            answer->lowest_time = time;
        }
    }
}

void taps_count(struct taps *taps, double seconds)
{
    for (int i = 0; i < taps->count; i++) {
        taps->answers[i].short_time += taps->is_short[i] ? seconds : 0.0;
        taps->answers[i].low_time += taps->is_low[i] ? seconds : 0.0;
    }
}
