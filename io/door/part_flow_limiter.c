#include "io/door/part.h"
#include "models/circle.h"
#include "models/flow_limiter.h"

#include <math.h>

struct limiter_words {
    double limit, loss, bore;
    int one_way;
};

#define FIELD(name) offsetof(struct limiter_words, name)
static const struct key limiter_keys[] = {
    {.name = "flow limiter",
     .kind = KEY_QUANTITY,
     .offset = FIELD(limit),
     .quantity = QUANTITY_FLOW,
     .range = RANGE_POSITIVE,
     .help = "the most it lets pass"},
    {.name = "loss",
     .kind = KEY_QUANTITY,
     .offset = FIELD(loss),
     .quantity = QUANTITY_NUMBER,
     .plausible = PLAUSIBLE_LOSS,
     .range = RANGE_POSITIVE,
     .is_required = true,
     .help = "K below its limit"},
    {.name = "one way",
     .kind = KEY_YES,
     .offset = FIELD(one_way),
     .fallback = "no",
     .help = "it lets nothing back"},
    {.name = "bore",
     .kind = KEY_QUANTITY,
     .offset = FIELD(bore),
     .quantity = QUANTITY_LENGTH,
     .plausible = PLAUSIBLE_BORE,
     .range = RANGE_POSITIVE,
     .help = "that its loss refers to; else that of the pipe before it"},
};
#undef FIELD

static const struct section limiter_section = {
    "part: flow limiter", "a part that lets no more than a given flow pass",
    sizeof limiter_keys / sizeof *limiter_keys, limiter_keys};

static bool read(struct draft *draft, struct part *part)
{
    (void)draft;
    const struct limiter_words *words = part->words;
    part->bore = words->bore;
    return true;
}

static bool make(struct draft *draft, struct part *part)
{
    const struct limiter_words *words = part->words;
    struct failure failure;
    struct flow_limiter *limiter = draft_take(draft, 1, sizeof *limiter);
    if (!limiter) {
        return false;
    }
    *limiter = (struct flow_limiter){.area = circle_area(part->bore),
                                     .loss = words->loss,
                                     .limit = words->limit,
                                     .is_one_way = words->one_way == 1};
    part->area = limiter->area;
    part->element = &flow_limiter_element;
    part->data = limiter;
    return flow_limiter_check(limiter, part->place, &failure) ||
           faults_add_failure(draft->reader.faults, &failure);
}

static const char *const openings[] = {"flow limiter", NULL};
const struct part_kind flow_limiter_part = {.word = "flow limiter",
                                            .openings = openings,
                                            .section = &limiter_section,
                                            .words_size = sizeof(struct limiter_words),
                                            .read = read,
                                            .make = make};
