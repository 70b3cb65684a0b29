#include "solver/surge/sizing_judge.h"

#include "solver/surge/profile.h"

#include <math.h>
#include <stddef.h>

/* Metres of head that count as much as the whole of a share. */
static const double head_scale = 10.0;

/* A measure's worst value with the band there (NAN: one grid only, or a maker's value). Elsewhere a
 * band may be wide and reach beyond, as beside a wave's front, whose place differs from grid to
 * grid; the worst value itself does not hang on that. */
struct worst {
    double value;
    double band;
};

static const struct worst nothing = {NAN, NAN};

static void add(struct worst *worst, double value, double band, bool is_lowest)
{
    const double sign = is_lowest ? -1.0 : 1.0;
    if (profile_is_worse(sign * value, band, sign * worst->value, worst->band)) {
        *worst = (struct worst){value, band};
    }
}

static double band_at(const double band[], int station)
{
    return band == NULL ? (double)NAN : band[station];
}

static void add_run(struct worst *worst, const struct surge_run *run, enum sizing_measure measure)
{
    const bool is_lowest = measure == SIZING_LOWEST;
    for (int i = 0; i < run->count; i++) {
        const double share = measure == SIZING_CLASS ? run->allowed[i] : 1.0;
        const double head = is_lowest ? run->head_min[i] : run->head_max[i];
        const double band = band_at(is_lowest ? run->head_min_band : run->head_max_band, i);
        add(worst, (head - run->elevation[i]) / share, band / share, is_lowest);
    }
}

/* Where its maker states a curve, that rules over what was computed. */
static void add_valve(struct worst *worst, const struct surge_valve *valve,
                      enum sizing_measure measure)
{
    const bool is_slam = measure == SIZING_SLAM;
    if (valve->has_shut && isfinite(valve->stated_reverse_velocity)) {
        add(worst, is_slam ? valve->stated_slam_head : valve->stated_reverse_velocity, NAN, false);
    } else if (is_slam) {
        add(worst, valve->slam_head, valve->slam_head_band, false);
    } else {
        add(worst, valve->reverse_velocity, valve->reverse_velocity_band, false);
    }
}

static struct worst find_worst(const struct surge *surge, const struct sizing_limit *limit)
{
    struct worst worst = nothing;
    if (limit->measure == SIZING_REVERSE || limit->measure == SIZING_SLAM) {
        for (int i = 0; i < surge->valve_count; i++) {
            add_valve(&worst, &surge->valves[i], limit->measure);
        }
        return worst;
    }
    for (int i = 0; i < surge->run_count; i++) {
        const struct surge_run *run = &surge->runs[i];
        if (limit->run == NETWORK_NONE || run->run == limit->run) {
            add_run(&worst, run, limit->measure);
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

static bool has_run_empty(const struct sizing_wish *wish, const struct surge *surge)
{
    for (int i = 0; i < surge->protection.vessel_count; i++) {
        const struct surge_vessel *vessel = &surge->protection.vessels[i];
        if (vessel->link == wish->link && vessel->has_run_empty) {
            return true;
        }
    }
    return false;
}

void sizing_judge(const struct sizing_wish *wish, const struct surge *surge, struct sizing_try *try)
{
    /* A finer grid that found no answer leaves that of the coarser. */
    const bool is_short = surge->ending == SURGE_DONE && surge->grid_count < try->grid_count;
    double by_values = HUGE_VAL;
    try->ending = is_short ? SURGE_GROUP_FAILED : surge->ending;
    try->margin = HUGE_VAL;
    for (int i = 0; i < wish->limit_count; i++) {
        const struct sizing_limit *limit = &wish->limits[i];
        const struct worst worst = find_worst(surge, limit);
        const double width = isfinite(worst.band) ? worst.band : 0.0;
        const bool is_lowest = limit->measure == SIZING_LOWEST;
        const double edge = is_lowest ? worst.value - width : worst.value + width;
        try->value[i] = worst.value;
        try->band[i] = worst.band;
        /* Where there is nothing to measure there is nothing to break. */
        by_values = fmin(by_values, find_margin(limit, worst.value));
        try->margin = fmin(try->margin, find_margin(limit, edge));
    }
    try->has_run_empty = has_run_empty(wish, surge);
    const bool has_answer = try->ending == SURGE_DONE && !try->has_run_empty;
    try->is_kept = has_answer && try->margin >= 0.0;
    try->is_doubtful = has_answer && by_values >= 0.0 && !try->is_kept;
}
