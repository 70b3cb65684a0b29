#include "io/results/choose_sheet.h"

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
    [REQUIREMENT_SUCTION] = {"suction margin ", " m", ", least ", "", 1.0, 2},
    [REQUIREMENT_DEBRIS] = {"clogs: grade ", "", ", most ", "", 1.0, 0},
    [REQUIREMENT_SLAM] = {"slam ", " %", ", most ", " of the class", 100.0, 1},
    [REQUIREMENT_REVERSE] = {"reverse flow ", " m/s", ", most ", "", 1.0, 2},
    [REQUIREMENT_PRESSURE] = {"pressure ", " %", ", most ", " of the class", 100.0, 1},
    [REQUIREMENT_VAPOUR] = {"lowest pressure ", " m", ", least ", " above boiling", 1.0, 1},
};

static void word(const struct wording *wording, const struct judgement *judgement, size_t size,
                 char text[])
{
    if (!wording->before) {
        (void)snprintf(text, size, "%s", wording->after);
        return;
    }
    (void)snprintf(text, size, "%s%.*f%s%s%.*f%s%s", wording->before, wording->decimals,
                   wording->factor * judgement->value, wording->unit, wording->between,
                   wording->decimals, wording->factor * judgement->limit, wording->unit,
                   wording->after);
}

void choose_reasons(const struct candidate *candidate, enum verdict verdict, size_t size,
                    char text[])
{
    size_t at = 0;
    text[0] = '\0';
    for (int i = 0; i < REQUIREMENT_COUNT; i++) {
        char one[128];
        if (candidate->judgements[i].verdict != verdict) {
            continue;
        }
        word(&wordings[i], &candidate->judgements[i], sizeof one, one);
        if (at + strlen(one) + 3 > size) {
            return;
        }
        at += (size_t)snprintf(text + at, size - at, "%s%s", at > 0 ? "; " : "", one);
    }
}
