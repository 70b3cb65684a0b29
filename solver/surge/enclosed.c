#include "solver/surge/enclosed.h"

#include "solver/surge/cavity.h"

#include <math.h>
#include <stddef.h>

/* Of (1 m + the largest head) / impedance: a flow below this is what solving a group leaves, where
 * it missed no law by more. */
static const double trace = 1e-12;

/* Of 1 m + a head: a smaller move of it is none. */
static const double round_off = 1e-13;

/* From heads that a singular system has thrown off, too, to the last digit. */
enum { HALVINGS = 100 };

/* How a link stands. */
enum enclosed_shut {
    ENCLOSED_OPEN,  /* heads at its ends hang together */
    ENCLOSED_LOWER, /* at the least flow of its span: its difference may fall */
    ENCLOSED_UPPER, /* at the most: it may rise */
    ENCLOSED_FIXED, /* both: a seat that no head opens within the step */
    ENCLOSED_LAW    /* a coupled law that lets nothing through and does not join its heads */
};

bool enclosed_work_init(struct enclosed_work *work, int point_count, int link_count,
                        struct arena *arena, struct failure *failure)
{
    work->parent = arena_take(arena, (size_t)point_count, sizeof *work->parent);
    work->is_known = arena_take(arena, (size_t)point_count, sizeof *work->is_known);
    work->shut = arena_take(arena, (size_t)link_count, sizeof *work->shut);
    if (work->parent == NULL || work->is_known == NULL || work->shut == NULL) {
        return fail_memory(failure, "surge groups");
    }
    return true;
}

/* --- who may be enclosed --- */

static bool can_shut(const struct group_link *link)
{
    const struct lumped *lumped = link->lumped;
    const struct motion *motion = lumped->element->motion;
    if (link->coupled != NETWORK_NONE) {
        return true;
    }
    if (motion != NULL && motion->span != NULL) {
        return !motion->never_shuts;
    }
    if (lumped->element->span == NULL) {
        return false;
    }
    const struct span span = lumped->element->span(lumped->data, lumped->now.water);
    return isfinite(span.lower) || isfinite(span.upper);
}

/* Marks the end of a link as known if its other one is; whether that is new. */
static bool pass_on(const struct group_link *link, bool is_known[])
{
    const bool from = link->from == GROUP_HELD || is_known[link->from];
    const bool to = link->to == GROUP_HELD || is_known[link->to];
    if (from == to) {
        return false;
    }
    is_known[from ? link->to : link->from] = true;
    return true;
}

bool enclosed_can_be(const struct group *group, const struct ends *ends, struct enclosed_work *work)
{
    for (int i = 0; i < group->point_count; i++) {
        work->is_known[i] = ends_meet(ends, group->points[i]);
    }
    bool is_new = true;
    while (is_new) {
        is_new = false;
        for (int k = 0; k < group->link_count; k++) {
            const struct group_link *link = &group->links[k];
            is_new = (!can_shut(link) && pass_on(link, work->is_known)) || is_new;
        }
    }
    for (int i = 0; i < group->point_count; i++) {
        if (!work->is_known[i]) {
            return true;
        }
    }
    return false;
}

/* --- who is enclosed --- */

static double difference_of(const struct group *group, const struct group_place *place,
                            const struct group_link *link)
{
    return group_head_at(group, place, link->from, link->held_from) -
           group_head_at(group, place, link->to, link->held_to);
}

/* A cavity that was left out of the group's solution, being shut. */
static bool is_left_out(const struct group *group, const struct group_link *link)
{
    return !group->has_cavities && link->lumped->element == &cavity_element;
}

static enum enclosed_shut find_shut(const struct group *group, const struct group_link *link,
                                    const struct coupled_law law[], double least)
{
    const struct lumped *lumped = link->lumped;
    if (link->coupled != NETWORK_NONE) {
        const struct coupled_law *here = &law[link->coupled];
        const bool is_by_from = here->by_head_from < 0.0 || here->by_head_from > 0.0;
        const bool is_by_to = here->by_head_to < 0.0 || here->by_head_to > 0.0;
        const bool is_joining = is_by_from && is_by_to;
        return is_joining || fabs(lumped->flow) > least ? ENCLOSED_OPEN : ENCLOSED_LAW;
    }
    if (is_left_out(group, link)) {
        return ENCLOSED_LOWER;
    }
    const bool is_lower = lumped->flow <= lumped->span.lower + least;
    const bool is_upper = lumped->flow >= lumped->span.upper - least;
    if (is_lower && is_upper) {
        return ENCLOSED_FIXED;
    }
    return is_lower ? ENCLOSED_LOWER : is_upper ? ENCLOSED_UPPER : ENCLOSED_OPEN;
}

static int find_root(int parent[], int i)
{
    while (parent[i] != i) {
        parent[i] = parent[parent[i]];
        i = parent[i];
    }
    return i;
}

/* Joins points by open links, the lowest number standing for all. */
static void join(const struct group *group, const struct group_place *place,
                 struct enclosed_work *work)
{
    for (int i = 0; i < group->point_count; i++) {
        work->parent[i] = i;
        work->is_known[i] = false;
    }
    for (int k = 0; k < group->link_count; k++) {
        const struct group_link *link = &group->links[k];
        if (work->shut[k] == ENCLOSED_OPEN && link->from != GROUP_HELD && link->to != GROUP_HELD) {
            const int one = find_root(work->parent, link->from);
            const int other = find_root(work->parent, link->to);
            work->parent[one > other ? one : other] = one > other ? other : one;
        }
    }
    for (int i = 0; i < group->point_count; i++) {
        if (ends_meet(place->ends, group->points[i])) {
            work->is_known[find_root(work->parent, i)] = true;
        }
    }
    for (int k = 0; k < group->link_count; k++) {
        const struct group_link *link = &group->links[k];
        const bool is_held = link->from == GROUP_HELD || link->to == GROUP_HELD;
        const int end = link->from == GROUP_HELD ? link->to : link->from;
        if (work->shut[k] == ENCLOSED_OPEN && is_held && end != GROUP_HELD) {
            work->is_known[find_root(work->parent, end)] = true;
        }
    }
}

/* --- their heads --- */

static bool is_in(struct enclosed_work *work, int end, int root)
{
    return end != GROUP_HELD && find_root(work->parent, end) == root;
}

/* How far, m, all heads of an enclosed part may be moved. */
struct way {
    double down; /* <= 0 where the present heads keep all laws */
    double up;
};

/* What one of the shut links around it leaves of the way. */
static void narrow(struct way *way, const struct group *group, const struct group_place *place,
                   struct enclosed_work *work, int k, bool is_from)
{
    const struct group_link *link = &group->links[k];
    const enum enclosed_shut shut = (enum enclosed_shut)work->shut[k];
    if (shut != ENCLOSED_LOWER && shut != ENCLOSED_UPPER) {
        return;
    }
    struct lumped *lumped = link->lumped;
    double needed = 0.0;
    if (!is_left_out(group, link)) {
        const bool is_lower = shut == ENCLOSED_LOWER;
        lumped->flow = is_lower ? lumped->span.lower : lumped->span.upper;
        lumped->drop = lumped_drop(lumped, lumped->flow);
        needed = lumped->drop.head;
    }
    const double left = needed - difference_of(group, place, link);
    /* At the lower end the difference may not be above `needed`, at the upper not below. */
    if ((shut == ENCLOSED_LOWER) == is_from) {
        way->up = fmin(way->up, is_from ? left : -left);
    } else {
        way->down = fmax(way->down, is_from ? left : -left);
    }
}

/* Brings an enclosed part to `head` at its first point; the others stand to that as they do. */
static void bring(const struct group *group, const struct group_place *place,
                  struct enclosed_work *work, int root, double head)
{
    double *const first = &place->head[group->points[root]];
    for (int i = root + 1; i < group->point_count; i++) {
        if (find_root(work->parent, i) == root) {
            place->head[group->points[i]] = head + (place->head[group->points[i]] - *first);
        }
    }
    *first = head;
}

/* Whether the coupled laws of links at an enclosed part hold as well as the group's solution has
 * them; their states follow. */
static bool keep_laws(const struct group *group, const struct group_place *place,
                      struct enclosed_work *work, int root)
{
    bool are_kept = true;
    for (int c = 0; c < group->law_count; c++) {
        const struct group_link *link = &group->links[group->laws[c].link];
        if (is_in(work, link->from, root) || is_in(work, link->to, root)) {
            const double largest =
                fmax(fabs(group_head_at(group, place, link->from, link->held_from)),
                     fabs(group_head_at(group, place, link->to, link->held_to)));
            const double missed = fabs(group_coupled_law(group, place, c).value);
            are_kept = missed <= fmax(trace * (1.0 + largest), work->missed) && are_kept;
        }
    }
    return are_kept;
}

/* From where coupled laws hold towards where they do not, as far as they do. */
static void approach(const struct group *group, const struct group_place *place,
                     struct enclosed_work *work, int root, double good, double bad)
{
    for (int i = 0; i < HALVINGS; i++) {
        const double middle = 0.5 * (good + bad);
        bring(group, place, work, root, middle);
        if (keep_laws(group, place, work, root)) {
            good = middle;
        } else {
            bad = middle;
        }
    }
    bring(group, place, work, root, good);
    (void)keep_laws(group, place, work, root);
}

/* Brings an enclosed part back to its head before the step, as far as the links around it let it.
 * Whether it has moved. */
static bool keep_heads(const struct group *group, const struct group_place *place,
                       struct enclosed_work *work, int root, const double before[])
{
    struct way way = {-INFINITY, INFINITY};
    for (int k = 0; k < group->link_count; k++) {
        const bool is_from = is_in(work, group->links[k].from, root);
        if (is_from != is_in(work, group->links[k].to, root)) {
            narrow(&way, group, place, work, k, is_from);
        }
    }
    const int point = group->points[root];
    const double found = place->head[point];
    if (way.down <= way.up) {
        const double wanted = fmin(fmax(before[point], found + way.down), found + way.up);
        bring(group, place, work, root, wanted);
        if (!keep_laws(group, place, work, root)) {
            approach(group, place, work, root, found, wanted);
        }
    }
    return fabs(place->head[point] - found) > round_off * (1.0 + fabs(before[point]));
}

/* All enclosed parts, over and over: one may be in another's way until that has moved too. */
static void keep_all(const struct group *group, const struct group_place *place,
                     struct enclosed_work *work, const double before[])
{
    bool has_moved = true;
    for (int i = 0; i <= group->point_count && has_moved; i++) {
        has_moved = false;
        for (int root = 0; root < group->point_count; root++) {
            if (work->parent[root] == root && !work->is_known[root]) {
                has_moved = keep_heads(group, place, work, root, before) || has_moved;
            }
        }
    }
}

void enclosed_settle(const struct group *group, const struct group_place *place,
                     const struct coupled_law law[], double missed, const double before[],
                     struct enclosed_work *work, bool is_enclosed[])
{
    bool is_any = false;
    work->missed = missed;
    double scale = 1.0;
    for (int i = 0; i < group->point_count; i++) {
        scale = fmax(scale, 1.0 + fabs(place->head[group->points[i]]));
    }
    const double least = fmax(trace * scale, group->point_count * missed) / group->impedance;
    for (int k = 0; k < group->link_count; k++) {
        work->shut[k] = (signed char)find_shut(group, &group->links[k], law, least);
        is_any = is_any || (work->shut[k] != ENCLOSED_OPEN &&
                            group->links[k].lumped->element != &cavity_element);
    }
    if (!is_any) {
        return;
    }
    join(group, place, work);
    keep_all(group, place, work, before);
    for (int i = 0; i < group->point_count; i++) {
        if (!work->is_known[find_root(work->parent, i)]) {
            is_enclosed[group->points[i]] = true;
        }
    }
}
