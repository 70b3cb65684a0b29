#include "solver/surge/sizing.h"

#include "models/air_vessel.h"
#include "models/circle.h"
#include "models/relief_valve.h"

#include <math.h>
#include <stddef.h>

enum { SPREAD_COUNT = 6, EXPECTED_TRIES = 14 };

/* Metres of head that count as much as the whole of a share. */
static const double head_scale = 10.0;

/* --- parts --- */

bool sizing_is_part(const struct link *link, enum sizing_part part)
{
    static const struct element *const elements[] = {[SIZING_VESSEL] = &air_vessel_element,
                                                     [SIZING_FLYWHEEL] = &pump_element,
                                                     [SIZING_RELIEF] = &relief_valve_element};
    return link->element == elements[part];
}

int sizing_find_part(const struct network *network, enum sizing_part part, int *count)
{
    int first = NETWORK_NONE;
    *count = 0;
    for (int i = 0; i < network->link_count; i++) {
        if (sizing_is_part(&network->links[i], part)) {
            first = first == NETWORK_NONE ? i : first;
            ++*count;
        }
    }
    return first;
}

void sizing_default_range(const struct link *link, enum sizing_part part, double *smallest,
                          double *largest)
{
    if (part == SIZING_VESSEL) {
        const struct air_vessel *vessel = link->data;
        *smallest = 1e-3 * vessel->volume;
        *largest = 1e3 * vessel->volume;
    } else if (part == SIZING_FLYWHEEL) {
        const struct pump_unit *unit = link->data;
        *smallest = 1e-2 * unit->pump->inertia;
        *largest = 1e4 * unit->pump->inertia;
    } else {
        const struct relief_valve *valve = link->data;
        const double bore = sqrt(4.0 * valve->area / circle_pi);
        *smallest = 0.05 * bore;
        *largest = 5.0 * bore;
    }
}

static const void *size_vessel(const struct air_vessel *now, double size, struct arena *arena)
{
    struct air_vessel *vessel = arena_take(arena, 1, sizeof *vessel);
    if (vessel != NULL) {
        const double share = size / now->volume;
        *vessel = *now;
        vessel->volume = size;
        vessel->gas *= share;
        vessel->area *= share;
    }
    return vessel;
}

const void *sizing_data(const struct link *link, enum sizing_part part, double size,
                        struct arena *arena)
{
    if (part == SIZING_VESSEL) {
        return size_vessel(link->data, size, arena);
    }
    if (part == SIZING_FLYWHEEL) {
        struct pump_unit *unit = arena_take(arena, 1, sizeof *unit);
        if (unit != NULL) {
            *unit = *(const struct pump_unit *)link->data;
            unit->flywheel = size;
        }
        return unit;
    }
    struct relief_valve *valve = arena_take(arena, 1, sizeof *valve);
    if (valve != NULL) {
        *valve = *(const struct relief_valve *)link->data;
        valve->area = circle_area(size);
    }
    return valve;
}

/* --- one size --- */

struct search {
    const struct site *site;
    const struct sizing_wish *wish;
    const struct surge_options *options;
    struct steady_solver *solver;
    struct sizing *result;
    enum precision precision; /* of the next try */
    bool is_stopped;
};

static bool tell_progress(void *user, double share_done)
{
    struct search *search = user;
    const double share = (search->result->try_count + share_done) / EXPECTED_TRIES;
    if (search->options->progress != NULL &&
        !search->options->progress(search->options->user, fmin(share, 1.0))) {
        search->is_stopped = true;
    }
    return !search->is_stopped;
}

/* A measure's worst value, and within what it is right (NAN: one grid only). */
struct worst {
    double value;
    double band;
};

static const struct worst nothing = {NAN, NAN};

static struct worst worse(struct worst one, struct worst other, enum sizing_measure measure)
{
    const bool is_lowest = measure == SIZING_LOWEST;
    const bool is_other = is_lowest ? other.value < one.value : other.value > one.value;
    return is_other || isnan(one.value) ? other : one;
}

static double band_at(const double band[], int station)
{
    return band == NULL ? (double)NAN : band[station];
}

static struct worst run_value(const struct surge_run *run, enum sizing_measure measure)
{
    struct worst worst = nothing;
    for (int i = 0; i < run->count; i++) {
        const double share = measure == SIZING_CLASS ? run->allowed[i] : 1.0;
        const struct worst here = {(run->head_max[i] - run->elevation[i]) / share,
                                   band_at(run->head_max_band, i) / share};
        const struct worst low = {run->head_min[i] - run->elevation[i],
                                  band_at(run->head_min_band, i)};
        worst = worse(worst, measure == SIZING_LOWEST ? low : here, measure);
    }
    return worst;
}

/* Where its maker states a curve, that rules over what was computed. */
static struct worst valve_value(const struct surge_valve *valve, enum sizing_measure measure)
{
    const bool is_slam = measure == SIZING_SLAM;
    if (valve->has_shut && isfinite(valve->stated_reverse_velocity)) {
        return (struct worst){is_slam ? valve->stated_slam_head : valve->stated_reverse_velocity,
                              NAN};
    }
    return is_slam ? (struct worst){valve->slam_head, valve->slam_head_band}
                   : (struct worst){valve->reverse_velocity, valve->reverse_velocity_band};
}

static struct worst find_value(const struct surge *surge, const struct sizing_limit *limit)
{
    struct worst worst = nothing;
    if (limit->measure == SIZING_REVERSE || limit->measure == SIZING_SLAM) {
        for (int i = 0; i < surge->valve_count; i++) {
            worst = worse(worst, valve_value(&surge->valves[i], limit->measure), limit->measure);
        }
        return worst;
    }
    for (int i = 0; i < surge->run_count; i++) {
        const struct surge_run *run = &surge->runs[i];
        if (limit->run == NETWORK_NONE || run->run == limit->run) {
            worst = worse(worst, run_value(run, limit->measure), limit->measure);
        }
    }
    return worst;
}

static double find_margin(const struct sizing_limit *limit, double value)
{
    const double room =
        limit->measure == SIZING_LOWEST ? value - limit->value : limit->value - value;
    const bool is_share = limit->measure == SIZING_CLASS || limit->measure == SIZING_REVERSE;
    return is_share ? room : room / head_scale;
}

static void judge(const struct search *search, const struct surge *surge, struct sizing_try *try)
{
    /* A finer grid that found no answer leaves that of the coarser. */
    const bool is_short = surge->ending == SURGE_DONE && surge->grid_count < try->grid_count;
    try->ending = is_short ? SURGE_GROUP_FAILED : surge->ending;
    try->margin = HUGE_VAL;
    for (int i = 0; i < search->wish->limit_count; i++) {
        const struct sizing_limit *limit = &search->wish->limits[i];
        const struct worst worst = find_value(surge, limit);
        try->value[i] = worst.value;
        try->band[i] = worst.band;
        /* Where there is nothing to measure there is nothing to break. */
        try->margin = fmin(try->margin, find_margin(limit, try->value[i]));
    }
    for (int i = 0; i < surge->protection.vessel_count; i++) {
        const struct surge_vessel *vessel = &surge->protection.vessels[i];
        if (vessel->link == search->wish->link && vessel->has_run_empty) {
            try->has_run_empty = true;
        }
    }
    try->is_kept = try->ending == SURGE_DONE && !try->has_run_empty && try->margin >= 0.0;
}

static bool run_size(struct search *search, struct sizing_try *try, struct arena *arena,
                     struct failure *failure)
{
    const struct sizing_wish *wish = search->wish;
    struct steady steady;
    struct surge surge;
    struct site site = *search->site;
    struct surge_options options = *search->options;
    struct network *network = network_copy(site.network, arena);
    if (network == NULL || !steady_init(&steady, network, arena, failure)) {
        return fail_memory(failure, "sizing");
    }
    struct link *link = &network->links[wish->link];
    link->data = sizing_data(link, wish->part, try->size, arena);
    if (link->data == NULL) {
        return fail_memory(failure, "sizing");
    }
    site.network = network;
    options.progress = tell_progress;
    options.user = search;
    options.series_limit = 2;
    if (!steady_solve(search->solver, network, &site.water, &steady_defaults, &steady, failure) ||
        !surge_run_precisely(&site, network, &steady, &options, search->precision, &surge, arena,
                             failure)) {
        return false;
    }
    judge(search, &surge, try);
    return true;
}

static const int grids_of[] = {[PRECISION_QUICK] = 1, [PRECISION_NORMAL] = 2, [PRECISION_FINE] = 3};

static bool comes_after(const struct sizing_try *one, const struct sizing_try *other)
{
    return one->size > other->size ||
           (one->size >= other->size && one->grid_count > other->grid_count);
}

/* Tries a size and keeps it in its place among the others; *margin: below 0 when not kept. */
static bool try_size(struct search *search, double size, double *margin, struct failure *failure)
{
    struct sizing *result = search->result;
    struct sizing_try try = {.size = size, .grid_count = grids_of[search->precision]};
    struct arena *arena = arena_new();
    if (arena == NULL) {
        return fail_memory(failure, "sizing");
    }
    const bool is_done = run_size(search, &try, arena, failure);
    arena_free(arena);
    if (!is_done || search->is_stopped) {
        return is_done;
    }
    int place = result->try_count++;
    for (; place > 0 && comes_after(&result->tries[place - 1], &try); place--) {
        result->tries[place] = result->tries[place - 1];
    }
    result->tries[place] = try;
    *margin = try.is_kept ? try.margin : fmin(try.margin, -1e-3);
    return true;
}

/* --- search --- */

/* A bracket of the logarithm of the size: below breaks a limit, above keeps all. */
struct bracket {
    double low;
    double high;
    double low_margin;
    double high_margin;
};

/* Sizes spread over the range. False: failed. */
static bool spread(struct search *search, struct bracket *bracket, struct failure *failure)
{
    const double low = log(search->wish->smallest);
    const double step = (log(search->wish->largest) - low) / (SPREAD_COUNT - 1);
    double margins[SPREAD_COUNT] = {0};
    int broken = NETWORK_NONE; /* the largest size that breaks a limit */
    for (int i = SPREAD_COUNT - 1; i >= 0 && !search->is_stopped; i--) {
        if (!try_size(search, exp(low + step * i), &margins[i], failure)) {
            return false;
        }
        if (search->is_stopped) {
            search->result->ending = SIZING_STOPPED;
            return true;
        }
        broken = broken == NETWORK_NONE && margins[i] < 0.0 ? i : broken;
    }
    if (broken == NETWORK_NONE) {
        search->result->ending = SIZING_SMALLEST_SUFFICES;
    } else if (broken == SPREAD_COUNT - 1) {
        search->result->ending = SIZING_NONE_SUFFICES;
    } else {
        *bracket = (struct bracket){.low = low + step * broken,
                                    .high = low + step * (broken + 1),
                                    .low_margin = margins[broken],
                                    .high_margin = margins[broken + 1]};
    }
    return true;
}

/* Next place to look, the ITP rule with its usual constants: 0.2 of the first width, power 2, one
 * try of slack over halving. `reach` is how far it may be from the middle. */
static double next_place(const struct bracket *bracket, double width, double reach)
{
    const double half = 0.5 * (bracket->low + bracket->high);
    const double now = bracket->high - bracket->low;
    const double fall = bracket->high_margin - bracket->low_margin;
    const double line =
        (bracket->high_margin * bracket->low - bracket->low_margin * bracket->high) / fall;
    if (!isfinite(line)) {
        return half;
    }
    const double sign = half >= line ? 1.0 : -1.0;
    const double away = 0.2 / width * now * now;
    const double moved = away <= fabs(half - line) ? line + sign * away : half;
    return fabs(moved - half) <= reach ? moved : half - sign * reach;
}

static bool close_in(struct search *search, struct bracket bracket, struct failure *failure)
{
    const double width = bracket.high - bracket.low;
    const double enough = log1p(search->wish->precision);
    const int most = (int)fmax(ceil(log2(width / enough)), 0.0) + 1;
    for (int i = 0;
         bracket.high - bracket.low > enough && search->result->try_count < SIZING_TRY_MAX; i++) {
        const double reach =
            0.5 * enough * exp2(fmax(most - i, 0)) - 0.5 * (bracket.high - bracket.low);
        const double place = next_place(&bracket, width, fmax(reach, 0.0));
        double margin = 0.0;
        if (!try_size(search, exp(place), &margin, failure)) {
            return false;
        }
        if (search->is_stopped) {
            search->result->ending = SIZING_STOPPED;
            return true;
        }
        if (margin < 0.0) {
            bracket.low = place;
            bracket.low_margin = margin;
        } else {
            bracket.high = place;
            bracket.high_margin = margin;
        }
    }
    search->result->ending = SIZING_FOUND;
    return true;
}

/* The smallest size from which on all tried ones keep the limits, by the tries on `grids`. */
static double smallest_kept(const struct sizing *result, int grids)
{
    double size = NAN;
    for (int i = result->try_count - 1; i >= 0; i--) {
        const struct sizing_try *try = &result->tries[i];
        if (try->grid_count == grids && !try->is_kept) {
            break;
        }
        size = try->grid_count == grids ? try->size : size;
    }
    return size;
}

/* --- on finer grids --- */

/* From the size that one grid found, which a finer one broke, up to one that it keeps: steps that
 * double. False: failed. */
static bool grow(struct search *search, struct bracket *bracket, struct failure *failure)
{
    const double last = log(search->wish->largest);
    double step = log1p(search->wish->precision);
    while (bracket->low < last && search->result->try_count < SIZING_TRY_MAX) {
        bracket->high = fmin(bracket->low + step, last);
        if (!try_size(search, exp(bracket->high), &bracket->high_margin, failure)) {
            return false;
        }
        if (search->is_stopped) {
            search->result->ending = SIZING_STOPPED;
            return true;
        }
        if (!(bracket->high_margin < 0.0)) {
            search->result->ending = SIZING_FOUND;
            return true;
        }
        bracket->low = bracket->high;
        bracket->low_margin = bracket->high_margin;
        step *= 2.0;
    }
    search->result->ending = SIZING_NONE_SUFFICES;
    return true;
}

static bool confirm(struct search *search, struct failure *failure)
{
    struct sizing *result = search->result;
    struct bracket bracket = {.low = log(result->first_size)};
    search->precision = search->wish->confirm;
    if (!try_size(search, result->first_size, &bracket.low_margin, failure)) {
        return false;
    }
    if (search->is_stopped) {
        result->ending = SIZING_STOPPED;
        return true;
    }
    if (!(bracket.low_margin < 0.0)) {
        return true;
    }
    return grow(search, &bracket, failure) &&
           (result->ending != SIZING_FOUND || close_in(search, bracket, failure));
}

const struct sizing_try *sizing_confirmation(const struct sizing *result)
{
    for (int i = 0; result->is_confirmed && i < result->try_count; i++) {
        const struct sizing_try *try = &result->tries[i];
        if (try->grid_count > 1 && try->size >= result->size) {
            return try;
        }
    }
    return NULL;
}

static void conclude(struct sizing *result, int grids)
{
    result->size = smallest_kept(result, grids);
    result->is_confirmed = grids > 1 && isfinite(result->size);
    if (result->ending == SIZING_STOPPED && !result->is_confirmed) {
        result->size = result->first_size;
    }
    result->is_monotone = true;
    for (int i = 0; i < result->try_count; i++) {
        const struct sizing_try *try = &result->tries[i];
        const bool counts = try->grid_count == grids || try->size < result->first_size;
        result->is_monotone =
            result->is_monotone && !(counts && try->is_kept && !(try->size >= result->size));
    }
}

bool sizing_find(const struct site *site, const struct sizing_wish *wish,
                 const struct surge_options *options, struct sizing *result,
                 struct failure *failure)
{
    struct search search = {.site = site, .wish = wish, .options = options, .result = result};
    struct bracket bracket = {0};
    *result = (struct sizing){.ending = SIZING_FOUND, .size = NAN, .first_size = NAN};
    search.solver = steady_solver_new(site->network, failure);
    if (search.solver == NULL) {
        return false;
    }
    bool is_done = spread(&search, &bracket, failure);
    if (is_done && result->ending == SIZING_FOUND) {
        is_done = close_in(&search, bracket, failure);
    }
    result->first_size = smallest_kept(result, 1);
    if (is_done && wish->confirm != PRECISION_QUICK && result->ending != SIZING_STOPPED &&
        isfinite(result->first_size)) {
        is_done = confirm(&search, failure);
    }
    steady_solver_free(search.solver);
    conclude(result, grids_of[wish->confirm]);
    return is_done;
}
