#include "io/results/choose_sheet.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

/* How a missed requirement is told: "<before><value><unit><between><limit><after>". */
struct wording {
    const char *before; /* NULL: `after` alone says it, without numbers */
    const char *unit;
    const char *between;
    const char *after;
    double factor;
    int decimals;
};

static const struct wording wordings[REQUIREMENT_COUNT] = {
    [REQUIREMENT_MOUNTING] = {NULL, "", "", "may not stand the way this pipe runs", 1.0, 0},
    [REQUIREMENT_OPENS] = {NULL, "", "", "does not open", 1.0, 0},
    [REQUIREMENT_FLOW] = {"lets through ", " %", ", least ", " of the flow", 100.0, 1},
    [REQUIREMENT_SEATS] = {"back head at rest ", " m", ", needs ", " to be tight", 1.0, 2},
    [REQUIREMENT_HOLDS] = {"back head at rest ", " m", ", holds ", " at most", 1.0, 1},
    [REQUIREMENT_SUCTION] = {"suction margin ", " m", ", least ", "", 1.0, 2},
    [REQUIREMENT_DEBRIS] = {"clogs: grade ", "", ", most ", "", 1.0, 0},
    [REQUIREMENT_SLAM] = {"slam ", " %", ", most ", " of the class", 100.0, 1},
    [REQUIREMENT_REVERSE] = {"reverse flow ", " m/s", ", most ", "", 1.0, 2},
    [REQUIREMENT_PRESSURE] = {"pressure ", " %", ", most ", " of the class", 100.0, 1},
    [REQUIREMENT_VAPOUR] = {"lowest pressure ", " m", ", least ", " above boiling", 1.0, 1},
};

/* What no valve is pressed shut by: water that runs on by itself. */
static const struct wording runs_on = {
    "no valve shuts at rest, for water runs on by itself (back head ",
    " m",
    ", would need ",
    ")",
    1.0,
    2};

/* No "-0.0". */
static double rounded(double value, int decimals)
{
    return fabs(value) < 0.5 * pow(10.0, -decimals) ? 0.0 : value;
}

/* Enough of them that what misses its limit by little does not read as the limit itself. */
static int decimals_apart(double value, double limit, int least)
{
    enum { MOST = 4 };
    int decimals = least;
    while (decimals < MOST && fabs(value - limit) < pow(10.0, -decimals)) {
        decimals++;
    }
    return decimals;
}

static void word(const struct wording *wording, const struct judgement *judgement, size_t size,
                 char text[])
{
    if (!wording->before) {
        (void)snprintf(text, size, "%s", wording->after);
        return;
    }
    const double value = wording->factor * judgement->value;
    const double limit = wording->factor * judgement->limit;
    const int decimals = decimals_apart(value, limit, wording->decimals);
    (void)snprintf(text, size, "%s%.*f%s%s%.*f%s%s", wording->before, decimals,
                   rounded(value, decimals), wording->unit, wording->between, decimals,
                   rounded(limit, decimals), wording->unit, wording->after);
}

static bool is_of_surge(enum requirement requirement)
{
    switch (requirement) {
    case REQUIREMENT_SLAM:
    case REQUIREMENT_REVERSE:
    case REQUIREMENT_PRESSURE:
    case REQUIREMENT_VAPOUR:
        return true;
    case REQUIREMENT_MOUNTING:
    case REQUIREMENT_OPENS:
    case REQUIREMENT_FLOW:
    case REQUIREMENT_SEATS:
    case REQUIREMENT_HOLDS:
    case REQUIREMENT_SUCTION:
    case REQUIREMENT_DEBRIS:
    case REQUIREMENT_COUNT:
        break;
    }
    return false;
}

const char *choose_case_name(const struct envelope *envelope, enum requirement requirement,
                             const struct judgement *judgement)
{
    if (judgement->at == NETWORK_NONE) {
        return "";
    }
    if (is_of_surge(requirement)) {
        return envelope->trips[judgement->at].name;
    }
    if (requirement == REQUIREMENT_SEATS || requirement == REQUIREMENT_HOLDS ||
        requirement == REQUIREMENT_MOUNTING) {
        return envelope->sites[envelope->conditions[judgement->at].site].name;
    }
    return envelope->conditions[judgement->at].name;
}

void choose_reasons(const struct envelope *envelope, const struct judgement judgements[],
                    enum verdict verdict, size_t size, char text[])
{
    size_t at = 0;
    text[0] = '\0';
    for (int i = 0; i < REQUIREMENT_COUNT; i++) {
        char one[128];
        if (judgements[i].verdict != verdict) {
            continue;
        }
        /* With one case there is nothing to tell apart. */
        const bool has_cases = envelope->condition_count > 1 || envelope->trip_count > 1;
        const char *where =
            has_cases ? choose_case_name(envelope, (enum requirement)i, &judgements[i]) : "";
        const bool is_running_on = i == REQUIREMENT_SEATS && verdict == VERDICT_SITE;
        word(is_running_on ? &runs_on : &wordings[i], &judgements[i], sizeof one, one);
        if (at + strlen(one) + strlen(where) + 6 > size) {
            return;
        }
        at += (size_t)snprintf(text + at, size - at, "%s%s%s%s%s", at > 0 ? "; " : "", one,
                               *where ? " (" : "", where, *where ? ")" : "");
    }
}

static size_t add_pair(const struct valve_set *a, const struct valve_set *b, size_t used,
                       size_t size, char text[])
{
    enum { LONGEST = 40 };
    if (a->rank == 0 || b->rank == 0 || !valve_set_is_near(a, b) || used + LONGEST > size) {
        return used;
    }
    return used + (size_t)snprintf(text + used, size - used, "%s%d and %d", used ? ", " : "",
                                   a->rank, b->rank);
}

void choose_open_ranks(const struct choose *choose, size_t size, char text[])
{
    const struct valve_set *sets = choose->sets;
    size_t used = 0;
    text[0] = '\0';
    for (int i = 1; i < choose->set_count; i++) {
        used = add_pair(&sets[0], &sets[i], used, size, text);
    }
    for (int i = 2; i < choose->set_count; i++) {
        used = add_pair(&sets[i - 1], &sets[i], used, size, text);
    }
}
