#include "solver/study/failed.h"

#include <math.h>

/* Limits of the table in the header. */
static const double SHARE_NEAR = 0.9;
static const double SHARE_ALLOWED = 1.0;
static const double SHARE_HIGHER = 1.01; /* than that of the sound site */
static const double MARGIN_SMALL = 2.0;  /* m */
static const double HOUR = 3600.0;       /* s */
static const double DAY = 86400.0;       /* s */
static const double WATER_MOST = 0.95;
static const double WATER_HALF = 0.5;
static const double WATER_NONE = 0.05;
static const double BACK_LITTLE = 0.05;
static const double BACK_HALF = 0.5;
static const double SPEED_HALF = -0.5;
static const double SPEED_RATED = -1.0;

const char *severity_text(enum severity severity)
{
    static const char *const texts[] = {"bearable", "slight", "serious", "grave", "not known"};
    return texts[severity];
}

const char *consequence_text(enum consequence consequence)
{
    static const char *const texts[CONSEQUENCE_COUNT] = {
        [CONSEQUENCE_PRESSURE] = "pressure",    [CONSEQUENCE_BOILING] = "boiling",
        [CONSEQUENCE_OVERFLOW] = "flood",       [CONSEQUENCE_DRY] = "dry tank",
        [CONSEQUENCE_WATER] = "water lacking",  [CONSEQUENCE_PRIME] = "lost prime",
        [CONSEQUENCE_BACK] = "water runs back", [CONSEQUENCE_SPIN] = "pump spins back"};
    return texts[consequence];
}

bool failed_is_valve(const struct failed *item)
{
    return item->kind >= FAILED_STUCK_OPEN && item->kind <= FAILED_SPRING_GONE;
}

/* --- each consequence --- */

static enum severity of_pressure(const struct failed *item, const struct failed *sound)
{
    const bool is_own =
        !failed_is_valve(item) || item->highest_share > SHARE_HIGHER * sound->highest_share;
    if (item->highest_share > SHARE_ALLOWED) {
        return is_own ? SEVERITY_GRAVE : SEVERITY_SLIGHT;
    }
    return item->highest_share > SHARE_NEAR ? SEVERITY_SLIGHT : SEVERITY_NONE;
}

static enum severity of_boiling(const struct failed *item, const struct failed *sound)
{
    if (item->lowest_margin <= 0.0) {
        return failed_is_valve(item) && sound->lowest_margin <= 0.0 ? SEVERITY_SLIGHT
                                                                    : SEVERITY_GRAVE;
    }
    return item->lowest_margin < MARGIN_SMALL ? SEVERITY_SLIGHT : SEVERITY_NONE;
}

static enum severity of_time(double time)
{
    if (isnan(time)) {
        return SEVERITY_NONE;
    }
    return time < HOUR ? SEVERITY_GRAVE : time < DAY ? SEVERITY_SERIOUS : SEVERITY_SLIGHT;
}

static enum severity of_water(const struct failed *item, const struct failed *sound)
{
    const double share = item->delivered / sound->delivered;
    if (!(share < WATER_MOST)) { /* also where no pump runs */
        return SEVERITY_NONE;
    }
    return share < WATER_NONE   ? SEVERITY_GRAVE
           : share < WATER_HALF ? SEVERITY_SERIOUS
                                : SEVERITY_SLIGHT;
}

static enum severity of_back(const struct failed *item, const struct failed *sound)
{
    if (!(item->flow_back > 0.0)) {
        return SEVERITY_NONE;
    }
    const double share = item->flow_back / sound->delivered;
    return share > BACK_HALF     ? SEVERITY_GRAVE
           : share > BACK_LITTLE ? SEVERITY_SERIOUS
                                 : SEVERITY_SLIGHT;
}

static enum severity of_spin(const struct failed *item)
{
    if (!(item->lowest_speed < 0.0)) {
        return SEVERITY_NONE;
    }
    return item->lowest_speed < SPEED_RATED  ? SEVERITY_GRAVE
           : item->lowest_speed < SPEED_HALF ? SEVERITY_SERIOUS
                                             : SEVERITY_SLIGHT;
}

void failed_grade(struct failed *item, const struct failed *sound)
{
    enum severity *severity = item->severity;
    severity[CONSEQUENCE_PRESSURE] = of_pressure(item, sound);
    severity[CONSEQUENCE_BOILING] = of_boiling(item, sound);
    severity[CONSEQUENCE_OVERFLOW] = of_time(item->overflow_time);
    severity[CONSEQUENCE_DRY] = of_time(item->dry_time);
    severity[CONSEQUENCE_WATER] = of_water(item, sound);
    severity[CONSEQUENCE_PRIME] = item->loses_prime ? SEVERITY_SERIOUS : SEVERITY_NONE;
    severity[CONSEQUENCE_BACK] = of_back(item, sound);
    severity[CONSEQUENCE_SPIN] = of_spin(item);
    item->worst = SEVERITY_NONE;
    item->what = CONSEQUENCE_PRESSURE;
    for (int i = 0; i < CONSEQUENCE_COUNT; i++) {
        if (severity[i] > item->worst) {
            item->worst = severity[i];
            item->what = (enum consequence)i;
        }
    }
    item->worst = item->is_solved ? item->worst : SEVERITY_UNKNOWN;
}

/* --- the order --- */

static double soonest(const struct failed *item)
{
    const double time = fmin(item->overflow_time, item->dry_time);
    return isnan(time) ? (double)INFINITY : time;
}

/* How many consequences are as grave as the worst. */
static int count_worst(const struct failed *item)
{
    int count = 0;
    for (int i = 0; i < CONSEQUENCE_COUNT; i++) {
        count += item->severity[i] == item->worst;
    }
    return count;
}

/* Below 0: `a` stands before `b`, as it is the larger; NAN is the least. */
static int by_size(double a, double b)
{
    if (isnan(a) || isnan(b)) {
        return (isnan(a) != 0) - (isnan(b) != 0);
    }
    return (a < b) - (a > b);
}

int failed_compare(const void *left, const void *right)
{
    const struct failed *a = left;
    const struct failed *b = right;
    const bool is_pressure = a->what == CONSEQUENCE_PRESSURE && a->worst != SEVERITY_NONE;
    const int orders[] = {
        (int)b->worst - (int)a->worst,
        (int)a->what - (int)b->what,
        count_worst(b) - count_worst(a),
        is_pressure ? by_size(a->highest_share, b->highest_share) : 0,
        by_size(-soonest(a), -soonest(b)),
        by_size(a->flow_back, b->flow_back),
        by_size(-a->lowest_speed, -b->lowest_speed),
        a->link - b->link,
    };
    for (size_t i = 0; i < sizeof orders / sizeof *orders; i++) {
        if (orders[i] != 0) {
            return orders[i];
        }
    }
    return (int)a->kind - (int)b->kind;
}
