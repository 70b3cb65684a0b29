#include "solver/surge/precision.h"

#include <assert.h>
#include <math.h>
#include <stddef.h>

enum { GRIDS_MOST = 3 };

/* Roache's: 3 on two grids, where nothing shows how the error falls; 1.25 on three. Tried on random
 * sites, see scripts/property. */
static const double safety[] = {3.0, 1.25};

/* Between which orders the observed one is believed. Not above that of the implicit steps, by which
 * valves and pumps move; what stops falling altogether is no longer an error of the step. */
static const double order_most = 1.0;
static const double order_least = 0.3;

/* How many times wider where a valve shuts oftener on one grid than on the next: they do not follow
 * the same course. Tried on random sites. */
static const double widening_apart = 3.0;

/* Distances nearer than this share of 1 m + the distance are the same place. */
static const double place_blur = 1e-9;

/* --- the runs --- */

/* The grids' share of one progress. */
struct watch {
    const struct surge_options *options;
    double done;  /* share of the work before this grid */
    double share; /* of this grid */
};

static bool tell(void *user, double share_done)
{
    const struct watch *watch = user;
    return watch->options->progress(watch->options->user, watch->done + watch->share * share_done);
}

/* Runs the grids from coarse to fine; their number, without those that found no answer. The last
 * one run is in answers[count - 1], or answers[0] if none was found. 0: failure. */
static int run_grids(const struct site *site, const struct network *network,
                     const struct steady *start, const struct surge_options *options, int wanted,
                     struct surge answers[], struct arena *arena, struct failure *failure)
{
    struct watch watch = {.options = options};
    struct surge_options here = *options;
    double work = (pow(4.0, wanted) - 1.0) / 3.0;
    int refinement = options->refinement > 1 ? options->refinement : 1;
    if (options->progress != NULL) {
        here.progress = tell;
        here.user = &watch;
    }
    for (int i = 0; i < wanted; i++) {
        here.refinement = refinement << i;
        watch.share = pow(4.0, i) / work;
        if (!surge_run_plan(site, network, start, &here, &answers[i], arena, failure)) {
            return 0;
        }
        if (answers[i].ending == SURGE_STOPPED) {
            answers[0] = answers[i];
            return 1;
        }
        if (answers[i].ending != SURGE_DONE) {
            return i > 0 ? i : 1;
        }
        watch.done += watch.share;
    }
    return wanted;
}

/* --- differences --- */

/* Differences of one kind of answer. */
struct tally {
    int grid_count;
    bool is_apart; /* the finest grids follow different courses */
    int count;
    double last;     /* sums of sizes: of the finest two grids */
    double earlier;  /* of the coarsest two of three */
    double counting; /* of what each counts with */
};

/* The difference that one answer counts with; `values` from coarse to fine. */
static double add_difference(struct tally *tally, const double values[])
{
    int grids = tally->grid_count;
    if (grids < 2) {
        return NAN; /* one grid has nothing to differ from */
    }
    double last = fabs(values[grids - 1] - values[grids - 2]);
    double earlier = grids > 2 ? fabs(values[1] - values[0]) : 0.0;
    if (!isfinite(last) || !isfinite(earlier)) {
        return NAN;
    }
    const double counting = fmax(last, 0.5 * earlier); /* as the first order would have it shrink */
    tally->count++;
    tally->last += last;
    tally->earlier += earlier;
    tally->counting += counting;
    return counting;
}

static double observed_order(const struct tally *tally)
{
    if (tally->grid_count < 3 || !(tally->last > 0.0) || !(tally->earlier > 0.0)) {
        return NAN;
    }
    return log2(tally->earlier / tally->last);
}

/* How many times the last difference the error is taken for: safety/(2^order - 1), or more. */
static double widening(const struct tally *tally)
{
    const double observed = observed_order(tally);
    const double order =
        isnan(observed) ? order_most : fmin(fmax(observed, order_least), order_most);
    const double doubt = tally->is_apart ? widening_apart : 1.0;
    return doubt * safety[tally->grid_count > 2] / (exp2(order) - 1.0);
}

/* The least difference that any answer of this kind counts with: the mean one. */
static double least_difference(const struct tally *tally)
{
    return tally->count > 0 ? tally->counting / tally->count : 0.0;
}

/* Turns differences into bands. */
static void widen(const struct tally *tally, int count, double band[])
{
    const double least = least_difference(tally);
    for (int i = 0; i < count; i++) {
        band[i] = isnan(band[i]) ? band[i] : widening(tally) * fmax(band[i], least);
    }
}

/* --- heads --- */

/* The value at the `nth` station at `distance`, between stations by straight lines. */
static double value_at(const struct surge_run *run, const double values[], double distance, int nth)
{
    double blur = place_blur * (1.0 + fabs(distance));
    int low = 0;
    int high = run->count - 1;
    while (low < high) {
        int middle = (low + high) / 2;
        if (run->distance[middle] < distance - blur) {
            low = middle + 1;
        } else {
            high = middle;
        }
    }
    if (low > 0 && run->distance[low] > distance + blur) {
        double share =
            (distance - run->distance[low - 1]) / (run->distance[low] - run->distance[low - 1]);
        return values[low - 1] + share * (values[low] - values[low - 1]);
    }
    for (int i = 0; i < nth; i++) {
        bool is_there = low + 1 < run->count && run->distance[low + 1] <= distance + blur;
        low = is_there ? low + 1 : low;
    }
    return values[low];
}

/* Of many stations, which do not count for the mean. */
static void compare_run(int grids, const struct surge answers[], int number)
{
    struct tally tally = {.grid_count = grids};
    struct surge_run *fine = &answers[grids - 1].runs[number];
    int nth = 0;
    for (int i = 0; i < fine->count; i++) {
        double distance = fine->distance[i];
        bool is_same = i > 0 && distance - fine->distance[i - 1] <= place_blur * (1.0 + distance);
        nth = is_same ? nth + 1 : 0;
        double highest[GRIDS_MOST];
        double lowest[GRIDS_MOST];
        for (int j = 0; j < grids; j++) {
            const struct surge_run *run = &answers[j].runs[number];
            highest[j] = value_at(run, run->head_max, distance, nth);
            lowest[j] = value_at(run, run->head_min, distance, nth);
        }
        fine->head_max_band[i] = add_difference(&tally, highest);
        fine->head_min_band[i] = add_difference(&tally, lowest);
    }
}

/* Of all points; those whose head moves count for the mean. */
static void compare_points(struct tally *tally, struct surge answers[],
                           const struct network *network)
{
    struct tally held = {.grid_count = tally->grid_count};
    int grids = tally->grid_count;
    struct surge *fine = &answers[grids - 1];
    for (int i = 0; i < network->point_count; i++) {
        struct tally *here = network->points[i].is_held ? &held : tally;
        double highest[GRIDS_MOST];
        double lowest[GRIDS_MOST];
        for (int j = 0; j < grids; j++) {
            highest[j] = answers[j].head_max[i];
            lowest[j] = answers[j].head_min[i];
        }
        fine->head_max_band[i] = add_difference(here, highest);
        fine->head_min_band[i] = add_difference(here, lowest);
    }
}

static bool take_bands(struct surge *fine, int point_count, struct arena *arena,
                       struct failure *failure)
{
    size_t points = (size_t)point_count;
    fine->head_max_band = arena_take(arena, points, sizeof(double));
    fine->head_min_band = arena_take(arena, points, sizeof(double));
    bool is_whole = fine->head_max_band != NULL && fine->head_min_band != NULL;
    for (int i = 0; i < fine->run_count; i++) {
        struct surge_run *run = &fine->runs[i];
        run->head_max_band = arena_take(arena, (size_t)run->count, sizeof(double));
        run->head_min_band = arena_take(arena, (size_t)run->count, sizeof(double));
        is_whole = is_whole && run->head_max_band != NULL && run->head_min_band != NULL;
    }
    return is_whole || fail_memory(failure, "surge bands");
}

/* Of the hardest blow, wherever the grids find it. NAN where one of them finds none. */
static void compare_collapses(int grids, struct surge answers[])
{
    struct tally tally = {.grid_count = grids};
    double values[GRIDS_MOST];
    assert(grids >= 2 && grids <= GRIDS_MOST);
    for (int j = 0; j < grids; j++) {
        values[j] = answers[j].collapse.pressure;
    }
    answers[grids - 1].collapse.band = add_difference(&tally, values);
}

static bool are_apart(const struct surge *one, const struct surge *other)
{
    for (int i = 0; i < one->valve_count; i++) {
        if (one->valves[i].shuts != other->valves[i].shuts) {
            return true;
        }
    }
    return false;
}

static struct tally band_heads(struct surge answers[], int grids, const struct network *network)
{
    struct tally tally = {.grid_count = grids,
                          .is_apart = are_apart(&answers[grids - 1], &answers[grids - 2])};
    struct surge *fine = &answers[grids - 1];
    compare_points(&tally, answers, network);
    for (int i = 0; i < fine->run_count; i++) {
        compare_run(grids, answers, i);
    }
    compare_collapses(grids, answers);
    fine->order = observed_order(&tally);
    widen(&tally, 1, &fine->collapse.band);
    widen(&tally, network->point_count, fine->head_max_band);
    widen(&tally, network->point_count, fine->head_min_band);
    for (int i = 0; i < fine->run_count; i++) {
        struct surge_run *run = &fine->runs[i];
        widen(&tally, run->count, run->head_max_band);
        widen(&tally, run->count, run->head_min_band);
    }
    return tally;
}

/* --- valves --- */

enum { VALVE_VELOCITY, VALVE_SLAM, VALVE_FIRST_VELOCITY, VALVE_FIRST_SLAM, VALVE_BANDS };

static double valve_value(const struct surge_valve *valve, int which)
{
    const double values[VALVE_BANDS] = {valve->reverse_velocity, valve->slam_head,
                                        valve->first_reverse_velocity, valve->first_slam_head};
    return values[which];
}

static double *valve_band(struct surge_valve *valve, int which)
{
    double *const bands[VALVE_BANDS] = {&valve->reverse_velocity_band, &valve->slam_head_band,
                                        &valve->first_reverse_velocity_band,
                                        &valve->first_slam_head_band};
    return bands[which];
}

/* Head that goes with each m/s (1: of a head) of what is asked of a valve: its slam over its
 * reverse velocity. 0: it never shut against a flow. */
static double head_of(const struct surge_valve *valve, int which)
{
    if (which == VALVE_SLAM || which == VALVE_FIRST_SLAM) {
        return 1.0;
    }
    const bool is_first = which == VALVE_FIRST_VELOCITY;
    const double velocity = is_first ? valve->first_reverse_velocity : valve->reverse_velocity;
    const double slam = is_first ? valve->first_slam_head : valve->slam_head;
    return velocity > 0.0 ? slam / velocity : 0.0;
}

/* A site has few valves, and what two grids say of one can agree by chance: none counts with less
 * than the heads do, and all fall as these do. */
static void band_valves(struct surge answers[], int grids, const struct tally *heads)
{
    struct surge *fine = &answers[grids - 1];
    for (int which = 0; which < VALVE_BANDS; which++) {
        struct tally tally = {.grid_count = grids};
        for (int i = 0; i < fine->valve_count; i++) {
            struct surge_valve *valve = &fine->valves[i];
            double values[GRIDS_MOST];
            for (int j = 0; j < grids; j++) {
                values[j] = valve_value(&answers[j].valves[i], which);
            }
            *valve_band(valve, which) = add_difference(&tally, values);
        }
        for (int i = 0; i < fine->valve_count; i++) {
            struct surge_valve *valve = &fine->valves[i];
            double *band = valve_band(valve, which);
            const double head = head_of(valve, which);
            const double of_heads = head > 0.0 ? least_difference(heads) / head : 0.0;
            *band = widening(heads) * fmax(*band, fmax(of_heads, least_difference(&tally)));
        }
    }
}

bool surge_run_precisely(const struct site *site, const struct network *network,
                         const struct steady *start, const struct surge_options *options,
                         enum precision precision, struct surge *result, struct arena *arena,
                         struct failure *failure)
{
    struct surge answers[GRIDS_MOST];
    int wanted = precision == PRECISION_QUICK ? 1 : precision == PRECISION_NORMAL ? 2 : 3;
    int grids = run_grids(site, network, start, options, wanted, answers, arena, failure);
    if (grids == 0) {
        return false;
    }
    struct surge *fine = &answers[grids - 1];
    if (grids > 1) {
        if (!take_bands(fine, network->point_count, arena, failure)) {
            return false;
        }
        const struct tally heads = band_heads(answers, grids, network);
        band_valves(answers, grids, &heads);
        fine->grid_count = grids;
    }
    *result = *fine;
    return true;
}
