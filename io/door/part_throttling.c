#include "io/door/part.h"
#include "io/nearest.h"
#include "models/circle.h"
#include "models/throttling.h"

#include <math.h>
#include <string.h>

struct throttling_words {
    const char *kind;
    double opening, loss, bore;
    struct numbers curve_opening, curve_loss;
    const struct throttling_kind *row;
};

#define FIELD(name) offsetof(struct throttling_words, name)
static const struct key throttling_keys[] = {
    {.name = "valve",
     .kind = KEY_TEXT,
     .offset = FIELD(kind),
     .help = "a kind of the catalogue, such as gate or ball, or any word if its curve is said"},
    {.name = "opening",
     .kind = KEY_QUANTITY,
     .offset = FIELD(opening),
     .quantity = QUANTITY_NUMBER,
     .range = RANGE_SHARE,
     .fallback = "1",
     .help = "share of its travel that it stands open"},
    {.name = "loss",
     .kind = KEY_QUANTITY,
     .offset = FIELD(loss),
     .quantity = QUANTITY_NUMBER,
     .plausible = PLAUSIBLE_LOSS,
     .range = RANGE_POSITIVE,
     .help = "K fully open, instead of the catalogue's"},
    {.name = "curve opening",
     .kind = KEY_QUANTITIES,
     .offset = FIELD(curve_opening),
     .quantity = QUANTITY_NUMBER,
     .range = RANGE_POSITIVE,
     .help = "shares, rising, the last one 1"},
    {.name = "curve loss",
     .kind = KEY_QUANTITIES,
     .offset = FIELD(curve_loss),
     .quantity = QUANTITY_NUMBER,
     .plausible = PLAUSIBLE_LOSS,
     .range = RANGE_POSITIVE,
     .help = "K at these openings"},
    {.name = "bore",
     .kind = KEY_QUANTITY,
     .offset = FIELD(bore),
     .quantity = QUANTITY_LENGTH,
     .plausible = PLAUSIBLE_BORE,
     .range = RANGE_POSITIVE,
     .help = "that its loss refers to; else that of the pipe before it"},
};
#undef FIELD

static const struct section throttling_section = {
    "part: valve", "a valve that somebody opens and shuts",
    sizeof throttling_keys / sizeof *throttling_keys, throttling_keys};

static bool read(struct draft *draft, struct part *part)
{
    struct throttling_words *words = part->words;
    const char *nearest = NULL;
    const char *kind = words->kind ? words->kind : "";
    part->bore = words->bore;
    if (words->curve_opening.count != words->curve_loss.count ||
        words->curve_opening.count > THROTTLING_POINT_MAX) {
        return draft_error(draft, part->place,
                           "%s: 'curve opening' and 'curve loss' go together, number by number, at "
                           "most %d",
                           part->subject, THROTTLING_POINT_MAX);
    }
    words->row = throttling_catalogue_find(kind, &nearest);
    if (words->row || words->curve_opening.count > 0) {
        return true;
    }
    return draft_error(draft, part_child_place(part, "valve"),
                       "%s: no kind of valve '%.60s' in the catalogue%s; or say its 'curve "
                       "opening' and 'curve loss'",
                       part->subject, kind, nearest_hint(&(struct hint){{0}}, nearest, ""));
}

static struct throttling_curve *own_curve(struct draft *draft, const struct part *part,
                                          const struct throttling_words *words)
{
    struct failure failure;
    struct throttling_curve *curve = draft_take(draft, 1, sizeof *curve);
    if (!curve) {
        return NULL;
    }
    curve->name = words->kind ? words->kind : "own";
    curve->count = words->curve_opening.count;
    curve->source = "stated in the case";
    memcpy(curve->opening, words->curve_opening.value, (size_t)curve->count * sizeof(double));
    memcpy(curve->loss, words->curve_loss.value, (size_t)curve->count * sizeof(double));
    if (!throttling_curve_check(curve, part->place, &failure)) {
        (void)faults_add_failure(draft->reader.faults, &failure);
        return NULL;
    }
    return curve;
}

static bool make(struct draft *draft, struct part *part)
{
    const struct throttling_words *words = part->words;
    struct failure failure;
    struct throttling *valve = draft_take(draft, 1, sizeof *valve);
    if (!valve) {
        return false;
    }
    if (words->curve_opening.count > 0) {
        const struct throttling_curve *curve = own_curve(draft, part, words);
        if (!curve) {
            return false;
        }
        valve->curve = curve;
        valve->open_loss = curve->loss[curve->count - 1];
    } else {
        valve->curve = &words->row->curve;
        valve->open_loss = words->row->open_loss;
        valve->laminar = words->row->laminar;
    }
    if (isfinite(words->loss)) {
        valve->open_loss = words->loss;
        valve->laminar = 0;
    }
    valve->opening = words->opening;
    valve->area = circle_area(part->bore);
    part->area = valve->area;
    part->element = &throttling_element;
    part->data = valve;
    return throttling_check(valve, part->place, &failure) ||
           faults_add_failure(draft->reader.faults, &failure);
}

static const char *const openings[] = {"valve", NULL};
const struct part_kind throttling_part = {.word = "valve",
                                          .openings = openings,
                                          .section = &throttling_section,
                                          .words_size = sizeof(struct throttling_words),
                                          .read = read,
                                          .make = make};
