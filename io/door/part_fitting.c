#include "io/door/part.h"
#include "io/nearest.h"
#include "models/circle.h"
#include "models/fitting.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

struct fitting_words {
    const struct tree *fitting, *bend, *elbow, *mitre, *tee, *union_, *entry, *exit;
    double loss, loss_back, resistance, bore;
    int count;
    /* found by read */
    const char *name;
    const struct fitting_kind *row;
};

#define FIELD(name) offsetof(struct fitting_words, name)
static const struct key fitting_keys[] = {
    {.name = "fitting",
     .kind = KEY_NODE,
     .offset = FIELD(fitting),
     .help = "any of the catalogue, such as tee through"},
    {.name = "bend", .kind = KEY_NODE, .offset = FIELD(bend), .help = "with its angle: 90 deg"},
    {.name = "elbow", .kind = KEY_NODE, .offset = FIELD(elbow), .help = "with its angle"},
    {.name = "mitre", .kind = KEY_NODE, .offset = FIELD(mitre), .help = "with its angle"},
    {.name = "tee", .kind = KEY_NODE, .offset = FIELD(tee), .help = "through or branch"},
    {.name = "union", .kind = KEY_NODE, .offset = FIELD(union_), .help = "it can be undone here"},
    {.name = "entry", .kind = KEY_NODE, .offset = FIELD(entry), .help = "from a tank"},
    {.name = "exit", .kind = KEY_NODE, .offset = FIELD(exit), .help = "to a tank"},
    {.name = "loss",
     .kind = KEY_QUANTITY,
     .offset = FIELD(loss),
     .quantity = QUANTITY_NUMBER,
     .plausible = PLAUSIBLE_LOSS,
     .range = RANGE_NOT_NEGATIVE,
     .help = "K of one, instead of the catalogue's"},
    {.name = "loss back",
     .kind = KEY_QUANTITY,
     .offset = FIELD(loss_back),
     .quantity = QUANTITY_NUMBER,
     .plausible = PLAUSIBLE_LOSS,
     .range = RANGE_NOT_NEGATIVE,
     .help = "K when flow runs backward"},
    {.name = "resistance",
     .kind = KEY_QUANTITY,
     .offset = FIELD(resistance),
     .quantity = QUANTITY_RESISTANCE,
     .range = RANGE_POSITIVE,
     .help = "r in h = r Q|Q|, for published networks"},
    {.name = "bore",
     .kind = KEY_QUANTITY,
     .offset = FIELD(bore),
     .quantity = QUANTITY_LENGTH,
     .plausible = PLAUSIBLE_BORE,
     .range = RANGE_POSITIVE,
     .help = "that the loss refers to; else that of the pipe before it"},
    {.name = "count",
     .kind = KEY_WHOLE,
     .offset = FIELD(count),
     .range = RANGE_POSITIVE,
     .fallback = "1",
     .help = "so many in a row"},
};
#undef FIELD

static const struct section fitting_section = {
    "part: fitting", "whatever costs head: bend, tee, union, any loss",
    sizeof fitting_keys / sizeof *fitting_keys, fitting_keys};

/* The catalogue's name of "bend: 90 deg", "tee: through", "union" ... */
static const char *full_name(struct draft *draft, const struct part *part)
{
    static const struct key angle_key = {
        .name = "angle", .kind = KEY_QUANTITY, .quantity = QUANTITY_ANGLE, .range = RANGE_POSITIVE};
    const struct tree *value = part_child(part, part->word);
    const bool has_angle = strcmp(part->word, "bend") == 0 || strcmp(part->word, "elbow") == 0 ||
                           strcmp(part->word, "mitre") == 0;
    double angle = NAN;
    if (!value) {
        return part->node->text; /* a plain word in the list */
    }
    if (value->kind != TREE_TEXT) {
        (void)draft_error(draft, value->place, "%s: %s stands here; a word is expected",
                          part->subject, tree_kind_name(value->kind));
        return NULL;
    }
    if (has_angle) {
        if (!key_read_value(&draft->reader, &angle_key, value, part->subject, &angle)) {
            return NULL;
        }
        return draft_text(draft, "%s %.4g deg", part->word, angle * 180 / circle_pi);
    }
    if (strcmp(part->word, "fitting") == 0) {
        return value->text;
    }
    return value->text[0] ? draft_text(draft, "%s %s", part->word, value->text) : part->word;
}

/* Entry and exit follow the section losses unless something nearer is said. */
static bool is_plain(const struct fitting_words *words, const char *name)
{
    return words->name && strcmp(words->name, name) == 0 && !isfinite(words->loss);
}

static bool begins(const char *name, const char *word)
{
    return strncmp(name, word, strlen(word)) == 0;
}

/* The end of a message: the nearest name; of an entry, an exit and the like, where the nearest is
 * of another sort, all of its own. */
struct fitting_hint {
    struct hint nearest;
    char text[300];
};

static const char *fitting_hint(struct fitting_hint *hint, const char *word, const char *nearest)
{
    size_t length = 0;
    if (nearest && begins(nearest, word)) {
        return nearest_hint(&hint->nearest, nearest, "");
    }
    for (int i = 0; i < fitting_catalogue_count(); i++) {
        const char *name = fitting_catalogue_at(i)->name;
        if (begins(name, word) && length < sizeof hint->text) {
            const int more = snprintf(hint->text + length, sizeof hint->text - length, "%s'%s'",
                                      length == 0 ? "; there are " : ", ", name);
            length += more > 0 ? (size_t)more : 0;
        }
    }
    return length > 0 ? hint->text : nearest_hint(&hint->nearest, nearest, "");
}

static bool find_row(struct draft *draft, struct part *part, struct fitting_words *words)
{
    const char *nearest = NULL;
    const bool is_stated = isfinite(words->loss) || isfinite(words->resistance);
    const bool is_bare = strcmp(part->word, "loss") == 0 || strcmp(part->word, "resistance") == 0;
    if (is_bare && part->node->kind == TREE_MAP) {
        words->name = part->word;
        return true;
    }
    words->name = full_name(draft, part);
    if (!words->name) {
        return false;
    }
    words->row = fitting_catalogue_find(words->name, &nearest);
    if (words->row || is_stated) {
        return true;
    }
    return draft_error(draft, part->place,
                       "%s: no fitting '%.60s' in the catalogue%s or state its 'loss'",
                       part->subject, words->name,
                       fitting_hint(&(struct fitting_hint){{{0}}, {0}}, part->word, nearest));
}

static bool read(struct draft *draft, struct part *part)
{
    struct fitting_words *words = part->words;
    if (isfinite(words->loss) && isfinite(words->resistance)) {
        return draft_error(draft, part->place, "%s: either 'loss' or 'resistance', not both",
                           part->subject);
    }
    if (!find_row(draft, part, words)) {
        return false;
    }
    part->bore = words->bore;
    part->is_union = begins(words->name, "union") || begins(words->name, "flange");
    part->is_entry = begins(words->name, "entry");
    part->is_exit = begins(words->name, "exit");
    return true;
}

static double forward_loss(const struct draft *draft, const struct fitting_words *words,
                           double bore)
{
    if (isfinite(words->loss)) {
        return words->loss;
    }
    if (is_plain(words, "entry")) {
        return draft->losses.entry;
    }
    if (is_plain(words, "exit")) {
        return draft->losses.exit;
    }
    return words->row ? fitting_kind_loss(words->row, bore) : 0;
}

/* Backward, an entry is an exit. */
static double backward_loss(const struct draft *draft, const struct fitting_words *words,
                            double forward)
{
    if (isfinite(words->loss_back)) {
        return words->loss_back;
    }
    if (words->name && begins(words->name, "entry")) {
        return draft->losses.exit;
    }
    if (words->name && begins(words->name, "exit")) {
        return draft->losses.entry;
    }
    return forward;
}

static bool make(struct draft *draft, struct part *part)
{
    const struct fitting_words *words = part->words;
    struct fitting *fitting = draft_take(draft, 1, sizeof *fitting);
    if (!fitting) {
        return false;
    }
    const double loss = forward_loss(draft, words, part->bore);
    fitting->area = circle_area(part->bore);
    fitting->loss = loss * words->count;
    fitting->loss_back = backward_loss(draft, words, loss) * words->count;
    fitting->laminar = words->row && !isfinite(words->loss) && !part->is_entry && !part->is_exit
                           ? words->row->laminar * words->count
                           : 0;
    fitting->resistance = isfinite(words->resistance) ? words->resistance * words->count : 0;
    fitting->is_one_way = part->is_one_way;
    part->area = fitting->area;
    part->element = &fitting_element;
    part->data = fitting;
    return true;
}

static const char *const openings[] = {"fitting", "bend", "elbow", "mitre",      "tee", "union",
                                       "entry",   "exit", "loss",  "resistance", NULL};
const struct part_kind fitting_part = {.word = "fitting",
                                       .openings = openings,
                                       .section = &fitting_section,
                                       .words_size = sizeof(struct fitting_words),
                                       .read = read,
                                       .make = make};

struct part fitting_part_at_tank(struct draft *draft, bool is_exit, bool one_way,
                                 struct place place)
{
    struct part part = {.kind = &fitting_part,
                        .place = place,
                        .subject = is_exit ? "exit" : "entry",
                        .word = is_exit ? "exit" : "entry",
                        .end = NAN,
                        .start = NAN,
                        .bore = NAN,
                        .is_entry = !is_exit,
                        .is_exit = is_exit,
                        .is_one_way = one_way};
    struct fitting_words *words = draft_take(draft, 1, sizeof *words);
    if (words) {
        const struct target targets[] = {{&fitting_section, words}};
        keys_clear(&draft->reader, 1, targets);
        words->name = part.word;
    }
    part.words = words;
    return part;
}
