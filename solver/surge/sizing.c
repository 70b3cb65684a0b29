#include "solver/surge/sizing.h"

#include <math.h>
#include <stddef.h>

enum { SPREAD_COUNT = 6, SEEK_MOST = 8, EXPECTED_TRIES = 16 };

/* Where in the wider gap beside the best size the next one is tried: the golden section. */
static const double golden = 0.381966;

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
    sizing_judge(wish, &surge, try);
    return true;
}

static const int grids_of[] = {[PRECISION_QUICK] = 1, [PRECISION_NORMAL] = 2, [PRECISION_FINE] = 3};

static bool comes_after(const struct sizing_try *one, const struct sizing_try *other)
{
    return one->size > other->size ||
           (one->size >= other->size && one->grid_count > other->grid_count);
}

/* What a root is sought of: below 0 when not kept, whyever. */
static double steering_margin(const struct sizing_try *try)
{
    return try->is_kept ? try->margin : fmin(try->margin, -1e-3);
}

/* Tries a size and keeps it in its place among the others. A stopped try is not kept, and
 * *margin is NAN then. */
static bool try_size(struct search *search, double size, double *margin, struct failure *failure)
{
    struct sizing *result = search->result;
    struct sizing_try try = {.size = size, .grid_count = grids_of[search->precision]};
    struct arena *arena = arena_new();
    *margin = (double)NAN;
    if (arena == NULL) {
        return fail_memory(failure, "sizing");
    }
    const bool is_done = run_size(search, &try, arena, failure);
    arena_free(arena);
    if (search->is_stopped) {
        result->ending = SIZING_STOPPED;
    }
    if (!is_done || search->is_stopped) {
        return is_done;
    }
    int place = result->try_count++;
    for (; place > 0 && comes_after(&result->tries[place - 1], &try); place--) {
        result->tries[place] = result->tries[place - 1];
    }
    result->tries[place] = try;
    *margin = steering_margin(&try);
    return true;
}

/* --- what was tried --- */

/* Of the uppermost row of kept sizes, the largest; on the search's grid: larger ones were broken.
 */
static const struct sizing_try *top_kept(const struct sizing *result, int grids)
{
    for (int i = result->try_count - 1; i >= 0; i--) {
        if (result->tries[i].grid_count == grids && result->tries[i].is_kept) {
            return &result->tries[i];
        }
    }
    return NULL;
}

/* The next smaller or larger one (way -1 or 1) on as many grids; NULL: none. */
static const struct sizing_try *neighbour(const struct sizing *result, const struct sizing_try *of,
                                          int way)
{
    const struct sizing_try *const end = result->tries + result->try_count;
    for (const struct sizing_try *try = of + way; try >= result->tries && try < end; try += way) {
        if (try->grid_count == of->grid_count) {
            return try;
        }
    }
    return NULL;
}

/* The smallest of that row; NULL: nothing is kept. */
static const struct sizing_try *smallest_kept(const struct sizing *result, int grids)
{
    const struct sizing_try *kept = top_kept(result, grids);
    while (kept != NULL) {
        const struct sizing_try *below = neighbour(result, kept, -1);
        if (below == NULL || !below->is_kept) {
            break;
        }
        kept = below;
    }
    return kept;
}

/* The smallest size above `size` that breaks a limit, on whatever grids; NAN: none. */
static double broken_above(const struct sizing *result, double size)
{
    for (int i = 0; i < result->try_count; i++) {
        const struct sizing_try *try = &result->tries[i];
        if (try->size > size && !try->is_kept && !try->is_doubtful) {
            return try->size;
        }
    }
    return NAN;
}

static double merit(const struct sizing_try *try)
{
    return try->ending == SURGE_DONE && !try->has_run_empty ? try->margin : -HUGE_VAL;
}

const struct sizing_try *sizing_nearest(const struct sizing *result)
{
    const struct sizing_try *nearest = NULL;
    for (int i = 0; i < result->try_count; i++) {
        const struct sizing_try *try = &result->tries[i];
        if (try->grid_count == 1 && (nearest == NULL || merit(try) > merit(nearest))) {
            nearest = try;
        }
    }
    return nearest;
}

const struct sizing_try *sizing_confirmation(const struct sizing *result, double size)
{
    for (int i = 0; i < result->try_count; i++) {
        const struct sizing_try *try = &result->tries[i];
        if (try->grid_count > 1 && !(fabs(try->size - size) > 0.0)) {
            return try;
        }
    }
    return NULL;
}

/* --- search --- */

/* A bracket of the logarithm of the size: below breaks a limit, above keeps all. */
struct bracket {
    double low;
    double high;
    double low_margin;
    double high_margin;
};

/* Sizes spread over the range, the largest first. False: failed. */
static bool spread(struct search *search, struct failure *failure)
{
    const double low = log(search->wish->smallest);
    const double step = (log(search->wish->largest) - low) / (SPREAD_COUNT - 1);
    double margin = 0.0;
    for (int i = SPREAD_COUNT - 1; i >= 0 && !search->is_stopped; i--) {
        if (!try_size(search, exp(low + step * i), &margin, failure)) {
            return false;
        }
    }
    return true;
}

/* Nothing is kept yet: looks beside the size that comes nearest, as the limits may be kept in a
 * narrow range only. False: failed. */
static bool seek(struct search *search, struct failure *failure)
{
    const struct sizing *result = search->result;
    double margin = 0.0;
    for (int i = 0; i < SEEK_MOST && !search->is_stopped && top_kept(result, 1) == NULL; i++) {
        const struct sizing_try *best = sizing_nearest(result);
        const struct sizing_try *below = neighbour(result, best, -1);
        const struct sizing_try *above = neighbour(result, best, 1);
        const double down = below == NULL ? 0.0 : log(best->size / below->size);
        const double up = above == NULL ? 0.0 : log(above->size / best->size);
        const double place = log(best->size) + golden * (up > down ? up : -down);
        if (fmax(up, down) < 2.0 * log1p(search->wish->precision)) {
            break;
        }
        if (!try_size(search, exp(place), &margin, failure)) {
            return false;
        }
    }
    return true;
}

/* Between the smallest of the uppermost row of kept sizes and the broken one below it. */
static enum sizing_ending find_bracket(const struct sizing *result, struct bracket *bracket)
{
    const struct sizing_try *kept = smallest_kept(result, 1);
    const struct sizing_try *below = kept == NULL ? NULL : neighbour(result, kept, -1);
    if (kept == NULL) {
        return SIZING_NONE_SUFFICES;
    }
    if (below == NULL) {
        return SIZING_SMALLEST_SUFFICES;
    }
    *bracket = (struct bracket){.low = log(below->size),
                                .high = log(kept->size),
                                .low_margin = steering_margin(below),
                                .high_margin = steering_margin(kept)};
    return SIZING_FOUND;
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
    search->result->ending = SIZING_FOUND;
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
    return true;
}

/* On one grid. */
static bool search_coarsely(struct search *search, struct failure *failure)
{
    struct sizing *result = search->result;
    struct bracket bracket;
    if (!spread(search, failure) || (!search->is_stopped && !seek(search, failure))) {
        return false;
    }
    if (search->is_stopped) {
        return true;
    }
    result->ending = find_bracket(result, &bracket);
    return result->ending != SIZING_FOUND || close_in(search, bracket, failure);
}

/* --- on finer grids --- */

/* From the size that one grid found, which finer ones did not keep within their bands, up to one
 * that they keep: steps that double, up to where one grid says that larger sizes break a limit
 * again. False: failed. */
static bool grow(struct search *search, struct bracket *bracket, struct failure *failure)
{
    const double ceiling = broken_above(search->result, search->result->first_size);
    const double last = log(isnan(ceiling) ? search->wish->largest : ceiling);
    double step = log1p(search->wish->precision);
    while (bracket->low < last && search->result->try_count < SIZING_TRY_MAX) {
        bracket->high = fmin(bracket->low + step, last);
        if (!try_size(search, exp(bracket->high), &bracket->high_margin, failure)) {
            return false;
        }
        if (search->is_stopped) {
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

/* One grid kept no size, finer ones keep the nearest: how far down do they go on keeping? */
static bool shrink(struct search *search, const struct sizing_try *kept, double margin,
                   struct failure *failure)
{
    const struct sizing_try *below = neighbour(search->result, kept, -1);
    if (below == NULL) {
        search->result->ending = SIZING_SMALLEST_SUFFICES;
        return true;
    }
    const struct bracket bracket = {.low = log(below->size),
                                    .high = log(kept->size),
                                    .low_margin = steering_margin(below),
                                    .high_margin = margin};
    return close_in(search, bracket, failure);
}

/* Sees to it that the size found keeps the limits on finer grids, with all of their bands; where
 * one grid found none, asks them for the nearest. */
static bool confirm(struct search *search, const struct sizing_try *first, struct failure *failure)
{
    struct sizing *result = search->result;
    const bool is_found = first->is_kept;
    const double size = first->size;
    struct bracket bracket = {.low = log(size)};
    if (result->try_count == SIZING_TRY_MAX) {
        return true;
    }
    search->precision = search->wish->confirm;
    if (!try_size(search, size, &bracket.low_margin, failure)) {
        return false;
    }
    if (search->is_stopped) {
        return true;
    }
    if (!is_found) {
        return bracket.low_margin < 0.0 ||
               shrink(search, sizing_nearest(result), bracket.low_margin, failure);
    }
    return !(bracket.low_margin < 0.0) ||
           (grow(search, &bracket, failure) &&
            (result->ending != SIZING_FOUND || close_in(search, bracket, failure)));
}

static void conclude(struct sizing *result, int grids)
{
    const struct sizing_try *kept = smallest_kept(result, grids);
    result->is_confirmed = grids > 1 && kept != NULL;
    result->size = kept != NULL ? kept->size : (double)NAN;
    if (result->ending == SIZING_STOPPED && !result->is_confirmed) {
        result->size = result->first_size;
    }
    result->is_monotone = true;
    for (int i = 0; i < result->try_count; i++) {
        const struct sizing_try *try = &result->tries[i];
        const bool counts = try->grid_count == grids || try->size < result->first_size;
        const bool is_smaller = try->size < result->size;
        result->is_monotone = result->is_monotone && !(counts && try->is_kept && is_smaller);
        if (kept == NULL && try->is_doubtful && isnan(result->doubtful_size)) {
            result->doubtful_size = try->size;
        }
    }
    result->broken_above = isnan(result->size) ? (double)NAN : broken_above(result, result->size);
}

bool sizing_find(const struct site *site, const struct sizing_wish *wish,
                 const struct surge_options *options, struct sizing *result,
                 struct failure *failure)
{
    struct search search = {.site = site, .wish = wish, .options = options, .result = result};
    *result = (struct sizing){
        .ending = SIZING_FOUND, .size = NAN, .first_size = NAN, .doubtful_size = NAN};
    search.solver = steady_solver_new(site->network, failure);
    if (search.solver == NULL) {
        return false;
    }
    bool is_done = search_coarsely(&search, failure);
    const struct sizing_try *first = smallest_kept(result, 1);
    result->first_size = first == NULL ? (double)NAN : first->size;
    if (is_done && wish->confirm != PRECISION_QUICK && !search.is_stopped) {
        is_done = confirm(&search, first == NULL ? sizing_nearest(result) : first, failure);
    }
    steady_solver_free(search.solver);
    conclude(result, grids_of[wish->confirm]);
    return is_done;
}
