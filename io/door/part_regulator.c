#include "io/door/part.h"
#include "models/circle.h"
#include "models/regulator.h"

#include <math.h>

struct regulator_words {
    const struct tree *regulator;
    double behind, before, loss, bore, stroke;
};

#define FIELD(name) offsetof(struct regulator_words, name)
static const struct key regulator_keys[] = {
    {.name = "regulator",
     .kind = KEY_NODE,
     .offset = FIELD(regulator),
     .help = "a word of your own, or nothing"},
    {.name = "pressure behind",
     .kind = KEY_QUANTITY,
     .offset = FIELD(behind),
     .quantity = QUANTITY_HEAD,
     .range = RANGE_NOT_NEGATIVE,
     .help = "it lets no more stand there"},
    {.name = "pressure before",
     .kind = KEY_QUANTITY,
     .offset = FIELD(before),
     .quantity = QUANTITY_HEAD,
     .range = RANGE_NOT_NEGATIVE,
     .help = "it keeps at least so much"},
    {.name = "loss",
     .kind = KEY_QUANTITY,
     .offset = FIELD(loss),
     .quantity = QUANTITY_NUMBER,
     .plausible = PLAUSIBLE_LOSS,
     .range = RANGE_POSITIVE,
     .is_required = true,
     .help = "K fully open"},
    {.name = "bore",
     .kind = KEY_QUANTITY,
     .offset = FIELD(bore),
     .quantity = QUANTITY_LENGTH,
     .plausible = PLAUSIBLE_BORE,
     .range = RANGE_POSITIVE,
     .help = "that its loss refers to; else that of the pipe before it"},
    {.name = "stroke",
     .kind = KEY_QUANTITY,
     .offset = FIELD(stroke),
     .quantity = QUANTITY_TIME,
     .plausible = PLAUSIBLE_SURGE_TIME,
     .range = RANGE_NOT_NEGATIVE,
     .help = "time from shut to fully open in a surge; 5 s if not said"},
};
#undef FIELD

static const struct section regulator_section = {
    "part: regulator", "throttles by itself to hold a pressure",
    sizeof regulator_keys / sizeof *regulator_keys, regulator_keys};

static bool read(struct draft *draft, struct part *part)
{
    const struct regulator_words *words = part->words;
    part->bore = words->bore;
    return isfinite(words->behind) || isfinite(words->before) ||
           draft_error(draft, part->place,
                       "%s: say the 'pressure behind' or the 'pressure before' that it holds",
                       part->subject);
}

static bool make(struct draft *draft, struct part *part)
{
    const struct regulator_words *words = part->words;
    struct failure failure;
    struct regulator *regulator = draft_take(draft, 1, sizeof *regulator);
    if (!regulator) {
        return false;
    }
    part->area = circle_area(part->bore);
    *regulator = (struct regulator){.area = part->area,
                                    .open_loss = words->loss,
                                    .most_behind = (double)INFINITY,
                                    .least_before = -(double)INFINITY,
                                    .stroke = regulator_usual_stroke};
    if (isfinite(words->stroke)) {
        regulator->stroke = words->stroke;
    } else {
        draft_assume(
            draft, part->place,
            "%s: no stroke said; in a surge %.0f s taken from shut to open (common practice)",
            part->subject, regulator_usual_stroke);
    }
    if (isfinite(words->behind)) {
        regulator->most_behind = part->elevation_to + words->behind;
    }
    if (isfinite(words->before)) {
        regulator->least_before = part->elevation_from + words->before;
    }
    part->element = &regulator_element;
    part->data = regulator;
    return regulator_check(regulator, part->place, &failure) ||
           faults_add_failure(draft->reader.faults, &failure);
}

static const char *const openings[] = {"regulator", NULL};
const struct part_kind regulator_part = {.word = "regulator",
                                         .openings = openings,
                                         .section = &regulator_section,
                                         .words_size = sizeof(struct regulator_words),
                                         .read = read,
                                         .make = make};
