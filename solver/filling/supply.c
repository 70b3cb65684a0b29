#include "solver/filling/supply.h"

#include "models/pump_curve.h"

#include <string.h>

/* Workspace of the walk against the stream. */
struct walk {
    int *before;   /* [link_count] the next link that ends at the same point */
    int *into;     /* [point_count] the first such link */
    int *mouth_at; /* [link_count] the mouth at a link's start */
    int *waiting;  /* [link_count] links found and not yet gone on from */
    int *seen_by;  /* [link_count] the pump that found it last */
    int *found;    /* [mouth_count] of one pump */
};

static bool take_walk(struct walk *walk, const struct works *works, struct arena *arena)
{
    const size_t links = (size_t)works->network->link_count;
    const size_t points = (size_t)works->network->point_count;
    walk->before = arena_take(arena, links, sizeof *walk->before);
    walk->into = arena_take(arena, points, sizeof *walk->into);
    walk->mouth_at = arena_take(arena, links, sizeof *walk->mouth_at);
    walk->waiting = arena_take(arena, links, sizeof *walk->waiting);
    walk->seen_by = arena_take(arena, links, sizeof *walk->seen_by);
    walk->found = arena_take(arena, (size_t)works->mouth_count, sizeof *walk->found);
    return walk->before && walk->into && walk->mouth_at && walk->waiting && walk->seen_by &&
           walk->found;
}

static void begin_walk(struct walk *walk, const struct works *works)
{
    const struct network *network = works->network;
    for (int i = 0; i < network->point_count; i++) {
        walk->into[i] = NETWORK_NONE;
    }
    for (int e = 0; e < network->link_count; e++) {
        walk->mouth_at[e] = walk->seen_by[e] = NETWORK_NONE;
        walk->before[e] = walk->into[network->links[e].to];
        walk->into[network->links[e].to] = e;
    }
    for (int i = 0; i < works->mouth_count; i++) {
        if (works->mouths[i].is_start) {
            walk->mouth_at[works->mouths[i].link] = i;
        }
    }
}

/* Puts the mouths before `machine` into walk->found; returns how many. */
static int find_mouths(struct walk *walk, const struct works *works, int machine)
{
    const struct network *network = works->network;
    int found = 0;
    int waiting = 1;
    walk->waiting[0] = works->machines[machine].link;
    while (waiting > 0) {
        const int link = walk->waiting[--waiting];
        const struct point *point = &network->points[network->links[link].from];
        if (walk->mouth_at[link] != NETWORK_NONE) {
            walk->found[found++] = walk->mouth_at[link];
        }
        /* What is held sends no water on from elsewhere. */
        int e = point->is_held ? NETWORK_NONE : walk->into[network->links[link].from];
        for (; e != NETWORK_NONE; e = walk->before[e]) {
            if (walk->seen_by[e] != machine && !pump_is_kind(network->links[e].element)) {
                walk->seen_by[e] = machine;
                walk->waiting[waiting++] = e;
            }
        }
    }
    return found;
}

bool supply_init(struct supply *supply, const struct works *works, struct arena *arena,
                 struct failure *failure)
{
    const size_t machines = (size_t)works->machine_count;
    struct walk walk;
    supply->works = works;
    supply->rows = arena_take(arena, machines, sizeof *supply->rows);
    if (!supply->rows || !take_walk(&walk, works, arena)) {
        return fail_memory(failure, "the filling run");
    }
    begin_walk(&walk, works);
    for (int i = 0; i < works->machine_count; i++) {
        struct supply_row *row = &supply->rows[i];
        row->count = find_mouths(&walk, works, i);
        row->mouths = arena_take(arena, (size_t)row->count, sizeof *row->mouths);
        if (!row->mouths) {
            return fail_memory(failure, "the filling run");
        }
        memcpy(row->mouths, walk.found, (size_t)row->count * sizeof *row->mouths);
    }
    return true;
}

static bool is_out_of_water(const struct works *works, const struct mouth *mouth)
{
    return mouth->is_lowest ? basin_is_dry(works->basins[mouth->basin].way) : mouth->is_uncovered;
}

bool supply_is_dry(const struct supply *supply, int machine)
{
    const struct supply_row *row = &supply->rows[machine];
    for (int i = 0; i < row->count; i++) {
        if (!is_out_of_water(supply->works, &supply->works->mouths[row->mouths[i]])) {
            return false;
        }
    }
    return row->count > 0;
}
