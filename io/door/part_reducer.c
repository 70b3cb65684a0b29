#include "io/door/part.h"
#include "models/circle.h"
#include "models/reducer.h"

#include <math.h>

struct reducer_words {
    const struct tree *reducer;
    double angle, from, to;
};

#define FIELD(name) offsetof(struct reducer_words, name)
static const struct key reducer_keys[] = {
    {.name = "reducer",
     .kind = KEY_NODE,
     .offset = FIELD(reducer),
     .help = "between the pipes beside it; a word of your own, or nothing"},
    {.name = "angle",
     .kind = KEY_QUANTITY,
     .offset = FIELD(angle),
     .quantity = QUANTITY_ANGLE,
     .range = RANGE_POSITIVE,
     .help = "full angle of its cone; else it is sudden"},
    {.name = "bore from",
     .kind = KEY_QUANTITY,
     .offset = FIELD(from),
     .quantity = QUANTITY_LENGTH,
     .plausible = PLAUSIBLE_BORE,
     .range = RANGE_POSITIVE,
     .help = "else that of the pipe before it"},
    {.name = "bore to",
     .kind = KEY_QUANTITY,
     .offset = FIELD(to),
     .quantity = QUANTITY_LENGTH,
     .plausible = PLAUSIBLE_BORE,
     .range = RANGE_POSITIVE,
     .help = "else that of the pipe after it"},
};
#undef FIELD

static const struct section reducer_section = {
    "part: reducer", "a change of bore", sizeof reducer_keys / sizeof *reducer_keys, reducer_keys};

static bool read(struct draft *draft, struct part *part)
{
    (void)draft;
    const struct reducer_words *words = part->words;
    part->bore = words->to;
    return true;
}

static bool make(struct draft *draft, struct part *part)
{
    const struct reducer_words *words = part->words;
    struct failure failure;
    struct reducer *reducer = draft_take(draft, 1, sizeof *reducer);
    if (!reducer) {
        return false;
    }
    reducer->bore_from = isfinite(words->from) ? words->from : part->bore_before;
    reducer->bore_to = isfinite(words->to) ? words->to : part->bore_after;
    reducer->angle = isfinite(words->angle) ? words->angle : 0;
    if (!isfinite(reducer->bore_from) || !isfinite(reducer->bore_to)) {
        return draft_error(draft, part->place,
                           "%s: it stands at an end of its run; say its 'bore %s'", part->subject,
                           isfinite(reducer->bore_from) ? "to" : "from");
    }
    if (!reducer_init(reducer, part->place, &failure)) {
        return faults_add_failure(draft->reader.faults, &failure);
    }
    part->area = circle_area(fmin(reducer->bore_from, reducer->bore_to));
    part->element = &reducer_element;
    part->data = reducer;
    return true;
}

static const char *const openings[] = {"reducer", NULL};
const struct part_kind reducer_part = {.word = "reducer",
                                       .openings = openings,
                                       .section = &reducer_section,
                                       .words_size = sizeof(struct reducer_words),
                                       .read = read,
                                       .make = make};
