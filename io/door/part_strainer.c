#include "io/door/part.h"
#include "models/circle.h"
#include "models/strainer.h"

#include <math.h>
#include <string.h>

struct strainer_words {
    const struct tree *strainer;
    double loss, free_share, screen_area, blocked, bore;
};

#define FIELD(name) offsetof(struct strainer_words, name)
static const struct key strainer_keys[] = {
    {.name = "strainer",
     .kind = KEY_NODE,
     .offset = FIELD(strainer),
     .help = "plate or screen with its free share, or any word with its loss"},
    {.name = "loss",
     .kind = KEY_QUANTITY,
     .offset = FIELD(loss),
     .quantity = QUANTITY_NUMBER,
     .plausible = PLAUSIBLE_LOSS,
     .range = RANGE_POSITIVE,
     .help = "K, clean, on the velocity in its bore"},
    {.name = "free share",
     .kind = KEY_QUANTITY,
     .offset = FIELD(free_share),
     .quantity = QUANTITY_NUMBER,
     .range = RANGE_SHARE,
     .help = "of the area: its holes"},
    {.name = "screen area",
     .kind = KEY_QUANTITY,
     .offset = FIELD(screen_area),
     .quantity = QUANTITY_AREA,
     .range = RANGE_POSITIVE,
     .help = "of the whole plate or screen"},
    {.name = "blocked",
     .kind = KEY_QUANTITY,
     .offset = FIELD(blocked),
     .quantity = QUANTITY_NUMBER,
     .range = RANGE_SHARE,
     .fallback = "0",
     .help = "share of the free area that dirt has taken"},
    {.name = "bore",
     .kind = KEY_QUANTITY,
     .offset = FIELD(bore),
     .quantity = QUANTITY_LENGTH,
     .plausible = PLAUSIBLE_BORE,
     .range = RANGE_POSITIVE,
     .help = "that its loss refers to; else that of the pipe before it"},
};
#undef FIELD

static const struct section strainer_section = {"part: strainer", "a screen in the stream",
                                                sizeof strainer_keys / sizeof *strainer_keys,
                                                strainer_keys};

static bool is_called(const struct strainer_words *words, const char *name)
{
    return words->strainer && words->strainer->kind == TREE_TEXT &&
           strcmp(words->strainer->text, name) == 0;
}

static bool read(struct draft *draft, struct part *part)
{
    const struct strainer_words *words = part->words;
    const bool is_computed = is_called(words, "plate") || is_called(words, "screen");
    part->bore = words->bore;
    if (isfinite(words->loss) || (is_computed && isfinite(words->free_share))) {
        return true;
    }
    return draft_error(draft, part->place,
                       "%s: say its 'loss', or '%s' with its 'free share' and 'screen area'",
                       part->subject, is_computed ? words->strainer->text : "plate");
}

static bool make(struct draft *draft, struct part *part)
{
    const struct strainer_words *words = part->words;
    struct failure failure;
    struct strainer *strainer = draft_take(draft, 1, sizeof *strainer);
    if (!strainer) {
        return false;
    }
    strainer->area = circle_area(part->bore);
    strainer->blocked = words->blocked;
    if (isfinite(words->loss)) {
        strainer->clean_loss = words->loss;
    } else {
        const double loss = is_called(words, "plate") ? strainer_plate_loss(words->free_share)
                                                      : strainer_screen_loss(words->free_share);
        strainer->clean_loss = isfinite(words->screen_area)
                                   ? strainer_refer(loss, words->screen_area, strainer->area)
                                   : loss;
    }
    part->area = strainer->area;
    part->element = &strainer_element;
    part->data = strainer;
    return strainer_check(strainer, part->place, &failure) ||
           faults_add_failure(draft->reader.faults, &failure);
}

static const char *const openings[] = {"strainer", NULL};
const struct part_kind strainer_part = {.word = "strainer",
                                        .openings = openings,
                                        .section = &strainer_section,
                                        .words_size = sizeof(struct strainer_words),
                                        .read = read,
                                        .make = make};
