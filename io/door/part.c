#include "io/door/part.h"

#include "io/nearest.h"

#include <math.h>
#include <string.h>

/* The order matters only for messages. Not in part.h: who reads a part need not know the kinds. */
static const struct part_kind *const kinds[] = {
    &pipe_part,     &pump_part,        &valve_part,        &throttling_part, &reducer_part,
    &strainer_part, &float_valve_part, &flow_limiter_part, &regulator_part,  &fitting_part};
enum { KIND_COUNT = sizeof kinds / sizeof kinds[0] };

struct common_words {
    const char *name;
    double end;
};

static const struct key common_keys[] = {
    {.name = "name",
     .kind = KEY_TEXT,
     .offset = offsetof(struct common_words, name),
     .help = "by which results, events and gauges know it"},
    {.name = "end",
     .kind = KEY_QUANTITY,
     .offset = offsetof(struct common_words, end),
     .quantity = QUANTITY_LENGTH,
     .help = "elevation at its end"},
};

static const struct section common_section = {
    "part: any", "what every part may have", sizeof common_keys / sizeof *common_keys, common_keys};

const struct tree *part_child(const struct part *part, const char *key)
{
    return part->node && part->node->kind == TREE_MAP ? tree_find(part->node, key) : NULL;
}

struct place part_child_place(const struct part *part, const char *key)
{
    const struct tree *child = part_child(part, key);
    return child ? child->place : part->place;
}

/* How surely a key opens a part: what may be said of other parts too gives way. */
static int opening_rank(const char *word)
{
    if (strcmp(word, "loss") == 0 || strcmp(word, "resistance") == 0) {
        return 1;
    }
    return strcmp(word, "strainer") == 0 ? 2 : 3;
}

/* Finds the surest opening in a map, and gives the count of those as sure as can be. */
static int find_opening(const struct tree *node, const struct part_kind **kind, const char **word)
{
    int count = 0;
    int best = 0;
    for (int k = 0; k < KIND_COUNT; k++) {
        for (const char *const *opening = kinds[k]->openings; *opening; opening++) {
            const int rank = opening_rank(*opening);
            if (rank < best || !tree_find(node, *opening)) {
                continue;
            }
            count += rank == 3;
            best = rank;
            *kind = kinds[k];
            *word = *opening;
        }
    }
    return count;
}

static bool refuse_map(struct draft *draft, const char *run, const struct tree *node)
{
    struct nearest nearest;
    const struct tree *first = node->first;
    if (!first) {
        return draft_error(draft, node->place, "run '%s': an empty part", run);
    }
    nearest_start(&nearest, first->key);
    for (int k = 0; k < KIND_COUNT; k++) {
        for (const char *const *opening = kinds[k]->openings; *opening; opening++) {
            nearest_offer(&nearest, *opening);
        }
    }
    return draft_error(
        draft, first->key_place, "run '%s': unknown part '%.60s'%s", run, first->key,
        nearest_hint(&(struct hint){{0}}, nearest.found,
                     "; a part is a pipe, pump, non-return, valve, float valve, flow limiter, "
                     "regulator, fitting, bend, elbow, tee, union, reducer, strainer, loss or "
                     "resistance"));
}

static bool open_part(struct draft *draft, const char *run, const struct tree *node,
                      struct part *part)
{
    if (node->kind == TREE_TEXT) {
        part->kind = &fitting_part;
        part->word = "fitting";
        return node->text[0] != '\0' ||
               draft_error(draft, node->place, "run '%s': an empty part", run);
    }
    if (node->kind == TREE_LIST) {
        return draft_error(draft, node->place,
                           "run '%s': a list stands here; a part is a word or a map such as "
                           "{pipe: pvc-u 63 pn10, length: 2 m}",
                           run);
    }
    const int count = find_opening(node, &part->kind, &part->word);
    if (count > 1) {
        return draft_error(draft, node->place,
                           "run '%s': two parts in one ('%s' is the second); give each its own "
                           "line",
                           run, part->word);
    }
    return part->kind || refuse_map(draft, run, node);
}

bool part_read(struct draft *draft, const char *run, const struct tree *node, struct part *part)
{
    struct common_words common = {.end = NAN};
    *part =
        (struct part){.node = node, .place = node->place, .start = NAN, .bore = NAN, .link = -1};
    if (!open_part(draft, run, node, part)) {
        return false;
    }
    part->subject = draft_text(draft, "run '%s', %s", run, part->word);
    part->words = draft_take(draft, 1, part->kind->words_size);
    if (!part->words) {
        return false;
    }
    const struct target targets[] = {
        {part->kind->section, part->words},
        {&common_section, &common},
        {part->kind->more, (unsigned char *)part->words + part->kind->more_offset}};
    const int target_count = part->kind->more ? 3 : 2;
    bool is_good = true;
    if (node->kind == TREE_MAP) {
        is_good = keys_read(&draft->reader, node, part->subject, target_count, targets);
    } else {
        keys_clear(&draft->reader, target_count, targets);
        part->word = strlen(node->text) <= 20 ? node->text : part->word;
    }
    part->name = common.name;
    part->end = common.end;
    if (!part->name && node->kind == TREE_MAP && tree_find(node, "name")) {
        draft->has_lost_names = true; /* what stands there is no name */
    }
    if (part->name &&
        !draft_check_name(draft, "part", part->name, part_child_place(part, "name"))) {
        is_good = false;
    }
    return is_good && part->kind->read(draft, part);
}

void parts_add_sections(struct sections *sections)
{
    sections_add(sections, &common_section);
    for (int k = 0; k < KIND_COUNT; k++) {
        sections_add(sections, kinds[k]->section);
        if (kinds[k]->more) {
            sections_add(sections, kinds[k]->more);
        }
    }
}
