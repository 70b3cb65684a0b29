#include "solver/choose/walk.h"

#include "solver/choose/valve_set.h"

#include <math.h>
#include <stddef.h>

struct steps {
    int place_count;
    const struct walk_list *lists;
    double most;
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

static void walk_all(struct steps *steps)
{
    int next[CHOOSE_PLACES_MOST] = {0};
    double sum[CHOOSE_PLACES_MOST + 1] = {0};
    steps->count = 0;
    for (int at = 0; at >= 0 && steps->count < steps->room;) {
        const struct walk_list *list = &steps->lists[at];
        const int here = next[at]++;
        sum[at + 1] = here < list->count ? sum[at] + list->fixed[here] : (double)INFINITY;
        if (sum[at + 1] + steps->rest[at + 1] > steps->most) {
            at--; /* sorted: those after it have no less */
        } else if (at + 1 == steps->place_count) {
            take_set(steps, next);
        } else {
            next[++at] = 0;
        }
    }
}

static int count_within(struct steps *steps, double most)
{
    steps->most = most;
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
    return low;
}

bool walk_within(int place_count, const struct walk_list lists[place_count], double most,
                 int sets_most, struct walk *walk, struct arena *arena)
{
    struct steps steps = {.place_count = place_count, .lists = lists, .room = sets_most + 1};
    double largest = 0.0;
    for (int i = place_count - 1; i >= 0; i--) {
        steps.rest[i] = steps.rest[i + 1] + lists[i].fixed[0];
    }
    for (int i = 0; i < place_count; i++) {
        largest += lists[i].fixed[lists[i].count - 1];
    }
    walk->least_left = set_bound(&steps, fmin(most, largest));
    walk->count = steps.count;
    walk->chosen =
        arena_take(arena, (size_t)walk->count * (size_t)place_count + 1, sizeof *walk->chosen);
    steps.out = walk->chosen;
    if (steps.out) {
        walk_all(&steps);
    }
    return steps.out != NULL;
}
