#include "solver/findings/finding.h"

#include <string.h>

enum { FIRST_ROOM = 32 };

void findings_init(struct findings *findings, struct arena *arena)
{
    *findings = (struct findings){.arena = arena};
}

static bool grow(struct findings *findings)
{
    const int room = findings->room ? 2 * findings->room : FIRST_ROOM;
    struct finding *items = arena_take(findings->arena, (size_t)room, sizeof *items);
    if (!items) {
        return false;
    }
    if (findings->count > 0) {
        memcpy(items, findings->items, (size_t)findings->count * sizeof *items);
    }
    findings->items = items;
    findings->room = room;
    return true;
}

void findings_add(struct findings *findings, const struct finding *finding)
{
    if (findings->is_cut || (findings->count == findings->room && !grow(findings))) {
        findings->is_cut = true;
        return;
    }
    findings->items[findings->count++] = *finding;
}

int findings_count(const struct findings *findings, enum finding_level least)
{
    int count = 0;
    for (int i = 0; i < findings->count; i++) {
        count += findings->items[i].level >= least ? 1 : 0;
    }
    return count;
}

const char *finding_level_text(enum finding_level level)
{
    switch (level) {
    case FINDING_NOTE:
        return "note";
    case FINDING_WARNING:
        return "warning";
    case FINDING_FAILED:
        break;
    }
    return "limit exceeded";
}
