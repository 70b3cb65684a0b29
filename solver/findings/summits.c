/* Summits: mains that go over one and end in the air below it.
 * When the pumps stop, what stands beyond the summit runs out at the mouth as soon as air gets in,
 * and the next start fills it again before water comes. */
#include "models/air_valve.h"
#include "models/pipe.h"
#include "solver/findings/rules.h"

#include <math.h>

static const struct finding RUNS_DRY = {
    .level = FINDING_NOTE,
    .rule = "dry beyond a summit",
    .text =
        "water beyond its summit that runs out at the mouth when the pumps stop and air gets in",
    .unit = "m3",
    .remedy =
        "mind that each start fills it again first and drives the air out before the water; to "
        "keep it full end the main as high as its summit",
    .source = "volume of the pipes above the mouth",
    .question = 49};

/* The links that bring water to a point, of which two are kept; an air valve brings none. */
struct meeting {
    int count;
    int link[2];
};

/* Of every point. */
static void find_meetings(const struct network *network, struct meeting meeting[])
{
    for (int i = 0; i < network->point_count; i++) {
        meeting[i] = (struct meeting){0};
    }
    for (int e = 0; e < network->link_count; e++) {
        const int ends[] = {network->links[e].from, network->links[e].to};
        for (int k = 0; k < 2 && network->links[e].element != &air_valve_element; k++) {
            struct meeting *here = &meeting[ends[k]];
            if (here->count < 2) {
                here->link[here->count] = e;
            }
            here->count++;
        }
    }
}

/* A walk up a main from its mouth. */
struct walk {
    double mouth;  /* m */
    double volume; /* m3 above the mouth, to here */
    double top;    /* m, the highest place so far */
    double beyond; /* m3 above the mouth up to there */
    double bore;   /* m, the widest so far */
    bool is_over;  /* the main has come down from there by more than a bore */
};

static void walk_piece(struct walk *walk, const struct pipe *pipe, double from, double to)
{
    const double height = pipe_elevation(pipe, to);
    walk->volume += pipe_volume_above(pipe, from, to, walk->mouth);
    walk->bore = fmax(walk->bore, pipe->friction.bore);
    if (height > walk->top) {
        walk->top = height;
        walk->beyond = walk->volume;
        walk->is_over = false;
    }
    walk->is_over = walk->is_over || height < walk->top - walk->bore;
}

static void walk_pipe(struct walk *walk, const struct pipe *pipe, bool is_from_start)
{
    const double length = pipe->friction.length;
    const int count = pipe->profile_count;
    if (count == 0) {
        walk_piece(walk, pipe, is_from_start ? 0.0 : length, is_from_start ? length : 0.0);
    }
    for (int i = 1; i < count; i++) {
        const int near = is_from_start ? i - 1 : count - i;
        const int far = is_from_start ? i : count - 1 - i;
        walk_piece(walk, pipe, pipe->profile_distance[near], pipe->profile_distance[far]);
    }
}

/* An end in the air through which water comes while the pumps run and none when they stand. */
static bool is_mouth(const struct view *view, const struct meeting *meeting, int point)
{
    const struct network *network = view->network;
    const struct point *end = &network->points[point];
    if (!end->is_held || meeting->count != 1) {
        return false;
    }
    const int link = meeting->link[0];
    const bool is_in_air = end->tank == NETWORK_NONE ? network->links[link].run == NETWORK_NONE
                                                     : network->tanks[end->tank].point != point;
    return is_in_air && fabs(view->steady->flow[link]) > view_still &&
           fabs(view->rest->flow[link]) <= view_still;
}

/* What holds water back, or drives it, ends the main. */
static bool is_passage(const struct view *view, int link)
{
    const struct element *element = view->network->links[link].element;
    const struct site *site = view->site;
    for (int i = 0; i < site->pump_place_count; i++) {
        if (site->pump_places[i].link == link) {
            return false;
        }
    }
    return !element->opening;
}

static void rule_mouth(const struct view *view, const struct meeting meeting[], int mouth)
{
    const struct network *network = view->network;
    struct walk walk = {.mouth = network->points[mouth].elevation, .top = -(double)INFINITY};
    int point = mouth;
    int link = meeting[mouth].link[0];
    while (is_passage(view, link)) {
        const bool is_from_start = network->links[link].from == point;
        const struct pipe *pipe = view_pipe(view, link);
        if (pipe) {
            walk_pipe(&walk, pipe, is_from_start);
        }
        point = is_from_start ? network->links[link].to : network->links[link].from;
        if (network->points[point].is_held || meeting[point].count != 2) {
            break;
        }
        link = meeting[point].link[meeting[point].link[0] == link ? 1 : 0];
    }
    if (walk.is_over && walk.top > walk.mouth + walk.bore) {
        view_tell_point(view, &RUNS_DRY, mouth, &(struct told){walk.beyond, (double)NAN, false});
    }
}

bool rules_summits(const struct view *view, struct arena *arena, struct failure *failure)
{
    if (!view->rest || view->site->pump_place_count == 0) {
        return true;
    }
    const int count = view->network->point_count;
    struct meeting *meeting = arena_take(arena, (size_t)count, sizeof *meeting);
    if (!meeting) {
        return fail_memory(failure, "the summits");
    }
    find_meetings(view->network, meeting);
    for (int i = 0; i < count; i++) {
        if (is_mouth(view, &meeting[i], i)) {
            rule_mouth(view, meeting, i);
        }
    }
    return true;
}
