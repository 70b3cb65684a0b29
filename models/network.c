#include "models/network.h"

#include "models/pipe.h"

#include <math.h>
#include <string.h>

static bool is_index(int index, int count)
{
    return index >= 0 && index < count;
}

static bool is_index_or_none(int index, int count)
{
    return index == NETWORK_NONE || is_index(index, count);
}

static const char *shown(const char *name)
{
    return name ? name : "(no name)";
}

static bool check_point(const struct network *network, const struct point *point,
                        struct failure *failure)
{
    if (!isfinite(point->elevation) || !isfinite(point->draw) || !isfinite(point->wanted_head) ||
        (point->is_held && !isfinite(point->held_head))) {
        return fail(failure, FAILURE_INPUT, point->place,
                    "point '%s': elevation %.6g m, draw %.6g m3/s, held head %.6g m and wanted "
                    "head %.6g m must all be finite numbers",
                    shown(point->name), point->elevation, point->draw, point->held_head,
                    point->wanted_head);
    }
    if (!is_index_or_none(point->tank, network->tank_count)) {
        return fail(failure, FAILURE_INPUT, point->place,
                    "point '%s': its tank has number %d; there are %d tanks, numbered from 0",
                    shown(point->name), point->tank, network->tank_count);
    }
    return true;
}

static bool check_link(const struct network *network, const struct link *link,
                       struct failure *failure)
{
    const char *name = shown(link->name);
    if (!is_index(link->from, network->point_count) || !is_index(link->to, network->point_count)) {
        return fail(failure, FAILURE_INPUT, link->place,
                    "link '%s': joins points %d and %d; there are %d points, numbered from 0", name,
                    link->from, link->to, network->point_count);
    }
    if (link->from == link->to) {
        return fail(failure, FAILURE_INPUT, link->place,
                    "link '%s': both its ends are point '%s'; give it two different ends", name,
                    shown(network->points[link->from].name));
    }
    if (!link->element) {
        return fail(failure, FAILURE_INPUT, link->place,
                    "link '%s': nothing says what it is; give it a part", name);
    }
    if (!(link->area > 0.0) || !isfinite(link->area)) {
        return fail(failure, FAILURE_INPUT, link->place,
                    "link '%s': bore area %.6g m2; it must be above 0", name, link->area);
    }
    if (!is_index_or_none(link->run, network->run_count)) {
        return fail(failure, FAILURE_INPUT, link->place,
                    "link '%s': its run has number %d; there are %d runs, numbered from 0", name,
                    link->run, network->run_count);
    }
    return true;
}

static bool check_tank(const struct network *network, const struct tank *tank,
                       struct failure *failure)
{
    if (!is_index(tank->point, network->point_count)) {
        return fail(failure, FAILURE_INPUT, tank->place,
                    "tank '%s': its water is point %d; there are %d points, numbered from 0",
                    shown(tank->name), tank->point, network->point_count);
    }
    if (!isfinite(tank->floor) || !isfinite(tank->brim) || !isfinite(tank->level) ||
        !isfinite(tank->area) || tank->area < 0.0) {
        return fail(failure, FAILURE_INPUT, tank->place,
                    "tank '%s': floor %.6g m, brim %.6g m, level %.6g m and area %.6g m2 must be "
                    "finite numbers, the area not below 0",
                    shown(tank->name), tank->floor, tank->brim, tank->level, tank->area);
    }
    return true;
}

static bool check_run(const struct network *network, const struct run *run, struct failure *failure)
{
    if (!is_index(run->from, network->point_count) || !is_index(run->to, network->point_count)) {
        return fail(failure, FAILURE_INPUT, run->place,
                    "run '%s': goes from point %d to point %d; there are %d points, numbered from "
                    "0",
                    shown(run->name), run->from, run->to, network->point_count);
    }
    if (run->link_count < 0 || run->first_link < 0 ||
        run->first_link > network->link_count - run->link_count) {
        return fail(failure, FAILURE_INPUT, run->place,
                    "run '%s': has %d links from number %d; there are %d links, numbered from 0",
                    shown(run->name), run->link_count, run->first_link, network->link_count);
    }
    return true;
}

bool network_check(const struct network *network, struct failure *failure)
{
    for (int i = 0; i < network->point_count; i++) {
        if (!check_point(network, &network->points[i], failure)) {
            return false;
        }
    }
    for (int i = 0; i < network->link_count; i++) {
        if (!check_link(network, &network->links[i], failure)) {
            return false;
        }
    }
    for (int i = 0; i < network->tank_count; i++) {
        if (!check_tank(network, &network->tanks[i], failure)) {
            return false;
        }
    }
    for (int i = 0; i < network->run_count; i++) {
        if (!check_run(network, &network->runs[i], failure)) {
            return false;
        }
    }
    return true;
}

static void *copy_array(struct arena *arena, const void *array, int count, size_t size)
{
    void *copy = arena_take(arena, (size_t)count, size);
    if (copy && count > 0) {
        memcpy(copy, array, (size_t)count * size);
    }
    return copy;
}

struct network *network_copy(const struct network *network, struct arena *arena)
{
    struct network *copy = copy_array(arena, network, 1, sizeof *copy);
    if (!copy) {
        return NULL;
    }
    copy->points =
        copy_array(arena, network->points, network->point_count, sizeof *network->points);
    copy->links = copy_array(arena, network->links, network->link_count, sizeof *network->links);
    copy->tanks = copy_array(arena, network->tanks, network->tank_count, sizeof *network->tanks);
    copy->runs = copy_array(arena, network->runs, network->run_count, sizeof *network->runs);
    if (!copy->points || !copy->links || !copy->tanks || !copy->runs) {
        return NULL;
    }
    return copy;
}

bool network_leads_to(const struct network *network, int link, int target)
{
    const int index = network->links[target].run;
    const struct run *run = index == NETWORK_NONE ? NULL : &network->runs[index];
    if (!run || (network->links[link].run == index && link < target)) {
        return run;
    }
    for (const struct run *at = run->before; at; at = at->before) {
        if (link >= at->first_link && link < at->first_link + at->link_count) {
            return true;
        }
    }
    return false;
}

static double pipe_volume(const struct network *network, int first, int end)
{
    double volume = 0.0;
    for (int i = first; i < end; i++) {
        const struct link *link = &network->links[i];
        const struct pipe *pipe = link->element->pipe ? link->element->pipe(link->data) : NULL;
        volume += pipe ? pipe_area(pipe) * pipe->friction.length : 0.0;
    }
    return volume;
}

double network_volume_before(const struct network *network, int target)
{
    const int index = network->links[target].run;
    if (index == NETWORK_NONE) {
        return 0.0;
    }
    const struct run *run = &network->runs[index];
    double volume = pipe_volume(network, run->first_link, target);
    for (const struct run *at = run->before; at; at = at->before) {
        volume += pipe_volume(network, at->first_link, at->first_link + at->link_count);
    }
    return volume;
}

static bool is_called(const char *name, const char *wanted)
{
    return name && strcmp(name, wanted) == 0;
}

int network_find_link(const struct network *network, const char *name)
{
    for (int i = 0; i < network->link_count; i++) {
        if (is_called(network->links[i].name, name)) {
            return i;
        }
    }
    return NETWORK_NONE;
}

int network_find_point(const struct network *network, const char *name)
{
    for (int i = 0; i < network->point_count; i++) {
        if (is_called(network->points[i].name, name)) {
            return i;
        }
    }
    return NETWORK_NONE;
}

int network_find_tank(const struct network *network, const char *name)
{
    for (int i = 0; i < network->tank_count; i++) {
        if (is_called(network->tanks[i].name, name)) {
            return i;
        }
    }
    return NETWORK_NONE;
}
