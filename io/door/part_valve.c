#include "io/door/number.h"
#include "io/door/part.h"
#include "io/door/read_types.h"
#include "models/bore_change.h"
#include "models/circle.h"

#include <math.h>
#include <string.h>

struct valve_words {
    const char *type;
    const struct tree *size;
    int mounting, strainer, unions;
    struct valve_numbers numbers;
    bool is_foot;
    double bore; /* m, of its size; NAN: the one nearest the pipe */
};

#define FIELD(name) offsetof(struct valve_words, name)
static const struct key valve_keys[] = {
    {.name = "non-return",
     .kind = KEY_TEXT,
     .offset = FIELD(type),
     .is_required = true,
     .help = "a type of the catalogue, such as spring cone, or of the section types"},
    {.name = "size",
     .kind = KEY_NODE,
     .offset = FIELD(size),
     .help = "such as DN50; else the one nearest the pipe's bore"},
    {.name = "mounting",
     .kind = KEY_CHOICE,
     .offset = FIELD(mounting),
     .choices = "vertical up|level|vertical down|up|horizontal|down",
     .help = "how the pipe stands there, seen with the flow; a foot valve stands vertical up"},
    {.name = "strainer", .kind = KEY_YES, .offset = FIELD(strainer), .help = "it has one"},
    {.name = "unions",
     .kind = KEY_CHOICE,
     .offset = FIELD(unions),
     .choices = "none|before|after|both",
     .help = "beside it, when not listed as parts"},
};
#undef FIELD

static const struct section valve_section = {"part: non-return",
                                             "a non-return valve; its numbers may be stated too",
                                             sizeof valve_keys / sizeof *valve_keys, valve_keys};

/* "DN50", "DN 50" or a length. */
static bool read_size(struct draft *draft, const struct part *part, struct valve_words *words)
{
    static const struct key size_key = {.name = "size",
                                        .kind = KEY_QUANTITY,
                                        .quantity = QUANTITY_LENGTH,
                                        .plausible = PLAUSIBLE_BORE,
                                        .range = RANGE_POSITIVE};
    const struct tree *size = words->size;
    words->bore = NAN;
    if (!size) {
        return true;
    }
    if (size->kind == TREE_TEXT && (strncmp(size->text, "DN", 2) == 0)) {
        double millimetres = 0;
        const char *end = number_read(size->text + 2, &millimetres);
        if (end && *end == '\0' && millimetres >= 4 && millimetres <= 3000) {
            words->bore = millimetres / 1000;
            return true;
        }
        return draft_error(draft, size->place, "%s: size: '%.30s' is not a size such as DN50",
                           part->subject, size->text);
    }
    return key_read_value(&draft->reader, &size_key, size, part->subject, &words->bore);
}

static bool read(struct draft *draft, struct part *part)
{
    struct valve_words *words = part->words;
    part->is_valve = true;
    bool is_good = read_size(draft, part, words);
    part->bore = words->bore;
    is_good = words->type &&
              find_valve_type(draft, words->type, part_child_place(part, "non-return"),
                              &words->is_foot) &&
              is_good;
    part->is_entry = words->is_foot;
    return is_good;
}

/* The mounting is three words, each with a shorter one. */
static enum mounting find_mounting(struct draft *draft, const struct part *part,
                                   const struct valve_words *words)
{
    if (words->mounting >= 0) {
        return (enum mounting)(words->mounting % MOUNTING_COUNT);
    }
    if (words->is_foot) {
        return MOUNTING_UP;
    }
    draft_assume(draft, part->place, "%s '%s': mounting not said; taken as level", part->subject,
                 words->type);
    return MOUNTING_LEVEL;
}

/* K, on the velocity in the valve, of the changes of bore on its two sides that the case does not
 * list. */
static double adaptor_loss(const struct part *part, double bore)
{
    double loss = 0;
    if (isfinite(part->bore_before) && !part->reducer_before) {
        loss += bore_change_between(part->bore_before, bore, bore);
    }
    if (isfinite(part->bore_after) && !part->reducer_after) {
        loss += bore_change_between(bore, part->bore_after, bore);
    }
    return loss;
}

/* Numbers are at hand for each size, but nobody may make such a valve. */
static void doubt_size(struct draft *draft, const struct part *part, const char *name)
{
    const struct non_return_type *type =
        is_own_type(draft, name) ? NULL : non_return_type_find(name, NULL);
    const double slack = 1e-6;
    if (type && isfinite(part->bore) &&
        (part->bore < type->smallest - slack || part->bore > type->largest + slack)) {
        draft_doubt(draft, part->place,
                    "%s '%s': the catalogue has DN%.0f to DN%.0f of it, not DN%.0f; make sure that "
                    "there is one to buy, and state its numbers",
                    part->subject, name, type->smallest * 1e3, type->largest * 1e3,
                    part->bore * 1e3);
    }
}

static bool make(struct draft *draft, struct part *part)
{
    struct valve_words *words = part->words;
    struct valve_choice choice = {.type = words->type,
                                  .bore = words->bore,
                                  .mounting = find_mounting(draft, part, words),
                                  .strainer = words->strainer,
                                  .numbers = &words->numbers,
                                  .place = part->place};
    if (!isfinite(choice.bore)) {
        choice.bore = non_return_size_at(non_return_size_nearest(part->bore));
        draft_assume(draft, part->place,
                     "%s '%s': size not said; DN%.0f taken for a bore of %.1f mm", part->subject,
                     words->type, choice.bore * 1e3, part->bore * 1e3);
    }
    struct non_return *valve = make_valve(draft, &choice);
    if (!valve) {
        return false;
    }
    const double adaptors = adaptor_loss(part, valve->bore);
    if (adaptors > 0) {
        valve->extra_loss += adaptors;
        draft_assume(draft, part->place,
                     "%s '%s': DN%.0f in another bore; K %.3g added for the changes of bore, which "
                     "the list does not have",
                     part->subject, words->type, valve->bore * 1e3, adaptors);
    }
    part->bore = valve->bore;
    doubt_size(draft, part, words->type);
    part->area = circle_area(valve->bore);
    part->element = &non_return_element;
    part->data = valve;
    return true;
}

void valve_part_unions(const struct part *part, bool *before, bool *after)
{
    const struct valve_words *words = part->words;
    *before = words->unions == 1 || words->unions == 3;
    *after = words->unions == 2 || words->unions == 3;
}

static const char *const openings[] = {"non-return", NULL};
const struct part_kind valve_part = {.word = "non-return",
                                     .openings = openings,
                                     .section = &valve_section,
                                     .words_size = sizeof(struct valve_words),
                                     .more = &valve_numbers_section,
                                     .more_offset = offsetof(struct valve_words, numbers),
                                     .read = read,
                                     .make = make};
