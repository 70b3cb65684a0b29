#include "io/door/keys.h"

#include "io/door/number.h"
#include "io/nearest.h"

#include <assert.h>
#include <math.h>
#include <string.h>

enum { LONGEST_TEXT = 200, LIST_SIZE = 200, WHOLE_MOST = 1000000 };

void sections_add(struct sections *sections, const struct section *section)
{
    assert(sections->count < SECTIONS_MOST);
    sections->list[sections->count++] = section;
}

const char *keys_subject(const struct reader *reader, const char *kind, const char *name)
{
    char text[LONGEST_TEXT];
    (void)snprintf(text, sizeof text, "%s '%.80s'", kind, name);
    const char *kept = arena_text(reader->arena, text);
    return kept ? kept : kind;
}

static bool complain(const struct reader *reader, const struct tree *node, const char *subject,
                     const char *key, const char *what)
{
    return faults_add(reader->faults, FAULT_ERROR, node->place, "%s: %s: %s", subject, key, what);
}

static bool is_in_range(const struct reader *reader, const struct key *key, const struct tree *node,
                        const char *subject, double value)
{
    const char *what = NULL;
    switch (key->range) {
    case RANGE_ANY:
        break;
    case RANGE_POSITIVE:
        what = value > 0 ? NULL : "must be above zero";
        break;
    case RANGE_NOT_NEGATIVE:
        what = value >= 0 ? NULL : "must not be below zero";
        break;
    case RANGE_SHARE:
        what = value >= 0 && value <= 1 ? NULL : "must lie from 0 to 1 (0 % to 100 %)";
        break;
    }
    if (!what) {
        return true;
    }
    return faults_add(reader->faults, FAULT_ERROR, node->place, "%s: %s: '%.60s' %s", subject,
                      key->name, node->text, what);
}

/* The range first: it is what a person forgets; then the plausibility, told once for a list. */
static bool are_good(const struct reader *reader, const struct key *key, const struct tree *node,
                     const char *subject, int count, const double value[])
{
    for (int i = 0; i < count; i++) {
        if (!is_in_range(reader, key, node, subject, value[i])) {
            return false;
        }
    }
    const struct plausible_row *row = plausible_row(plausible_of(key->plausible, key->quantity));
    int worst = 0;
    for (int i = 1; i < count; i++) {
        worst = plausible_judge(row, value[i]) > plausible_judge(row, value[worst]) ? i : worst;
    }
    return plausible_check(reader->faults, node->place, subject, key->name, node->text,
                           plausible_of(key->plausible, key->quantity), value[worst]);
}

/* A head written as a pressure becomes metres of this water. */
static bool settle_head(const struct reader *reader, const struct key *key, const struct tree *node,
                        const char *subject, struct amount *amount)
{
    if (!amount->is_pressure) {
        return true;
    }
    if (!reader->water) {
        return complain(reader, node, subject, key->name,
                        "write it in m: the water's density is not known here");
    }
    for (int i = 0; i < amount->count; i++) {
        amount->value[i] /= reader->water->density * reader->water->gravity;
    }
    return true;
}

/* Reads the numbers of a text; -1: told. */
static int read_amount(const struct reader *reader, const struct key *key, const struct tree *node,
                       const char *subject, int room, double value[])
{
    struct amount amount = {.value = value};
    char message[FAILURE_MESSAGE_SIZE];
    if (!units_read(reader->units, key->quantity, node->text, room, &amount, sizeof message,
                    message)) {
        (void)complain(reader, node, subject, key->name, message);
        return -1;
    }
    if (!settle_head(reader, key, node, subject, &amount)) {
        return -1;
    }
    return are_good(reader, key, node, subject, amount.count, value) ? amount.count : -1;
}

static bool read_quantities(const struct reader *reader, const struct key *key,
                            const struct tree *node, const char *subject, struct numbers *numbers)
{
    double value[NUMBERS_MOST];
    const int count = read_amount(reader, key, node, subject, NUMBERS_MOST, value);
    if (count < 0) {
        return false;
    }
    numbers->value = arena_take(reader->arena, (size_t)count, sizeof *numbers->value);
    if (!numbers->value) {
        return faults_add_memory(reader->faults, "a list of numbers");
    }
    memcpy(numbers->value, value, (size_t)count * sizeof *value);
    numbers->count = count;
    return true;
}

static bool read_yes(const struct reader *reader, const struct key *key, const struct tree *node,
                     const char *subject, int *yes)
{
    static const char *const words[] = {"no", "false", "yes", "true"};
    for (int i = 0; i < 4; i++) {
        if (strcmp(node->text, words[i]) == 0) {
            *yes = i / 2;
            return true;
        }
    }
    return faults_add(reader->faults, FAULT_ERROR, node->place,
                      "%s: %s: '%.60s' is neither yes nor no", subject, key->name, node->text);
}

static bool read_whole(const struct reader *reader, const struct key *key, const struct tree *node,
                       const char *subject, int *whole)
{
    double value = 0;
    const char *end = number_read(node->text, &value);
    if (end && *end == '\0' && value > WHOLE_MOST) {
        return faults_add(reader->faults, FAULT_ERROR, node->place,
                          "%s: %s: '%.60s' is too many; at most %d are taken", subject, key->name,
                          node->text, WHOLE_MOST);
    }
    if (!end || *end != '\0' || value != floor(value) || value < 0) {
        return faults_add(reader->faults, FAULT_ERROR, node->place,
                          "%s: %s: '%.60s' is not a whole number such as 4", subject, key->name,
                          node->text);
    }
    if (key->range == RANGE_POSITIVE && value < 1) {
        return complain(reader, node, subject, key->name, "must be at least 1");
    }
    *whole = (int)value;
    return true;
}

static size_t choice_length(const char *choice)
{
    return strcspn(choice, "|");
}

static bool read_choice(const struct reader *reader, const struct key *key, const struct tree *node,
                        const char *subject, int *choice)
{
    int index = 0;
    for (const char *at = key->choices;; index++) {
        const size_t length = choice_length(at);
        if (strlen(node->text) == length && strncmp(at, node->text, length) == 0) {
            *choice = index;
            return true;
        }
        if (at[length] == '\0') {
            break;
        }
        at += length + 1;
    }
    return faults_add(reader->faults, FAULT_ERROR, node->place, "%s: %s: '%.60s' is not among: %s",
                      subject, key->name, node->text, key->choices);
}

static void *field(const struct key *key, void *into)
{
    return (unsigned char *)into + key->offset;
}

static bool read_quantity(const struct reader *reader, const struct key *key,
                          const struct tree *node, const char *subject, double *quantity)
{
    double value = NAN;
    if (read_amount(reader, key, node, subject, 1, &value) != 1) {
        return false;
    }
    *quantity = value;
    return true;
}

bool key_read_value(const struct reader *reader, const struct key *key, const struct tree *node,
                    const char *subject, void *into)
{
    if (key->kind == KEY_NODE) {
        const struct tree **target = field(key, into);
        *target = node;
        return true;
    }
    if (node->kind != TREE_TEXT) {
        return faults_add(reader->faults, FAULT_ERROR, node->place,
                          "%s: %s: %s stands here; one value is expected%s%s%s", subject, key->name,
                          tree_kind_name(node->kind),
                          key->kind == KEY_QUANTITIES ? ", such as '0 1 2 " : "",
                          key->kind == KEY_QUANTITIES ? quantity_unit(key->quantity) : "",
                          key->kind == KEY_QUANTITIES ? "'" : "");
    }
    if (node->text[0] == '\0') {
        return complain(reader, node, subject, key->name, "has no value");
    }
    switch (key->kind) {
    case KEY_QUANTITY:
        return read_quantity(reader, key, node, subject, field(key, into));
    case KEY_QUANTITIES:
        return read_quantities(reader, key, node, subject, field(key, into));
    case KEY_YES:
        return read_yes(reader, key, node, subject, field(key, into));
    case KEY_WHOLE:
        return read_whole(reader, key, node, subject, field(key, into));
    case KEY_CHOICE:
        return read_choice(reader, key, node, subject, field(key, into));
    case KEY_TEXT: {
        const char **target = field(key, into);
        if (strlen(node->text) > LONGEST_TEXT) {
            return complain(reader, node, subject, key->name, "is too long a text");
        }
        if (strpbrk(node->text, "\t\r\n")) {
            return complain(reader, node, subject, key->name,
                            "has a tab or a line end in it; write one line");
        }
        *target = node->text;
        return true;
    }
    case KEY_NODE:
        break;
    }
    return true;
}

static void clear_value(const struct key *key, void *into)
{
    switch (key->kind) {
    case KEY_QUANTITY:
        *(double *)field(key, into) = NAN;
        break;
    case KEY_QUANTITIES:
        *(struct numbers *)field(key, into) = (struct numbers){0};
        break;
    case KEY_TEXT:
        *(const char **)field(key, into) = NULL;
        break;
    case KEY_YES:
    case KEY_WHOLE:
    case KEY_CHOICE:
        *(int *)field(key, into) = -1;
        break;
    case KEY_NODE:
        *(const struct tree **)field(key, into) = NULL;
        break;
    }
}

void keys_clear(const struct reader *reader, int target_count, const struct target targets[])
{
    for (int t = 0; t < target_count; t++) {
        const struct section *section = targets[t].section;
        for (int k = 0; k < section->key_count; k++) {
            const struct key *key = &section->keys[k];
            clear_value(key, targets[t].into);
            if (key->fallback) {
                const struct tree text = {.kind = TREE_TEXT, .text = key->fallback};
                const bool is_good =
                    key_read_value(reader, key, &text, section->name, targets[t].into);
                assert(is_good); /* a fallback is ours, and a test reads them all */
                (void)is_good;
            }
        }
    }
}

static const struct key *find_key(int target_count, const struct target targets[], const char *name,
                                  void **into)
{
    for (int t = 0; t < target_count; t++) {
        for (int k = 0; k < targets[t].section->key_count; k++) {
            if (strcmp(targets[t].section->keys[k].name, name) == 0) {
                *into = targets[t].into;
                return &targets[t].section->keys[k];
            }
        }
    }
    return NULL;
}

/* "; known are: floor, brim, ..." as far as it fits. */
static void list_keys(int target_count, const struct target targets[], char list[LIST_SIZE])
{
    size_t used = (size_t)snprintf(list, LIST_SIZE, "; known are: ");
    const size_t start = used;
    for (int t = 0; t < target_count; t++) {
        for (int k = 0; k < targets[t].section->key_count; k++) {
            const char *name = targets[t].section->keys[k].name;
            if (used + strlen(name) + 8 > LIST_SIZE) {
                (void)snprintf(list + used, LIST_SIZE - used, ", ...");
                return;
            }
            used += (size_t)snprintf(list + used, LIST_SIZE - used, "%s%s",
                                     used > start ? ", " : "", name);
        }
    }
}

/* The key that a person most likely meant, or NULL. */
static const char *nearest_key(int target_count, const struct target targets[], const char *name)
{
    struct nearest nearest;
    nearest_start(&nearest, name);
    for (int t = 0; t < target_count; t++) {
        for (int k = 0; k < targets[t].section->key_count; k++) {
            nearest_offer(&nearest, targets[t].section->keys[k].name);
        }
    }
    return nearest.found;
}

static bool refuse_key(const struct reader *reader, const struct tree *node, const char *subject,
                       int target_count, const struct target targets[])
{
    const char *nearest = nearest_key(target_count, targets, node->key);
    if (!nearest && node->key[0] >= '0' && node->key[0] <= '9') {
        return faults_add(reader->faults, FAULT_ERROR, node->key_place,
                          "%s: '%.40s' stands here as a key; if it is the rest of a number, write "
                          "a decimal point, not a comma",
                          subject, node->key);
    }
    char list[LIST_SIZE];
    list_keys(target_count, targets, list);
    return faults_add(reader->faults, FAULT_ERROR, node->key_place, "%s: unknown key '%.60s'%s",
                      subject, node->key, nearest_hint(&(struct hint){{0}}, nearest, list));
}

/* "length: 10,5 m" between braces is read as the value 10 and a key "5 m": told as the one slip
 * that it most likely is. */
static bool is_cut_by_comma(const struct tree *child)
{
    const struct tree *rest = child->next;
    return child->kind == TREE_TEXT && *child->text && rest && rest->kind == TREE_TEXT &&
           *rest->text == '\0' && rest->key[0] >= '0' && rest->key[0] <= '9' &&
           strspn(child->text, "+-0123456789") == strlen(child->text);
}

static bool refuse_comma(const struct reader *reader, const struct tree *child, const char *subject)
{
    const char *rest = child->next->key;
    return faults_add(reader->faults, FAULT_ERROR, child->place,
                      "%s: %.40s: '%.20s,%.40s': write a decimal point, not a comma: '%.20s.%.40s'",
                      subject, child->key, child->text, rest, child->text, rest);
}

/* A key of the map that is unknown and most likely this one: told already. */
static bool is_misspelt(const struct tree *node, const struct key *key, int target_count,
                        const struct target targets[])
{
    for (const struct tree *child = node->first; child; child = child->next) {
        void *into = NULL;
        if (!find_key(target_count, targets, child->key, &into)) {
            const char *nearest = nearest_key(target_count, targets, child->key);
            if (nearest && strcmp(nearest, key->name) == 0) {
                return true;
            }
        }
    }
    return false;
}

static bool check_required(const struct reader *reader, const struct tree *node,
                           const char *subject, const struct section *section, int target_count,
                           const struct target targets[])
{
    bool is_complete = true;
    for (int k = 0; k < section->key_count; k++) {
        const struct key *key = &section->keys[k];
        if (!key->is_required || tree_find(node, key->name)) {
            continue;
        }
        if (is_misspelt(node, key, target_count, targets)) {
            is_complete = false;
            continue;
        }
        const bool has_unit = key->kind == KEY_QUANTITY || key->kind == KEY_QUANTITIES;
        is_complete = faults_add(
            reader->faults, FAULT_ERROR, node->place, "%s: '%s' is missing (%s)%s%s%s%s%s", subject,
            key->name, key->help, has_unit ? "; write it such as '" : "", has_unit ? key->name : "",
            has_unit ? ": " : "", has_unit ? quantity_example(key->quantity) : "",
            has_unit ? "'" : "");
    }
    return is_complete;
}

bool keys_read(const struct reader *reader, const struct tree *node, const char *subject,
               int target_count, const struct target targets[])
{
    bool is_good = true;
    keys_clear(reader, target_count, targets);
    if (node->kind != TREE_MAP) {
        return faults_add(reader->faults, FAULT_ERROR, node->place,
                          "%s: %s stands here; a map of keys such as '%s: ...' is expected",
                          subject, tree_kind_name(node->kind), targets[0].section->keys[0].name);
    }
    for (const struct tree *child = node->first; child; child = child->next) {
        void *into = NULL;
        if (is_cut_by_comma(child)) {
            is_good = refuse_comma(reader, child, subject);
            child = child->next;
            continue;
        }
        const struct key *key = find_key(target_count, targets, child->key, &into);
        const bool is_read = key ? key_read_value(reader, key, child, subject, into)
                                 : refuse_key(reader, child, subject, target_count, targets);
        is_good = is_read && is_good;
    }
    for (int t = 0; t < target_count; t++) {
        is_good =
            check_required(reader, node, subject, targets[t].section, target_count, targets) &&
            is_good;
    }
    return is_good;
}

const char *key_kind(const struct key *key)
{
    switch (key->kind) {
    case KEY_QUANTITY:
        return quantity_name(key->quantity);
    case KEY_QUANTITIES:
        return "list of numbers, one unit";
    case KEY_TEXT:
        return "text";
    case KEY_YES:
        return "yes or no";
    case KEY_WHOLE:
        return "whole number";
    case KEY_CHOICE:
        return key->choices;
    case KEY_NODE:
        break;
    }
    return "map or list";
}
