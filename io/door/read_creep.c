#include "io/door/read_creep.h"

#include <string.h>

struct creep_words {
    struct numbers compliance, time;
};

#define FIELD(name) offsetof(struct creep_words, name)
static const struct key creep_keys[] = {
    {.name = "compliance",
     .kind = KEY_QUANTITIES,
     .offset = FIELD(compliance),
     .quantity = QUANTITY_COMPLIANCE,
     .range = RANGE_POSITIVE,
     .is_required = true,
     .help = "of each Kelvin-Voigt element"},
    {.name = "time",
     .kind = KEY_QUANTITIES,
     .offset = FIELD(time),
     .quantity = QUANTITY_TIME,
     .range = RANGE_POSITIVE,
     .is_required = true,
     .help = "in which each element follows"},
};
#undef FIELD

const struct section creep_section = {"part: pipe, creep", "how its wall goes on stretching",
                                      sizeof creep_keys / sizeof *creep_keys, creep_keys};

bool read_creep(struct draft *draft, const struct tree *node, const char *subject,
                const struct wall **material)
{
    struct creep_words words;
    const struct target targets[] = {{&creep_section, &words}};
    if (!keys_read(&draft->reader, node, keys_subject(&draft->reader, subject, "creep"), 1,
                   targets)) {
        return false;
    }
    if (*material == NULL) {
        return draft_error(draft, node->place,
                           "%s: with its 'creep' say its 'material', or 'modulus' and 'poisson'",
                           subject);
    }
    if (words.compliance.count != words.time.count || words.time.count > WALL_CREEP_MAX) {
        return draft_error(draft, node->place,
                           "%s: creep: %d compliances and %d times; it takes as many of one as of "
                           "the other, at most %d",
                           subject, words.compliance.count, words.time.count, WALL_CREEP_MAX);
    }
    struct wall *own = draft_take(draft, 1, sizeof *own);
    if (own == NULL) {
        return false;
    }
    *own = **material;
    own->creep_count = words.time.count;
    memcpy(own->creep_compliance, words.compliance.value,
           (size_t)own->creep_count * sizeof(double));
    memcpy(own->creep_time, words.time.value, (size_t)own->creep_count * sizeof(double));
    own->creep_source = "stated in the case";
    *material = own;
    return true;
}
