#include "solver/choose/walk.h"

#include "solver/choose/valve_set.h"

#include <math.h>
#include <stddef.h>

struct steps {
    int place_count;
    const struct walk_list *lists;
    double above; /* only sets of more than this */
    double most;
    double ties;                         /* the next more that would not have fitted */
    double rest[CHOOSE_PLACES_MOST + 1]; /* least fixed points of the places from here on */
    int room;
    int count;
    uint16_t *out; /* [room][place_count]; NULL: only counted */
};

/* `next`: one more than the place in its list, for each place. */
static void take_set(struct steps *steps, const int next[])
{
    for (int i = 0; steps->out && i < steps->place_count; i++) {
        steps->out[(ptrdiff_t)steps->count * steps->place_count + i] =
            (uint16_t)steps->lists[i].candidate[next[i] - 1];
    }
    steps->count++;
}

/* Adds to `count` those above `above` and within `most`, as long as there is room. */
static void walk_all(struct steps *steps)
{
    int next[CHOOSE_PLACES_MOST] = {0};
    double sum[CHOOSE_PLACES_MOST + 1] = {0};
    for (int at = 0; at >= 0 && steps->count < steps->room;) {
        const struct walk_list *list = &steps->lists[at];
        const int here = next[at]++;
        sum[at + 1] = here < list->count ? sum[at] + list->fixed[here] : (double)INFINITY;
        if (sum[at + 1] + steps->rest[at + 1] > steps->most) {
            at--; /* sorted: those after it have no less */
        } else if (at + 1 < steps->place_count) {
            next[++at] = 0;
        } else if (sum[at + 1] > steps->above) {
            take_set(steps, next);
        }
    }
}

static int count_within(struct steps *steps, double most)
{
    steps->most = most;
    steps->count = 0;
    walk_all(steps);
    return steps->count;
}

/* Sets the bound that keeps the walk within its room: `most`, or less. Gives the latter, or NAN. */
static double set_bound(struct steps *steps, double most)
{
    static const double slack = 1e-9; /* the order of adding must not drop an equal */
    double low = steps->rest[0] - 1.0;
    double high = most + slack;
    if (count_within(steps, high) < steps->room) {
        return (double)NAN;
    }
    for (int i = 0; i < 60; i++) {
        const double middle = 0.5 * (low + high);
        if (count_within(steps, middle) < steps->room) {
            low = middle;
        } else {
            high = middle;
        }
    }
    (void)count_within(steps, low);
    steps->ties = high;
    return low;
}

bool walk_within(int place_count, const struct walk_list lists[place_count], double most,
                 int sets_most, struct walk *walk, struct arena *arena)
{
    struct steps steps = {.place_count = place_count,
                          .lists = lists,
                          .room = sets_most + 1,
                          .above = -(double)INFINITY};
    double largest = 0.0;
    for (int i = place_count - 1; i >= 0; i--) {
        steps.rest[i] = steps.rest[i + 1] + lists[i].fixed[0];
    }
    for (int i = 0; i < place_count; i++) {
        largest += lists[i].fixed[lists[i].count - 1];
    }
    walk->least_left = set_bound(&steps, fmin(most, largest));
    const bool is_cut = !isnan(walk->least_left);
    const size_t most_count = (size_t)(is_cut ? sets_most : steps.count);
    walk->chosen = arena_take(arena, most_count * (size_t)place_count + 1, sizeof *walk->chosen);
    if (!walk->chosen) {
        return false;
    }
    steps.out = walk->chosen;
    (void)count_within(&steps, steps.most);
    if (is_cut) { /* of those with equal points as many as there is room for */
        steps.room = sets_most;
        steps.above = steps.most;
        steps.most = steps.ties;
        walk_all(&steps);
    }
    walk->count = steps.count;
    return true;
}
