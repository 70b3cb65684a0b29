#include "io/door/study_values.h"

#include "io/door/number.h"

#include <math.h>
#include <string.h>

enum { UNIT_SIZE = 40, LABEL_SIZE = 120 };

/* A number with the unit behind it. */
struct quantity_text {
    double value;
    char unit[UNIT_SIZE];
};

struct spread_words {
    const char *from, *to, *mean, *deviation;
};

#define FIELD(name) offsetof(struct spread_words, name)
#define WORDS(word, field, text)                                                                   \
    {                                                                                              \
        .name = (word), .kind = KEY_TEXT, .offset = FIELD(field), .help = (text)                   \
    }
static const struct key spread_keys[] = {
    WORDS("from", from, "least value, with its unit"),
    WORDS("to", to, "greatest value; with from alone all between are equally likely"),
    WORDS("mean", mean, "of a normal distribution, cut off at from and to where they are said"),
    WORDS("deviation", deviation, "its standard deviation, in the same unit"),
};
#undef WORDS
#undef FIELD

const struct section study_spread_section = {"study: vary: uncertain", "an input known by a spread",
                                             sizeof spread_keys / sizeof *spread_keys, spread_keys};

static bool refuse(const struct reader *reader, const struct tree *node,
                   const struct study_input *input, const char *what)
{
    return faults_add(reader->faults, FAULT_ERROR, node->place, "study: %.80s: %s", input->path,
                      what);
}

/* Without blanks at both ends. */
static bool take_unit(const char *text, char unit[UNIT_SIZE])
{
    text += strspn(text, " \t");
    size_t length = strlen(text);
    while (length > 0 && text[length - 1] == ' ') {
        length--;
    }
    if (length >= UNIT_SIZE) {
        return false;
    }
    memcpy(unit, text, length);
    unit[length] = '\0';
    return true;
}

static bool read_quantity(const char *text, struct quantity_text *quantity)
{
    const char *end = text ? number_read(text, &quantity->value) : NULL;
    return end && take_unit(end, quantity->unit);
}

/* "DN50" and "spring cone" begin with no number. */
static bool is_word(const char *text)
{
    double value = 0;
    return number_read(text, &value) == NULL;
}

static bool keep_unit(const struct reader *reader, const char *unit, struct study_input *input)
{
    input->unit = arena_text(reader->arena, unit);
    return input->unit || faults_add_memory(reader->faults, "the study");
}

/* --- listed values --- */

struct list {
    int count;
    const char *label[NUMBERS_MOST];
    double number[NUMBERS_MOST];
};

static bool keep_list(const struct reader *reader, const struct list *list,
                      struct study_input *input, struct spread *spread)
{
    const char **labels = arena_take(reader->arena, (size_t)list->count, sizeof(const char *));
    double *numbers = arena_take(reader->arena, (size_t)list->count, sizeof *numbers);
    if (!labels || !numbers) {
        return faults_add_memory(reader->faults, "the study");
    }
    for (int i = 0; i < list->count; i++) {
        labels[i] = list->label[i];
        numbers[i] = list->number[i];
    }
    input->label_count = list->count;
    input->labels = labels;
    input->numbers = input->is_text ? NULL : numbers;
    *spread = (struct spread){.kind = SPREAD_LISTED, .count = list->count};
    return true;
}

/* "-2 to 0 m" and "-2 - 0 m": what stands behind the first number is no unit. */
static bool looks_like_range(const char *unit)
{
    static const char *const words[] = {"to ", "-", "\xE2\x80\x93"};
    for (size_t i = 0; i < sizeof words / sizeof words[0]; i++) {
        if (strncmp(unit, words[i], strlen(words[i])) == 0) {
            return true;
        }
    }
    return false;
}

/* Numbers with one unit behind the last: "4 11 24 degC". */
static bool read_numbers(const struct reader *reader, const struct tree *node,
                         struct study_input *input, struct spread *spread)
{
    struct list list = {0};
    char unit[UNIT_SIZE];
    char label[LABEL_SIZE];
    const char *at = node->text;
    const char *next = NULL;
    double value = 0;
    while ((next = number_read(at, &value)) != NULL) {
        if (list.count == NUMBERS_MOST) {
            return refuse(reader, node, input, "more values than a list may have (64)");
        }
        list.number[list.count++] = value;
        at = next;
    }
    if (!take_unit(at, unit) || !keep_unit(reader, unit, input)) {
        return refuse(reader, node, input, "the unit is too long");
    }
    if (looks_like_range(unit)) {
        return refuse(reader, node, input, "a range is written such as 4 .. 24 degC");
    }
    for (int i = 0; i < list.count; i++) {
        (void)snprintf(label, sizeof label, "%.17g %s", list.number[i], unit);
        list.label[i] = arena_text(reader->arena, label);
        if (!list.label[i]) {
            return faults_add_memory(reader->faults, "the study");
        }
    }
    return keep_list(reader, &list, input, spread);
}

/* [DN40, DN50], [11 degC, 24 degC]: numbers only when all are, in one unit. */
static bool read_list(const struct reader *reader, const struct tree *node,
                      struct study_input *input, struct spread *spread)
{
    struct list list = {0};
    struct quantity_text first = {0};
    struct quantity_text here;
    for (const struct tree *child = node->first; child; child = child->next) {
        if (child->kind != TREE_TEXT || child->text[0] == '\0') {
            return refuse(reader, child, input, "a value is expected here");
        }
        if (list.count == NUMBERS_MOST) {
            return refuse(reader, child, input, "more values than a list may have (64)");
        }
        const bool is_number = read_quantity(child->text, &here);
        first = list.count == 0 && is_number ? here : first;
        input->is_text = input->is_text || !is_number || strcmp(first.unit, here.unit) != 0;
        list.number[list.count] = is_number ? here.value : (double)NAN;
        list.label[list.count++] = child->text;
    }
    if (list.count == 0) {
        return refuse(reader, node, input, "no values are listed");
    }
    return keep_unit(reader, input->is_text ? "" : first.unit, input) &&
           keep_list(reader, &list, input, spread);
}

static bool read_word(const struct reader *reader, const struct tree *node,
                      struct study_input *input, struct spread *spread)
{
    struct list list = {.count = 1, .label = {node->text}, .number = {(double)NAN}};
    if (node->text[0] == '\0') {
        return refuse(reader, node, input, "a value or a list of values is expected here");
    }
    input->is_text = true;
    return keep_unit(reader, "", input) && keep_list(reader, &list, input, spread);
}

/* --- spreads --- */

static bool check_spread(const struct reader *reader, const struct tree *node,
                         const struct study_input *input, const struct spread *spread)
{
    if (!(spread->low < spread->high)) {
        return refuse(reader, node, input, "the greatest value must lie above the least");
    }
    if (spread->kind == SPREAD_NORMAL &&
        (!(spread->deviation > 0) || spread->low > spread->mean || spread->high < spread->mean)) {
        return refuse(reader, node, input,
                      "the deviation must be above zero, and the mean between from and to");
    }
    return true;
}

/* "4 .. 24 degC" */
static bool read_range(const struct reader *reader, const struct tree *node, const char *dots,
                       struct study_input *input, struct spread *spread)
{
    struct quantity_text high;
    char low[LABEL_SIZE];
    double value = 0;
    const size_t length = (size_t)(dots - node->text);
    if (length >= sizeof low) {
        return refuse(reader, node, input, "the range is too long");
    }
    memcpy(low, node->text, length);
    low[length] = '\0';
    const char *end = number_read(low, &value);
    if (!end || end[strspn(end, " ")] != '\0' || !read_quantity(dots + 2, &high)) {
        return refuse(reader, node, input, "a range is written such as 4 .. 24 degC");
    }
    *spread = (struct spread){.kind = SPREAD_EVEN, .low = value, .high = high.value};
    return keep_unit(reader, high.unit, input) && check_spread(reader, node, input, spread);
}

/* One of the words of a spread; NULL: `otherwise`. Units must agree. */
static bool take_word(const char *text, double otherwise, struct quantity_text *unit, double *value)
{
    struct quantity_text here;
    *value = otherwise;
    if (!text) {
        return true;
    }
    if (!read_quantity(text, &here)) {
        return false;
    }
    *value = here.value;
    const bool agrees = isnan(unit->value) || strcmp(unit->unit, here.unit) == 0;
    *unit = here;
    return agrees;
}

static bool read_map(const struct reader *reader, const struct tree *node,
                     struct study_input *input, struct spread *spread)
{
    struct spread_words words;
    const struct target targets[] = {{&study_spread_section, &words}};
    if (!keys_read(reader, node, keys_subject(reader, "study: vary", input->path), 1, targets)) {
        return false;
    }
    struct quantity_text unit = {.value = (double)NAN};
    const bool is_normal = words.mean != NULL;
    *spread = (struct spread){.kind = is_normal ? SPREAD_NORMAL : SPREAD_EVEN};
    if ((is_normal != (words.deviation != NULL)) || (!is_normal && (!words.from || !words.to))) {
        return refuse(reader, node, input, "write from and to, or mean and deviation");
    }
    if (!take_word(words.from, -(double)INFINITY, &unit, &spread->low) ||
        !take_word(words.to, (double)INFINITY, &unit, &spread->high) ||
        !take_word(words.mean, 0, &unit, &spread->mean) ||
        !take_word(words.deviation, 0, &unit, &spread->deviation)) {
        return refuse(reader, node, input,
                      "write each as a number with its unit, all in the same unit");
    }
    return keep_unit(reader, unit.unit, input) && check_spread(reader, node, input, spread);
}

bool read_study_values(const struct reader *reader, const struct tree *node,
                       struct study_input *input, struct spread *spread)
{
    const char *dots = node->kind == TREE_TEXT ? strstr(node->text, "..") : NULL;
    if (node->kind == TREE_MAP) {
        return read_map(reader, node, input, spread);
    }
    if (node->kind == TREE_LIST) {
        return read_list(reader, node, input, spread);
    }
    if (dots) {
        return read_range(reader, node, dots, input, spread);
    }
    return is_word(node->text) ? read_word(reader, node, input, spread)
                               : read_numbers(reader, node, input, spread);
}
