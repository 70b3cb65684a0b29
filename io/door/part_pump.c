#include "io/door/part.h"
#include "io/door/read_pumps.h"
#include "io/nearest.h"
#include "models/circle.h"
#include "models/pump_curve.h"

#include <math.h>

struct unit_words {
    const char *pump;
    double speed, bore, flywheel;
    int running, ratchet;
    const struct pump *found;
};

#define FIELD(name) offsetof(struct unit_words, name)
static const struct key unit_keys[] = {
    {.name = "pump",
     .kind = KEY_TEXT,
     .offset = FIELD(pump),
     .is_required = true,
     .help = "one of the section pumps"},
    {.name = "speed",
     .kind = KEY_QUANTITY,
     .offset = FIELD(speed),
     .quantity = QUANTITY_TURNS,
     .range = RANGE_POSITIVE,
     .help = "at which it runs; else that of its curve"},
    {.name = "running",
     .kind = KEY_YES,
     .offset = FIELD(running),
     .fallback = "yes",
     .help = "no: it stands, water may pass through it"},
    {.name = "ratchet",
     .kind = KEY_YES,
     .offset = FIELD(ratchet),
     .fallback = "no",
     .help = "it cannot turn backward"},
    {.name = "flywheel",
     .kind = KEY_QUANTITY,
     .offset = FIELD(flywheel),
     .quantity = QUANTITY_INERTIA,
     .range = RANGE_NOT_NEGATIVE,
     .help = "on its shaft, beside the pump's own inertia"},
    {.name = "bore",
     .kind = KEY_QUANTITY,
     .offset = FIELD(bore),
     .quantity = QUANTITY_LENGTH,
     .plausible = PLAUSIBLE_BORE,
     .range = RANGE_POSITIVE,
     .help = "of its ports; else that of the pipe before it"},
};
#undef FIELD

static const struct section unit_section = {"part: pump", "a pump put into a run",
                                            sizeof unit_keys / sizeof *unit_keys, unit_keys};

static bool read(struct draft *draft, struct part *part)
{
    struct unit_words *words = part->words;
    const char *nearest = NULL;
    const char *name = words->pump ? words->pump : "";
    part->is_pump = true;
    part->bore = words->bore;
    words->found = find_pump(draft, name, &nearest);
    if (!words->found && draft->has_lost_names && !nearest) {
        return false; /* most likely the one refused: told there */
    }
    if (!words->found) {
        return draft_error(
            draft, part_child_place(part, "pump"), "%s: no pump is called '%.60s'%s", part->subject,
            name, nearest_hint(&(struct hint){{0}}, nearest, "; describe it in section pumps"));
    }
    if (!part->name) {
        part->name = words->pump;
    }
    return words->found->count > 0; /* a wrong pump has been told where it stands */
}

static bool make(struct draft *draft, struct part *part)
{
    const struct unit_words *words = part->words;
    struct pump_unit *unit = draft_take(draft, 1, sizeof *unit);
    if (!unit) {
        return false;
    }
    unit->pump = words->found;
    unit->speed = isfinite(words->speed) ? words->speed / words->found->speed : 1;
    unit->is_running = words->running == 1;
    unit->reverse_blocked = words->ratchet == 1;
    unit->flywheel = isfinite(words->flywheel) ? words->flywheel : 0;
    part->area = circle_area(part->bore);
    part->element = words->found->rising ? &rising_pump_element : &pump_element;
    part->data = unit;
    return true;
}

static const char *const openings[] = {"pump", NULL};
const struct part_kind pump_part = {.word = "pump",
                                    .openings = openings,
                                    .section = &unit_section,
                                    .words_size = sizeof(struct unit_words),
                                    .read = read,
                                    .make = make};
