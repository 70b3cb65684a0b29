/* A good case with one thing in it broken, row by row: the first fault stands at the very place,
 * says what is wrong and what to do. The rows are in broken/rows.txt, the good case is
 * broken/site.yaml: what stands there => what is put in its place => COUNT LINE:COLUMN => words of
 * the first message where \n is a line end. tests/io/broken.py runs the program on the same rows.
 */
#include "io/door/door.h"

#include <criterion/criterion.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

#define FOLDER SOURCE_DIR "/tests/io/broken/"

enum { TEXT_ROOM = 20000, ROW_ROOM = 1000, PARTS = 4 };

static void read_whole(const char *path, char text[TEXT_ROOM])
{
    FILE *file = fopen(path, "r");
    cr_assert_not_null(file, "%s", path);
    const size_t size = fread(text, 1, TEXT_ROOM - 1, file);
    fclose(file);
    cr_assert_lt(size, TEXT_ROOM - 1);
    text[size] = '\0';
}

/* Cuts a row at " => "; \n becomes a line end. */
static bool split(char *row, char *part[PARTS])
{
    row[strcspn(row, "\n")] = '\0';
    for (int i = 0; i < PARTS; i++) {
        char *end = strstr(row, i == PARTS - 1 ? "" : " => ");
        part[i] = row;
        if (!end) {
            return false;
        }
        if (i < PARTS - 1) {
            *end = '\0';
            row = end + 4;
        }
        for (char *line = strstr(part[i], "\\n"); line; line = strstr(line, "\\n")) {
            *line++ = '\n';
            memmove(line, line + 1, strlen(line));
        }
    }
    return true;
}

static void check_row(struct units *units, const char *site, int number, char *part[PARTS])
{
    static char text[TEXT_ROOM + ROW_ROOM];
    int count = 0;
    int line = 0;
    int column = 0;
    const char *at = strstr(site, part[0]);
    cr_assert_not_null(at, "row %d: '%s' is not in the good case", number, part[0]);
    cr_assert_eq(sscanf(part[2], "%d %d:%d", &count, &line, &column), 3, "row %d", number);
    const int length = snprintf(text, sizeof text, "%.*s%s%s", (int)(at - site), site, part[1],
                                at + strlen(part[0]));
    struct arena *arena = arena_new();
    struct faults faults;
    struct site *read = NULL;
    faults_init(&faults, arena);
    cr_expect_not(
        read_site_units("broken.yaml", text, (size_t)length, units, arena, &read, &faults),
        "row %d: '%s' was taken", number, part[1]);
    const struct failure *first = faults_first(&faults);
    cr_assert_not_null(first, "row %d: no fault", number);
    cr_expect_not_null(strstr(first->message, part[3]), "row %d: '%s': %s", number, part[1],
                       first->message);
    cr_expect(first->place.line == line && first->place.column == column, "row %d: %d:%d: %s",
              number, first->place.line, first->place.column, first->message);
    cr_expect_eq(faults_count(&faults, FAULT_ERROR), count, "row %d: %d faults", number,
                 faults_count(&faults, FAULT_ERROR));
    arena_free(arena);
}

Test(broken_sites, are_refused_at_their_place_with_a_remedy)
{
    static char site[TEXT_ROOM];
    char row[ROW_ROOM];
    int number = 0;
    struct failure failure;
    struct units *units =
        units_new(&failure); /* once: its tables take longer to read than a case */
    cr_assert_not_null(units);
    read_whole(FOLDER "site.yaml", site);
    FILE *rows = fopen(FOLDER "rows.txt", "r");
    cr_assert_not_null(rows);
    while (fgets(row, sizeof row, rows)) {
        char *part[PARTS];
        number++;
        cr_assert(split(row, part), "row %d is none", number);
        check_row(units, site, number, part);
    }
    fclose(rows);
    units_free(units);
    cr_expect_geq(number, 300);
}

Test(broken_sites, are_made_from_a_good_one)
{
    struct arena *arena = arena_new();
    struct faults faults;
    struct site *site = NULL;
    faults_init(&faults, arena);
    cr_expect(read_site(FOLDER "site.yaml", arena, &site, &faults));
    cr_expect_not_null(site);
    arena_free(arena);
}

/* --- many things broken at once --- */

struct broken {
    const char *old, *new;
    int line, column;
    const char *says;
};

/* In every section one fault or two, in the order of the file. What follows from another one is not
 * told: the pump, the valve and the pipes of the broken run are no unknown names, nor is the tank.
 */
static const struct broken many[] = {
    {"level: 0.0 m, area", "level: 0.0 kg, area", 5, 45, "'kg' is not a unit of length"},
    {"length: 60 m", "length: 60 kW", 29, 39, "'kW' is not a unit of length"},
    {"set: tap", "set: tab", 39, 24, "no part is called 'tab'; did you mean 'tap'?"},
    {"gauges: [flap, fork]", "gauges: [flap, folk]", 40, 18, "'folk'; did you mean 'fork'?"},
    {"inflow: 1.3 L/s", "inflow: 1.3 m", 43, 26, "'m' is not a unit of flow"},
    {"overflow to: pond", "overflow to: bond", 43, 55, "cannot run to 'bond'"},
    {"tank: tower, pumps: [lift-1]", "tank: tower, pumps: [lift-9]", 44, 47, "'lift-9'"},
    {"draws: [{from: trough", "draws: [{from: through", 46, 18, "no point and no tank 'through'"},
    {"levels: {pond: -0.6 0.3 m, tower", "levels: {pond: -0.6 0.3 m, towel", 51, 30,
     "no tank is called 'towel'; did you mean 'tower'?"},
    {"valves: [flap]", "valves: [tap]", 52, 12, "no non-return valve is called 'tap'"},
    {"flap.type: [swing flap, ball]", "flap.tipe: [swing flap, ball]", 55, 5,
     "none of its values can be read: run 'main', non-return: unknown key 'tipe'"},
    {"pond.level: 0.0 0.3 m", "pond.level: 0.0 0.3 bar", 58, 5, "'bar' is not a unit of length"},
    {"water.temperature:", "walter.temperature:", 60, 5, "nothing called 'walter'; did you mean"},
    {"head at fork", "head at fort", 63, 28, "no point is called 'fort'; did you mean 'fork'?"},
    {"slam head of flap, power", "slam heat of flap, power", 63, 66,
     "is no measure; did you mean 'slam head'?"},
    {"slam head of flap: at most 20 m", "slam head of flap: at most 20 kg", 64, 31,
     "'kg' is not a unit"},
};

Test(broken_sites, are_told_all_in_one_go)
{
    static char text[TEXT_ROOM + ROW_ROOM];
    enum { COUNT = sizeof many / sizeof *many };
    struct arena *arena = arena_new();
    struct faults faults;
    struct site *site = NULL;
    read_whole(FOLDER "site.yaml", text);
    for (int i = 0; i < COUNT; i++) {
        char *at = strstr(text, many[i].old);
        const size_t before = strlen(many[i].old);
        const size_t after = strlen(many[i].new);
        cr_assert_not_null(at, "'%s' is not in the good case", many[i].old);
        memmove(at + after, at + before, strlen(at + before) + 1);
        memcpy(at, many[i].new, after);
    }
    faults_init(&faults, arena);
    cr_expect_not(read_site_text("broken.yaml", text, strlen(text), arena, &site, &faults));
    int told = 0;
    for (int i = 0; i < faults.count; i++) {
        const struct failure *failure = &faults.list[i].failure;
        if (faults.list[i].level != FAULT_ERROR) {
            continue;
        }
        cr_assert_lt(told, COUNT, "%s", failure->message);
        const struct broken *wanted = &many[told++];
        cr_expect(failure->place.line == wanted->line && failure->place.column == wanted->column &&
                      strstr(failure->message, wanted->says),
                  "%d:%d: %s", failure->place.line, failure->place.column, failure->message);
    }
    cr_expect_eq(told, COUNT);
    arena_free(arena);
}

/* --- every quantity that a case can state, by its key --- */

enum { WORDS_ROOM = 8192 }; /* bytes, above the largest struct that a section is read into */

struct trial {
    struct reader reader;
    const struct section *section;
    const struct key *key;
};

/* Reads "number unit" by the key's rule: 1 taken, 0 refused; its doubts are left in the faults. */
static bool is_taken(struct trial *trial, const char *number)
{
    static double words[WORDS_ROOM / sizeof(double)];
    char text[100];
    (void)snprintf(text, sizeof text, "%s %s", number, quantity_unit(trial->key->quantity));
    const struct tree node = {.kind = TREE_TEXT, .text = text, .place = {"keys.yaml", 7, 9}};
    cr_assert_lt(trial->key->offset + sizeof(struct numbers), sizeof words);
    faults_init(trial->reader.faults, trial->reader.arena);
    return key_read_value(&trial->reader, trial->key, &node, trial->section->name, words);
}

static bool is_taken_as(struct trial *trial, double value)
{
    char number[40];
    (void)snprintf(number, sizeof number, "%.17g", value);
    return is_taken(trial, number);
}

static void expect_refused(struct trial *trial, const char *number)
{
    cr_expect_not(is_taken(trial, number), "%s, %s: '%s' was taken", trial->section->name,
                  trial->key->name, number);
    const struct failure *first = faults_first(trial->reader.faults);
    cr_assert_not_null(first);
    cr_expect_not_null(strstr(first->message, trial->key->name), "%s", first->message);
    cr_expect(first->place.line == 7 && first->place.column == 9);
}

static void check_key(struct trial *trial)
{
    static const char *const never[] = {"nan",   "inf",    "-inf",  "1e999",
                                        "1e300", "-1e300", "0x1p3", "1_000"};
    const struct plausible_row *row =
        plausible_row(plausible_of(trial->key->plausible, trial->key->quantity));
    for (size_t i = 0; i < sizeof never / sizeof *never; i++) {
        expect_refused(trial, never[i]);
    }
    if (trial->key->range == RANGE_POSITIVE) {
        expect_refused(trial, "0");
        expect_refused(trial, "1e-999"); /* which is 0 */
    }
    if (trial->key->range != RANGE_ANY) {
        expect_refused(trial, "-1");
    }
    if (trial->key->range == RANGE_SHARE) {
        expect_refused(trial, "1.01");
    }
    if (!row) {
        cr_expect(trial->key->quantity == QUANTITY_NUMBER ||
                      trial->key->quantity == QUANTITY_TEMPERATURE,
                  "%s, %s: nothing bounds it", trial->section->name, trial->key->name);
        return;
    }
    char number[40];
    (void)snprintf(number, sizeof number, "%.17g", 1.001 * row->most);
    expect_refused(trial, number);
    if (row->least > 0) {
        expect_refused(trial, "4.9e-324"); /* the least denormal */
        (void)snprintf(number, sizeof number, "%.17g", 0.999 * row->least);
        expect_refused(trial, number);
    }
    const bool is_share = trial->key->range == RANGE_SHARE;
    if (row->high < row->most && !is_share) {
        cr_expect(is_taken_as(trial, (row->high + row->most) / 2), "%s", trial->key->name);
        cr_expect_eq(faults_count(trial->reader.faults, FAULT_DOUBT), 1, "%s, %s: no doubt",
                     trial->section->name, trial->key->name);
    }
    cr_expect(is_taken_as(trial, row->high));
    cr_expect_eq(faults_count(trial->reader.faults, FAULT_DOUBT), 0);
}

/* Has every key of every section looked at; how many `look` has something to say of. */
static int each_key(bool (*look)(struct trial *trial))
{
    struct failure failure;
    struct faults faults;
    struct sections sections;
    struct arena *arena = arena_new();
    struct trial trial = {
        .reader = {.arena = arena, .faults = &faults, .units = units_new(&failure)}};
    int count = 0;
    case_sections(&sections);
    for (int i = 0; i < sections.count; i++) {
        trial.section = sections.list[i];
        for (int k = 0; k < sections.list[i]->key_count; k++) {
            trial.key = &sections.list[i]->keys[k];
            count += look(&trial);
        }
    }
    units_free(trial.reader.units);
    arena_free(arena);
    return count;
}

static bool check_quantity(struct trial *trial)
{
    const bool is_quantity = trial->key->kind == KEY_QUANTITY || trial->key->kind == KEY_QUANTITIES;
    if (is_quantity) {
        check_key(trial);
    }
    return is_quantity;
}

Test(quantities, of_every_key_are_held_within_what_can_be)
{
    cr_expect_geq(each_key(check_quantity), 150);
}

/* Whether a node is refused where it stands, by a message that names the key. */
static void expect_node_refused(struct trial *trial, enum tree_kind kind, const char *text)
{
    static double words[WORDS_ROOM / sizeof(double)];
    const struct tree node = {.kind = kind, .text = text, .place = {"keys.yaml", 7, 9}};
    const char *key = trial->key->name;
    faults_init(trial->reader.faults, trial->reader.arena);
    cr_expect_not(key_read_value(&trial->reader, trial->key, &node, trial->section->name, words),
                  "%s, %s: '%s' was taken", trial->section->name, key, text ? text : "no text");
    const struct failure *first = faults_first(trial->reader.faults);
    cr_assert_not_null(first, "%s, %s", trial->section->name, key);
    cr_expect_not_null(strstr(first->message, key), "%s", first->message);
    cr_expect(first->place.line == 7 && first->place.column == 9, "%s", first->message);
}

/* What a value of a kind cannot be, a NULL ends it. */
static const char *const *never_of(enum key_kind kind)
{
    static const char *const quantity[] = {"",      "x", "1 parsecs of it", "1 2 x", "--1 m",
                                           "1,5 m", NULL};
    static const char *const whole[] = {"",    "nan", "inf", "-1",   "1.5",
                                        "1e9", "4 m", "0x4", "four", NULL};
    static const char *const yes[] = {"", "perhaps", "1", "on", "YES", "y", NULL};
    static const char *const choice[] = {"", "no such word", "|", "a|b", NULL};
    static const char *const text[] = {"", "a\tb", "a\nb", NULL};
    switch (kind) {
    case KEY_QUANTITY:
    case KEY_QUANTITIES:
        return quantity;
    case KEY_WHOLE:
        return whole;
    case KEY_YES:
        return yes;
    case KEY_CHOICE:
        return choice;
    case KEY_TEXT:
    case KEY_NODE:
        break;
    }
    return text;
}

static bool check_kind(struct trial *trial)
{
    if (trial->key->kind == KEY_NODE) {
        return false; /* whoever asked for it reads it */
    }
    expect_node_refused(trial, TREE_LIST, NULL);
    expect_node_refused(trial, TREE_MAP, NULL);
    for (const char *const *never = never_of(trial->key->kind); *never; never++) {
        expect_node_refused(trial, TREE_TEXT, *never);
    }
    return true;
}

Test(keys, of_every_section_are_held_to_their_kind)
{
    cr_expect_geq(each_key(check_kind), 200);
}

/* Reads an empty map as the section: what it must have is told as missing, each key once. */
static bool check_missing(struct trial *trial)
{
    static double words[WORDS_ROOM / sizeof(double)];
    const struct tree empty = {.kind = TREE_MAP, .place = {"keys.yaml", 7, 9}};
    const struct target targets[] = {{trial->section, words}};
    int told = 0;
    if (!trial->key->is_required) {
        return false;
    }
    faults_init(trial->reader.faults, trial->reader.arena);
    cr_expect_not(keys_read(&trial->reader, &empty, "it", 1, targets));
    char missing[100];
    (void)snprintf(missing, sizeof missing, "'%s' is missing (", trial->key->name);
    for (int i = 0; i < trial->reader.faults->count; i++) {
        const struct failure *failure = &trial->reader.faults->list[i].failure;
        told += strstr(failure->message, missing) != NULL;
        cr_expect(failure->place.line == 7 && failure->place.column == 9);
    }
    cr_expect_eq(told, 1, "%s: %s: told %d times", trial->section->name, trial->key->name, told);
    return true;
}

Test(keys, that_must_be_there_are_missed)
{
    cr_expect_geq(each_key(check_missing), 25);
}

static bool check_fallback(struct trial *trial)
{
    static double words[WORDS_ROOM / sizeof(double)];
    const struct key *key = trial->key;
    const struct tree node = {.kind = TREE_TEXT, .text = key->fallback};
    faults_init(trial->reader.faults, trial->reader.arena);
    cr_expect(!key->fallback || key_read_value(&trial->reader, key, &node, "fallback", words), "%s",
              key->name);
    cr_expect_eq(trial->reader.faults->count, 0, "%s", key->name);
    return key->fallback != NULL;
}

/* What a key takes when it is not said is usual, and lies in its range. */
Test(quantities, fallbacks_are_usual)
{
    cr_expect_gt(each_key(check_fallback), 0);
}

/* The words "0.1 mm to 30 m" are the numbers that the code goes by. */
static void check_words(struct units *units, enum quantity quantity, const char *words,
                        const double ends[2])
{
    char text[100];
    char message[FAILURE_MESSAGE_SIZE];
    const char *to = strstr(words, " to ");
    cr_assert_not_null(to, "%s", words);
    for (int i = 0; i < 2; i++) {
        double value = NAN;
        struct amount amount = {.value = &value};
        (void)snprintf(text, sizeof text, "%.*s", i ? 90 : (int)(to - words), i ? to + 4 : words);
        cr_assert(units_read(units, quantity, text, 1, &amount, sizeof message, message), "%s",
                  message);
        cr_expect_leq(fabs(value - ends[i]), 1e-9 * fabs(ends[i]), "%s: %g", words, value);
    }
}

Test(quantities, spans_in_words_are_those_in_numbers)
{
    struct failure failure;
    struct sections sections;
    struct units *units = units_new(&failure);
    case_sections(&sections);
    for (int i = 0; i < sections.count; i++) {
        for (int k = 0; k < sections.list[i]->key_count; k++) {
            const struct key *key = &sections.list[i]->keys[k];
            const struct plausible_row *row =
                plausible_row(plausible_of(key->plausible, key->quantity));
            if (row && (key->kind == KEY_QUANTITY || key->kind == KEY_QUANTITIES)) {
                check_words(units, key->quantity, row->possible, (double[]){row->least, row->most});
                check_words(units, key->quantity, row->usual, (double[]){row->low, row->high});
            }
        }
    }
    units_free(units);
}
