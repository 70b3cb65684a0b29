#include "solver/surge/groups.h"

#include "solver/surge/cavity.h"

#include <assert.h>
#include <math.h>
#include <stddef.h>

/* Wave speed, m/s, by which flow is weighed in a group that touches no pipe. */
static const double plain_wave_speed = 100.0;

/* --- which points belong together --- */

static int find_root(int parent[], int i)
{
    while (parent[i] != i) {
        parent[i] = parent[parent[i]];
        i = parent[i];
    }
    return i;
}

static bool is_lumped(const struct groups *groups, int link)
{
    const struct grid *grid = groups->grid;
    const int stub = grid->stub_of_link[link];
    return grid->pipe_of_link[link] == NETWORK_NONE &&
           (stub == NETWORK_NONE || groups->stubs[stub].delay == 0);
}

/* A point of the lumped link that is not held, or NETWORK_NONE. */
static int free_end(const struct network *network, const struct lumped *lumped)
{
    if (lumped->link == NETWORK_NONE) {
        return lumped->point;
    }
    const struct link *link = &network->links[lumped->link];
    if (!network->points[link->from].is_held) {
        return link->from;
    }
    return network->points[link->to].is_held ? NETWORK_NONE : link->to;
}

static void join_points(const struct groups *groups, int parent[])
{
    const struct network *network = groups->network;
    for (int i = 0; i < network->point_count; i++) {
        parent[i] = i;
    }
    for (int i = 0; i < network->link_count; i++) {
        const struct link *link = &network->links[i];
        if (is_lumped(groups, i) && !network->points[link->from].is_held &&
            !network->points[link->to].is_held) {
            parent[find_root(parent, link->from)] = find_root(parent, link->to);
        }
    }
}

/* --- building --- */

/* Scratch of the building. */
struct building {
    int *parent;              /* [point_count] */
    int *group_of;            /* [point_count] of its root */
    int *place;               /* [point_count] among its group's points */
    int *points;              /* [point_count] by group */
    int lonely;               /* the first group without points */
    struct group_link *links; /* [lumped_count] by group */
};

/* Counts points and links of every group; a link between two held points is one of its own. */
static void count_groups(struct groups *groups, struct building *building)
{
    const struct network *network = groups->network;
    for (int i = 0; i < network->point_count; i++) {
        building->group_of[i] = NETWORK_NONE;
    }
    for (int i = 0; i < network->point_count; i++) {
        if (network->points[i].is_held) {
            continue;
        }
        int root = find_root(building->parent, i);
        if (building->group_of[root] == NETWORK_NONE) {
            building->group_of[root] = groups->group_count++;
        }
        groups->groups[building->group_of[root]].point_count++;
    }
    building->lonely = groups->group_count;
    for (int i = 0; i < groups->lumped_count; i++) {
        int end = free_end(network, &groups->lumped[i]);
        if (end == NETWORK_NONE) {
            groups->groups[groups->group_count++].link_count = 1;
        } else {
            groups->groups[building->group_of[find_root(building->parent, end)]].link_count++;
        }
    }
}

static struct group_link make_link(const struct groups *groups, const struct building *building,
                                   struct lumped *lumped)
{
    const struct network *network = groups->network;
    if (lumped->link == NETWORK_NONE) {
        return (struct group_link){
            .lumped = lumped,
            .from = GROUP_HELD,
            .to = building->place[lumped->point],
            .held_from = network->points[lumped->point].elevation + groups->vapour,
            .coupled = NETWORK_NONE,
        };
    }
    const struct link *link = &network->links[lumped->link];
    const struct point *from = &network->points[link->from];
    const struct point *to = &network->points[link->to];
    return (struct group_link){
        .lumped = lumped,
        .from = from->is_held ? GROUP_HELD : building->place[link->from],
        .to = to->is_held ? GROUP_HELD : building->place[link->to],
        .held_from = from->held_head,
        .held_to = to->held_head,
        .coupled = NETWORK_NONE,
    };
}

/* Gives each group its stretch of points and links and fills them, cavities last. */
static void fill_groups(struct groups *groups, struct building *building)
{
    const struct network *network = groups->network;
    int *points = building->points;
    struct group_link *links = building->links;
    for (int i = 0; i < groups->group_count; i++) {
        struct group *group = &groups->groups[i];
        group->points = points;
        group->links = links;
        points += group->point_count;
        links += group->link_count;
        group->point_count = 0;
        group->link_count = 0;
    }
    for (int i = 0; i < network->point_count; i++) {
        if (!network->points[i].is_held) {
            struct group *group =
                &groups->groups[building->group_of[find_root(building->parent, i)]];
            building->place[i] = group->point_count++;
            building->points[group->points - building->points + building->place[i]] = i;
        }
    }
    int lonely = building->lonely;
    for (int i = 0; i < groups->lumped_count; i++) {
        int end = free_end(network, &groups->lumped[i]);
        struct group *group =
            end == NETWORK_NONE
                ? &groups->groups[lonely++]
                : &groups->groups[building->group_of[find_root(building->parent, end)]];
        group->links[group->link_count++] = make_link(groups, building, &groups->lumped[i]);
    }
}

/* The place of a network's link among the coupled laws of a group. */
static int find_law(const struct group *group, int link)
{
    int place = 0;
    while (group->links[group->laws[place].link].lumped->link != link) {
        place++;
        assert(place < group->law_count);
    }
    return place;
}

static void find_partners(const struct group *group, struct group_law *law)
{
    const struct lumped *lumped = group->links[law->link].lumped;
    const struct coupling *coupling = lumped->element->coupling;
    int links[COUPLING_PARTNER_MAX];
    law->partner_count = coupling->partner_count;
    if (coupling->partner_count > 0) {
        coupling->partners(lumped->data, links);
    }
    for (int i = 0; i < coupling->partner_count; i++) {
        law->partner[i] = find_law(group, links[i]);
    }
}

/* The coupled laws of all groups, which share out `laws`. The largest group with any gets its
 * scratch. */
static bool find_laws(struct groups *groups, struct group_law *laws, struct arena *arena,
                      struct failure *failure)
{
    struct group most = {0};
    for (int i = 0; i < groups->group_count; i++) {
        struct group *group = &groups->groups[i];
        group->laws = laws;
        for (int k = 0; k < group->link_count; k++) {
            if (group->links[k].lumped->element->coupling != NULL) {
                group->links[k].coupled = group->law_count;
                group->laws[group->law_count++].link = k;
            }
        }
        for (int k = 0; k < group->law_count; k++) {
            find_partners(group, &group->laws[k]);
        }
        laws += group->law_count;
        if (group->law_count > 0) {
            group_coupled_widen(&most, group);
        }
    }
    return group_coupled_work_init(&groups->coupled_work, &most, arena, failure);
}

static double find_impedance(const struct groups *groups, const struct group *group, double gravity)
{
    double largest = 0.0;
    for (int i = 0; i < group->point_count; i++) {
        largest = fmax(largest, ends_impedance(&groups->ends, groups->kernel, group->points[i]));
    }
    for (int i = 0; i < group->link_count && largest <= 0.0; i++) {
        int link = group->links[i].lumped->link;
        if (link != NETWORK_NONE) {
            largest = plain_wave_speed / (gravity * groups->network->links[link].area);
        }
    }
    return largest > 0.0 ? largest : 1.0;
}

/* Of its cavities, the last of its links. */
static void find_least_cavities(struct groups *groups, const struct group *group)
{
    for (int k = group->link_count - group->point_count; k < group->link_count; k++) {
        const int64_t cavity = group->links[k].lumped - &groups->lumped[groups->cavity_first];
        groups->least_cavity[cavity] = cavity_least(groups->grid->step, group->impedance);
    }
}

static bool find_chains(struct groups *groups, struct arena *arena, struct failure *failure)
{
    for (int i = 0; i < groups->group_count; i++) {
        struct group *group = &groups->groups[i];
        if (!group_chain_find(&group->chain, group, groups->network, &groups->ends, arena,
                              failure)) {
            return false;
        }
    }
    return true;
}

static bool build_groups(struct groups *groups, const struct water *water, struct arena *arena,
                         struct failure *failure)
{
    size_t points = (size_t)groups->network->point_count;
    size_t lumped = (size_t)groups->lumped_count;
    struct building building = {
        .parent = arena_take(arena, points, sizeof *building.parent),
        .group_of = arena_take(arena, points, sizeof *building.group_of),
        .place = arena_take(arena, points, sizeof *building.place),
        .points = arena_take(arena, points, sizeof *building.points),
        .links = arena_take(arena, lumped, sizeof *building.links),
    };
    groups->groups = arena_take(arena, points + lumped, sizeof *groups->groups);
    groups->least_cavity = arena_take(arena, points, sizeof *groups->least_cavity);
    struct group_law *laws = arena_take(arena, lumped, sizeof *laws);
    if (laws == NULL || building.parent == NULL || building.group_of == NULL ||
        building.place == NULL || building.points == NULL || building.links == NULL ||
        groups->groups == NULL || groups->least_cavity == NULL) {
        return fail_memory(failure, "surge groups");
    }
    join_points(groups, building.parent);
    count_groups(groups, &building);
    fill_groups(groups, &building);
    int most_points = 0;
    int most_links = 0;
    for (int i = 0; i < groups->group_count; i++) {
        struct group *group = &groups->groups[i];
        group->impedance = find_impedance(groups, group, water->gravity);
        find_least_cavities(groups, group);
        most_points = group->point_count > most_points ? group->point_count : most_points;
        most_links = group->link_count > most_links ? group->link_count : most_links;
    }
    return find_laws(groups, laws, arena, failure) && find_chains(groups, arena, failure) &&
           group_work_init(&groups->work, most_points, most_links, arena, failure) &&
           enclosed_work_init(&groups->enclosed_work, most_points, most_links, arena, failure);
}

static void find_enclosing(struct groups *groups)
{
    for (int i = 0; i < groups->group_count; i++) {
        groups->groups[i].may_enclose =
            enclosed_can_be(&groups->groups[i], &groups->ends, &groups->enclosed_work);
    }
}

static void start_lumped(struct groups *groups, const struct water *water,
                         const struct steady *start)
{
    for (int i = 0; i < groups->network->link_count; i++) {
        const struct link *link = &groups->network->links[i];
        groups->lumped_of_link[i] = NETWORK_NONE;
        if (!is_lumped(groups, i)) {
            continue;
        }
        groups->lumped_of_link[i] = groups->lumped_count;
        struct lumped *lumped = &groups->lumped[groups->lumped_count++];
        lumped->link = i;
        lumped->point = NETWORK_NONE;
        const int stub = groups->grid->stub_of_link[i];
        lumped->series = stub == NETWORK_NONE ? 0.0 : stub_series(&groups->stubs[stub]);
        lumped->going = start->flow[i];
        lumped_start(lumped, link, water, start->flow[i], start->head[link->from],
                     start->head[link->to]);
    }
}

static bool start_stubs(struct groups *groups, const struct surge_plan *plan,
                        const struct steady *start, struct arena *arena, struct failure *failure)
{
    const struct grid *grid = groups->grid;
    groups->stubs = arena_take(arena, (size_t)grid->stub_count, sizeof *groups->stubs);
    if (groups->stubs == NULL) {
        return fail_memory(failure, "surge stubs");
    }
    for (int i = 0; i < grid->stub_count; i++) {
        const int number = grid->stub[i];
        const struct link *link = &groups->network->links[number];
        const struct stub_wishes wishes = {
            .link = link,
            .water = groups->water,
            .is_friction_unsteady = plan->is_friction_unsteady,
            .is_wall_creeping = plan->is_wall_creeping,
            .step = grid->step,
            .head_start = groups->head[link->from],
            .flow = start->flow[number],
        };
        if (!stub_init(&groups->stubs[i], &wishes, arena, failure)) {
            return false;
        }
    }
    return true;
}

/* A cavity at every free point; with gas where pipes with gas end. */
static bool start_cavities(struct groups *groups, const struct water *water, struct arena *arena,
                           struct failure *failure)
{
    const struct network *network = groups->network;
    struct gas_pocket *pockets = arena_take(arena, (size_t)network->point_count, sizeof *pockets);
    if (pockets == NULL) {
        return fail_memory(failure, "surge groups");
    }
    groups->cavity_first = groups->lumped_count;
    groups->vapour = water_vapour_head(water);
    for (int i = 0; i < network->point_count; i++) {
        if (network->points[i].is_held) {
            continue;
        }
        pockets[i].gas = ends_gas(&groups->ends, groups->kernel, i);
        const struct link nowhere = {
            .element = pockets[i].gas > 0.0 ? &gas_cavity_element : &cavity_element,
            .data = &pockets[i],
        };
        struct lumped *lumped = &groups->lumped[groups->lumped_count++];
        lumped->link = NETWORK_NONE;
        lumped->point = i;
        lumped_start(lumped, &nowhere, water, 0.0, network->points[i].elevation + groups->vapour,
                     groups->head[i]);
    }
    return true;
}

bool groups_init(struct groups *groups, const struct site *site, const struct network *network,
                 const struct grid *grid, struct kernel *kernel, const struct steady *start,
                 struct arena *arena, struct failure *failure)
{
    const struct water *water = &site->water;
    *groups = (struct groups){.network = network, .water = water, .grid = grid, .kernel = kernel};
    size_t links = (size_t)network->link_count;
    size_t points = (size_t)network->point_count;
    groups->lumped = arena_take(arena, links + points, sizeof *groups->lumped);
    groups->lumped_of_link = arena_take(arena, links, sizeof *groups->lumped_of_link);
    groups->head = arena_take(arena, points, sizeof *groups->head);
    groups->head_before = arena_take(arena, points, sizeof *groups->head_before);
    groups->is_enclosed = arena_take(arena, points, sizeof *groups->is_enclosed);
    if (groups->lumped == NULL || groups->lumped_of_link == NULL || groups->head == NULL ||
        groups->head_before == NULL || groups->is_enclosed == NULL) {
        return fail_memory(failure, "surge groups");
    }
    for (int i = 0; i < network->point_count; i++) {
        const struct point *point = &network->points[i];
        groups->head[i] = point->is_held ? point->held_head : start->head[i];
    }
    if (!start_stubs(groups, &site->surge, start, arena, failure)) {
        return false;
    }
    start_lumped(groups, water, start);
    if (!ends_init(&groups->ends, network, grid, groups->stubs, arena, failure) ||
        !start_cavities(groups, water, arena, failure) ||
        !build_groups(groups, water, arena, failure)) {
        return false;
    }
    find_enclosing(groups);
    return true;
}

double groups_flow(const struct groups *groups, int link)
{
    const int pipe = groups->grid->pipe_of_link[link];
    const int stub = groups->grid->stub_of_link[link];
    if (stub != NETWORK_NONE) {
        return groups->stubs[stub].flow_end;
    }
    if (pipe == NETWORK_NONE) {
        return groups->lumped[groups->lumped_of_link[link]].flow;
    }
    return kernel_flow(groups->kernel, pipe, groups->grid->reaches[pipe]);
}

double groups_flow_at_start(const struct groups *groups, int link)
{
    const int pipe = groups->grid->pipe_of_link[link];
    const int stub = groups->grid->stub_of_link[link];
    if (stub != NETWORK_NONE) {
        return groups->stubs[stub].flow_start;
    }
    return pipe == NETWORK_NONE ? groups_flow(groups, link) : kernel_flow(groups->kernel, pipe, 0);
}
