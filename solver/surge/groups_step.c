/* A step of all groups (solver/surge/groups.h).
 *
 * Each free point has a cavity, and nearly all are shut nearly always. So a group whose cavities
 * are shut is solved without them, and again with them only where a head would be below boiling. */
#include "solver/surge/cavity.h"
#include "solver/surge/groups.h"

#include <math.h>
#include <stddef.h>
#include <string.h>

/* When a step ends, and how long it is, s. */
struct moment {
    double time;
    double step;
};

/* Head from - head to across a link of a group, now. */
static double find_difference(const struct groups *groups, const struct group *group,
                              const struct group_link *link)
{
    double from =
        link->from == GROUP_HELD ? link->held_from : groups->head[group->points[link->from]];
    double to = link->to == GROUP_HELD ? link->held_to : groups->head[group->points[link->to]];
    return from - to;
}

/* --- cavities of a group: the last of its links, one for each point --- */

static int count_others(const struct group *group)
{
    return group->link_count - group->point_count;
}

/* Whether all are of vapour and empty; they then let nothing flow. */
static bool are_shut(const struct group *group)
{
    for (int i = count_others(group); i < group->link_count; i++) {
        const struct lumped *cavity = group->links[i].lumped;
        if (cavity->element != &cavity_element || cavity->old[CAVITY_STATE_VOLUME] > 0.0) {
            return false;
        }
    }
    return true;
}

/* Whether any would open at the present heads. */
static bool does_one_open(const struct groups *groups, const struct group *group)
{
    for (int i = count_others(group); i < group->link_count; i++) {
        if (!(find_difference(groups, group, &group->links[i]) <= 0.0)) {
            return true;
        }
    }
    return false;
}

static void leave_out(struct group *group)
{
    group->has_cavities = false;
    for (int i = count_others(group); i < group->link_count; i++) {
        group->links[i].lumped->flow = 0.0;
    }
}

static void take_in(struct group *group, const struct moment *moment)
{
    group->has_cavities = true;
    for (int i = count_others(group); i < group->link_count; i++) {
        lumped_begin(group->links[i].lumped, moment->time, moment->step, 1.0);
    }
}

/* --- a group --- */

static bool settle_group(const struct groups *groups, const struct group *group)
{
    bool again = false;
    for (int i = 0; i < count_others(group); i++) {
        const struct group_link *link = &group->links[i];
        again = lumped_settle(link->lumped, find_difference(groups, group, link)) || again;
    }
    return again;
}

/* How a group was solved. */
struct answer {
    bool is_solved;
    bool is_chain; /* as one, so that none of its points is enclosed */
    double missed; /* m */
};

/* Solves a group by the way its laws ask for. */
static struct answer solve_group(struct groups *groups, const struct group *group)
{
    const struct group_place place = {groups->network, &groups->ends, groups->kernel, groups->head};
    struct answer answer = {.is_chain = group->chain != NULL && !group->has_cavities};
    if (answer.is_chain &&
        group_chain_solve(group->chain, &place, group->impedance, &answer.missed)) {
        answer.is_solved = true;
        return answer;
    }
    answer.is_chain = false;
    struct group part = *group;
    part.link_count = group->has_cavities ? group->link_count : count_others(group);
    if (part.law_count > 0) {
        answer.is_solved = group_coupled_solve(&part, &place, &groups->coupled_work);
        answer.missed = groups->coupled_work.missed;
    } else {
        answer.is_solved = group_solve(&part, &place, &groups->work);
        answer.missed = groups->work.missed;
    }
    return answer;
}

/* Heads that no law tells stay what they were. */
static void keep_enclosed(struct groups *groups, const struct group *group, double missed)
{
    const struct group_place place = {groups->network, &groups->ends, groups->kernel, groups->head};
    const struct coupled_law *law = group->law_count > 0 ? groups->coupled_work.law : NULL;
    if (group->may_enclose) {
        enclosed_settle(group, &place, law, missed, groups->head_before, &groups->enclosed_work,
                        groups->is_enclosed);
    }
}

/* Back to heads and flows before the step, as far as spans let them be. */
static void go_back(const struct groups *groups, const struct group *group)
{
    for (int i = 0; i < group->point_count; i++) {
        groups->head[group->points[i]] = groups->head_before[group->points[i]];
    }
    for (int i = 0; i < count_others(group); i++) {
        struct lumped *lumped = group->links[i].lumped;
        lumped->flow = fmin(fmax(lumped->flow_before, lumped->span.lower), lumped->span.upper);
    }
}

static bool step_group(struct groups *groups, struct group *group, const struct moment *moment)
{
    if (are_shut(group)) {
        leave_out(group);
    } else {
        take_in(group, moment);
    }
    /* Each valve may meet its seat once in a step, and be lifted once; and cavities taken in. */
    const int rounds = 2 * group->link_count + 3;
    for (int i = 0; i < rounds; i++) {
        const struct answer answer = solve_group(groups, group);
        if (!group->has_cavities && (!answer.is_solved || does_one_open(groups, group))) {
            take_in(group, moment);
            if (!answer.is_solved) {
                go_back(groups, group);
            }
            continue;
        }
        groups->missed = fmax(groups->missed, answer.missed);
        if (!answer.is_solved) {
            return false;
        }
        if (!answer.is_chain) {
            keep_enclosed(groups, group, answer.missed);
        }
        if (!settle_group(groups, group)) {
            return true;
        }
    }
    return false;
}

/* A point to tell of a group without an answer. */
static int point_of_group(const struct groups *groups, const struct group *group)
{
    return group->point_count > 0 ? group->points[0]
                                  : groups->network->links[group->links[0].lumped->link].from;
}

/* --- all of them --- */

static void begin_links(struct groups *groups, const struct moment *moment, const double setting[])
{
    for (int i = 0; i < groups->cavity_first; i++) {
        struct lumped *lumped = &groups->lumped[i];
        if (lumped->series > 0.0) {
            lumped->going = stub_going(&groups->stubs[groups->grid->stub_of_link[lumped->link]]);
        }
        lumped_begin(lumped, moment->time, moment->step, setting[lumped->link]);
    }
}

static void end_stubs(struct groups *groups)
{
    for (int i = 0; i < groups->grid->stub_count; i++) {
        const int number = groups->grid->stub[i];
        const struct link *link = &groups->network->links[number];
        const int lumped = groups->lumped_of_link[number];
        stub_step(&groups->stubs[i], groups->head[link->from], groups->head[link->to],
                  lumped == NETWORK_NONE ? 0.0 : groups->lumped[lumped].flow);
    }
}

static void end_links(struct groups *groups)
{
    for (int i = 0; i < groups->cavity_first; i++) {
        lumped_end(&groups->lumped[i]);
    }
    for (int i = 0; i < groups->group_count; i++) {
        const struct group *group = &groups->groups[i];
        for (int k = count_others(group); group->has_cavities && k < group->link_count; k++) {
            lumped_end(group->links[k].lumped);
        }
    }
}

int groups_step(struct groups *groups, double time, double step, const double setting[])
{
    const struct moment moment = {time, step};
    const size_t points = (size_t)groups->network->point_count;
    memcpy(groups->head_before, groups->head, points * sizeof *groups->head);
    begin_links(groups, &moment, setting);
    for (int i = 0; i < groups->group_count; i++) {
        struct group *group = &groups->groups[i];
        if (!step_group(groups, group, &moment)) {
            return point_of_group(groups, group);
        }
    }
    for (int i = 0; i < groups->network->point_count; i++) {
        ends_enter(&groups->ends, groups->kernel, i, groups->head[i]);
    }
    end_stubs(groups);
    end_links(groups);
    return NETWORK_NONE;
}
