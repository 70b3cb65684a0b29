#include "io/door/part.h"
#include "io/nearest.h"
#include "models/circle.h"
#include "models/float_valve.h"

#include <math.h>
#include <string.h>

struct float_words {
    const char *tank_name, *curve;
    double open_at, shut_at, loss, bore;
    const struct tank *tank;
    const struct throttling_kind *row;
};

#define FIELD(name) offsetof(struct float_words, name)
static const struct key float_keys[] = {
    {.name = "float valve",
     .kind = KEY_TEXT,
     .offset = FIELD(tank_name),
     .help = "the tank whose level shuts it"},
    {.name = "open at",
     .kind = KEY_QUANTITY,
     .offset = FIELD(open_at),
     .quantity = QUANTITY_LENGTH,
     .is_required = true,
     .help = "level up to which it is fully open"},
    {.name = "shut at",
     .kind = KEY_QUANTITY,
     .offset = FIELD(shut_at),
     .quantity = QUANTITY_LENGTH,
     .is_required = true,
     .help = "level from which it is shut"},
    {.name = "loss",
     .kind = KEY_QUANTITY,
     .offset = FIELD(loss),
     .quantity = QUANTITY_NUMBER,
     .plausible = PLAUSIBLE_LOSS,
     .range = RANGE_POSITIVE,
     .help = "K fully open; else that of its curve"},
    {.name = "curve",
     .kind = KEY_TEXT,
     .offset = FIELD(curve),
     .fallback = "globe",
     .help = "how its loss follows its opening: a kind of throttling valve"},
    {.name = "bore",
     .kind = KEY_QUANTITY,
     .offset = FIELD(bore),
     .quantity = QUANTITY_LENGTH,
     .plausible = PLAUSIBLE_BORE,
     .range = RANGE_POSITIVE,
     .help = "that its loss refers to; else that of the pipe before it"},
};
#undef FIELD

static const struct section float_section = {"part: float valve",
                                             "a valve that the level of a tank shuts",
                                             sizeof float_keys / sizeof *float_keys, float_keys};

static bool find_tank(struct draft *draft, const struct part *part, struct float_words *words)
{
    const char *name = words->tank_name ? words->tank_name : "";
    struct nearest nearest;
    nearest_start(&nearest, name);
    for (int i = 0; i < draft->network->tank_count; i++) {
        if (strcmp(draft->network->tanks[i].name, name) == 0) {
            words->tank = &draft->network->tanks[i];
            return true;
        }
        draft_offer_name(&nearest, draft->network->tanks[i].name);
    }
    if (draft->has_lost_names && !nearest.found) {
        return false; /* most likely the one refused: told there */
    }
    return draft_error(draft, part_child_place(part, "float valve"),
                       "%s: no tank is called '%.60s'%s", part->subject, name,
                       nearest_hint(&(struct hint){{0}}, nearest.found, ""));
}

static bool read(struct draft *draft, struct part *part)
{
    struct float_words *words = part->words;
    const char *nearest = NULL;
    part->bore = words->bore;
    words->row = throttling_catalogue_find(words->curve, &nearest);
    if (!words->row) {
        (void)draft_error(draft, part_child_place(part, "curve"),
                          "%s: no kind of valve '%.60s' in the catalogue%s", part->subject,
                          words->curve, nearest_hint(&(struct hint){{0}}, nearest, ""));
    }
    return find_tank(draft, part, words) && words->row;
}

static bool make(struct draft *draft, struct part *part)
{
    const struct float_words *words = part->words;
    struct failure failure;
    struct float_valve *valve = draft_take(draft, 1, sizeof *valve);
    if (!valve) {
        return false;
    }
    const bool is_stated = isfinite(words->loss);
    valve->valve = (struct throttling){.curve = &words->row->curve,
                                       .area = circle_area(part->bore),
                                       .open_loss = is_stated ? words->loss : words->row->open_loss,
                                       .laminar = is_stated ? 0 : words->row->laminar};
    valve->open_level = words->open_at;
    valve->shut_level = words->shut_at;
    valve->level = words->tank->level;
    part->area = valve->valve.area;
    part->element = &float_valve_element;
    part->data = valve;
    if (!is_stated) {
        draft_assume(draft, part->place, "%s: no loss said; K %.3g taken fully open", part->subject,
                     valve->valve.open_loss);
    }
    return float_valve_check(valve, part->place, &failure) ||
           faults_add_failure(draft->reader.faults, &failure);
}

static const char *const openings[] = {"float valve", NULL};
const struct part_kind float_valve_part = {.word = "float valve",
                                           .openings = openings,
                                           .section = &float_section,
                                           .words_size = sizeof(struct float_words),
                                           .read = read,
                                           .make = make};
