#include "solver/filling/ways.h"

#include <math.h>

/* m3/s that count as none: a thimble a month. */
static const double no_flow = 1e-12;

/* m: a head is above a level by so much, or not. */
static const double no_head = 1e-9;

/* m: a mouth above the lowest counts as covered only so far under water, else every ripple of the
 * level would be an event. */
static const double lip = 0.005;

/* m, of a level that stands at a mouth. */
static const double touch = 1e-8;

/* Share of a full tank that may be missing at the brim. */
static const double brim_share = 1e-10;

bool ways_init(struct ways *ways, struct works *works, struct journal *journal, struct arena *arena,
               struct failure *failure)
{
    const struct network *network = works->network;
    const size_t links = (size_t)network->link_count;
    *ways = (struct ways){.works = works, .journal = journal};
    ways->times = arena_take(arena, (size_t)works->basin_count, sizeof *ways->times);
    ways->threshold = arena_take(arena, (size_t)works->basin_count, sizeof *ways->threshold);
    ways->full = arena_take(arena, (size_t)works->basin_count, sizeof *ways->full);
    ways->valves = arena_take(arena, links, sizeof *ways->valves);
    ways->was_open = arena_take(arena, links, sizeof *ways->was_open);
    if (!ways->times || !ways->threshold || !ways->full || !ways->valves || !ways->was_open) {
        return fail_memory(failure, "the filling run");
    }
    for (int e = 0; e < network->link_count; e++) {
        if (works->gates[e].element->opening) {
            ways->valves[ways->valve_count++] = e;
        }
    }
    for (int b = 0; b < works->basin_count; b++) {
        ways->threshold[b] = works->basins[b].film;
    }
    return true;
}

/* --- one basin --- */

static void close_time(struct ways *ways, int b, double time)
{
    struct ways_times *times = &ways->times[b];
    const enum basin_way way = ways->works->basins[b].way;
    times->brim += way == BASIN_BRIM ? time - times->since : 0.0;
    times->dry += basin_is_dry(way) ? time - times->since : 0.0;
    times->since = time;
}

static void change_way(struct ways *ways, int b, enum basin_way way, double time)
{
    struct basin *basin = &ways->works->basins[b];
    const enum basin_way before = basin->way;
    close_time(ways, b, time);
    basin->way = way;
    basin->let_go = 0.0;
    basin->overflow = 0.0;
    if (before == BASIN_BRIM || way == BASIN_BRIM) {
        journal_note(ways->journal, time, way == BASIN_BRIM ? FILLING_BRIM : FILLING_BRIM_END,
                     basin->tank, basin->level);
    }
    if (basin_is_dry(before) != basin_is_dry(way)) {
        journal_note(ways->journal, time, basin_is_dry(way) ? FILLING_DRY : FILLING_DRY_END,
                     basin->tank, basin->level);
    }
}

/* The point of a let-go basin has a head of its own, and the water let go leaves by it. */
static bool is_served(const struct works *works, const struct basin *basin)
{
    const double missing = fabs(works->sum[basin->point] + basin->let_go);
    return works->steady.zone[basin->point] == NETWORK_NONE &&
           missing <= no_flow + 1e-9 * fabs(basin->let_go);
}

static enum basin_way way_from_lowest(const struct works *works, const struct basin *basin)
{
    if (!is_served(works, basin)) {
        return basin->let_go > no_flow ? BASIN_FREE : BASIN_BELOW;
    }
    if (works->steady.head[basin->point] > basin->level + no_head) {
        return BASIN_FREE;
    }
    return basin->by_runs_out <= no_flow ? BASIN_BELOW : BASIN_LOWEST;
}

static enum basin_way way_of(const struct ways *ways, int b, double volume)
{
    const struct works *works = ways->works;
    const struct basin *basin = &works->basins[b];
    const double over = volume - basin->lowest_volume;
    switch (basin->way) {
    case BASIN_FREE:
        if (volume >= (1.0 - brim_share) * basin->brim_volume && basin->total > no_flow) {
            return BASIN_BRIM;
        }
        if (over < -basin->film) {
            return BASIN_BELOW;
        }
        if (over <= 1.001 * ways->threshold[b] && basin->total < 0.0) {
            return basin->has_links ? BASIN_LOWEST : BASIN_BELOW;
        }
        return BASIN_FREE;
    case BASIN_BRIM:
        return basin->total < -no_flow ? BASIN_FREE : BASIN_BRIM;
    case BASIN_LOWEST:
        return way_from_lowest(works, basin);
    case BASIN_BELOW:
        break;
    }
    if (over > 3.0 * basin->film) {
        return BASIN_FREE;
    }
    if (over > 0.5 * basin->film * (1.0 - 1e-6) && basin->total > no_flow) {
        return basin->has_links ? BASIN_LOWEST : BASIN_FREE;
    }
    return BASIN_BELOW;
}

static bool settle_mouths(struct ways *ways, double time)
{
    struct works *works = ways->works;
    bool has_changed = false;
    for (int i = 0; i < works->mouth_count; i++) {
        struct mouth *mouth = &works->mouths[i];
        const double level = works->basins[mouth->basin].level;
        const bool changes = mouth->is_uncovered ? level >= mouth->elevation + lip - touch
                                                 : level <= mouth->elevation + touch;
        if (!mouth->is_lowest && changes) {
            mouth->is_uncovered = !mouth->is_uncovered;
            journal_note(ways->journal, time,
                         mouth->is_uncovered ? FILLING_UNCOVERED : FILLING_COVERED, mouth->link,
                         level);
            has_changed = true;
        }
    }
    return has_changed;
}

bool ways_settle(struct ways *ways, double time, const double volume[])
{
    bool has_changed = settle_mouths(ways, time);
    for (int b = 0; b < ways->works->basin_count; b++) {
        const enum basin_way way = way_of(ways, b, volume[b]);
        if (way != ways->works->basins[b].way) {
            change_way(ways, b, way, time);
            has_changed = true;
        }
    }
    return has_changed;
}

/* --- stretches and roots --- */

static bool is_open(const struct ways *ways, int valve)
{
    return ways->works->steady.flow[ways->valves[valve]] > no_flow;
}

void ways_begin_stretch(struct ways *ways, double time, const double volume[], bool tells)
{
    for (int i = 0; i < ways->valve_count; i++) {
        const bool now = is_open(ways, i);
        if (tells && now != ways->was_open[i]) {
            journal_note(ways->journal, time, now ? FILLING_VALVE_OPENS : FILLING_VALVE_SHUTS,
                         ways->valves[i], NAN);
        }
        ways->was_open[i] = now;
    }
    for (int b = 0; b < ways->works->basin_count; b++) {
        /* From a film, only what falls well below it is a new fall. */
        const struct basin *basin = &ways->works->basins[b];
        const double over = volume[b] - basin->lowest_volume;
        ways->threshold[b] = over < 1.5 * basin->film ? 0.5 * over : basin->film;
        /* A tank that already stands at its brim would never be seen to reach it. */
        const bool is_full = volume[b] >= (1.0 - brim_share) * basin->brim_volume;
        ways->full[b] = basin->brim_volume * (is_full ? 1.0 + 2.0 * brim_share : 1.0);
    }
    ways->is_suspect = false;
}

void ways_look(struct ways *ways)
{
    const struct works *works = ways->works;
    ways->is_suspect = false;
    for (int b = 0; b < works->basin_count; b++) {
        const struct basin *basin = &works->basins[b];
        if ((basin->way == BASIN_BRIM && basin->total < 0.0) ||
            (basin->way == BASIN_LOWEST && way_from_lowest(works, basin) != BASIN_LOWEST)) {
            ways->is_suspect = true;
        }
    }
    for (int i = 0; i < ways->valve_count; i++) {
        ways->is_suspect = ways->is_suspect || is_open(ways, i) != ways->was_open[i];
    }
}

static int upper_mouths(const struct works *works)
{
    int count = 0;
    for (int i = 0; i < works->mouth_count; i++) {
        count += !works->mouths[i].is_lowest;
    }
    return count;
}

int ways_root_count(const struct ways *ways)
{
    return 2 * ways->works->basin_count + upper_mouths(ways->works) + ways->valve_count;
}

static void basin_roots(const struct ways *ways, int b, double volume, bool is_solved,
                        double root[2])
{
    const struct works *works = ways->works;
    const struct basin *basin = &works->basins[b];
    const double over = volume - basin->lowest_volume;
    root[0] = root[1] = 1.0;
    switch (basin->way) {
    case BASIN_FREE:
        root[0] = ways->full[b] - volume;
        root[1] = over - ways->threshold[b];
        break;
    case BASIN_BRIM:
        root[0] = is_solved ? basin->total + no_flow : 1.0;
        break;
    case BASIN_LOWEST:
        root[0] = !is_solved || way_from_lowest(works, basin) == BASIN_LOWEST ? 1.0 : -1.0;
        break;
    case BASIN_BELOW:
        root[0] = 2.0 * basin->film - over;
        break;
    }
}

void ways_roots(const struct ways *ways, const double volume[], bool is_solved, double root[])
{
    const struct works *works = ways->works;
    int at = 0;
    for (int b = 0; b < works->basin_count; b++) {
        basin_roots(ways, b, volume[b], is_solved, &root[at]);
        at += 2;
    }
    for (int i = 0; i < works->mouth_count; i++) {
        const struct mouth *mouth = &works->mouths[i];
        if (!mouth->is_lowest) {
            root[at++] = works->basins[mouth->basin].level - mouth->elevation -
                         (mouth->is_uncovered ? lip : 0.0);
        }
    }
    for (int i = 0; i < ways->valve_count; i++) {
        root[at++] = !is_solved || is_open(ways, i) == ways->was_open[i] ? 1.0 : -1.0;
    }
}

bool ways_film_time(struct ways *ways, int basin, double clock, double volume[], double *seconds,
                    struct failure *failure)
{
    struct works *works = ways->works;
    const struct basin *what = &works->basins[basin];
    const double whole = volume[basin];
    const double over = whole - what->lowest_volume;
    *seconds = 0.0;
    if (!(over > 0.0)) {
        return true;
    }
    if (!works_evaluate(works, clock, volume, failure)) {
        return false;
    }
    const double fast = -what->total;
    volume[basin] = what->lowest_volume + 0.5 * over;
    const bool is_good = works_evaluate(works, clock, volume, failure);
    const double slow = -what->total;
    volume[basin] = whole;
    const double power = log2(fast / slow);
    if (is_good && fast > 0.0 && slow > 0.0 && power < 0.95) {
        *seconds = over / (fast * (1.0 - fmax(power, 0.0)));
    }
    return is_good;
}

void ways_end(struct ways *ways, double time)
{
    for (int b = 0; b < ways->works->basin_count; b++) {
        close_time(ways, b, time);
    }
}
