/* Names are compared as sets of short words in plain spelling: "PVC-U 2 inch, Class C" becomes
 * {pvcu, 2in, classc}. Each word is a series, a size or a class; none can be taken for another, so
 * their order does not matter. */
#include "models/pipe_catalogue.h"

#include "models/name.h"

#include <ctype.h>
#include <limits.h>
#include <math.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdlib.h>
#include <string.h>

enum { WORD_MAX = 8, WORD_SIZE = 16, TABLES = 5 };

struct words {
    int count;
    char word[WORD_MAX][WORD_SIZE];
};

static const struct pipe_table *table_at(int index)
{
    static const struct pipe_table *const tables[TABLES] = {
        &pipe_pvc_metric, &pipe_pvc_inch, &pipe_pvc_schedule, &pipe_pe, &pipe_abs};
    return tables[index];
}

static bool is_number(const char *word)
{
    return isdigit((unsigned char)word[0]) != 0;
}

/* Copies the run of letters, or of digits and '/', or the inch mark at `text` to `word`; a longer
 * one is cut. Returns what follows; `word` is empty at the end. */
static const char *take_word(const char *text, char word[WORD_SIZE])
{
    while (*text && !isalnum((unsigned char)*text) && *text != '"') {
        text++;
    }
    int length = 0;
    const bool is_digit = isdigit((unsigned char)*text) != 0;
    const bool is_mark = *text == '"';
    while (*text) {
        const unsigned char letter = (unsigned char)*text;
        const bool belongs = is_digit ? isdigit(letter) || letter == '/' || letter == '.'
                                      : isalpha(letter) || (is_mark && letter == '"');
        if (!belongs) {
            break;
        }
        if (length < WORD_SIZE - 1) {
            word[length++] = (char)tolower(letter);
        }
        text++;
        if (is_mark) {
            break;
        }
    }
    word[length] = '\0';
    return text;
}

/* The trade's other spellings. */
static const char *plain(const char *word)
{
    static const char *const spellings[][2] = {
        {"upvc", "pvcu"}, {"\"", "in"}, {"inch", "in"},      {"inches", "in"},
        {"mm", ""},       {"dn", ""},   {"sch", "schedule"}, {"sched", "schedule"},
        {"od", ""},       {"pipe", ""}};
    for (size_t i = 0; i < sizeof spellings / sizeof spellings[0]; i++) {
        if (strcmp(word, spellings[i][0]) == 0) {
            return spellings[i][1];
        }
    }
    return word;
}

/* Whether `word` goes on with `next`: "pn" "10", "pvc" "u", "class" "c", "1" "1/4", "2" "in". */
static bool joins(const char *word, const char *next)
{
    static const char *const before_number[] = {"pn", "sdr", "schedule", "pe"};
    if (is_number(next)) {
        for (size_t i = 0; i < sizeof before_number / sizeof before_number[0]; i++) {
            if (strcmp(word, before_number[i]) == 0) {
                return true;
            }
        }
        return is_number(word) && !strchr(word, '/') && strchr(next, '/');
    }
    if (strcmp(next, "in") == 0) {
        return is_number(word);
    }
    return (strcmp(word, "pvc") == 0 && (strcmp(next, "u") == 0 || strcmp(next, "c") == 0)) ||
           (strcmp(word, "class") == 0 && strlen(next) == 1);
}

/* Puts `next` behind `word`, with '+' between a whole number and its fraction. */
static void join(char word[WORD_SIZE], const char *next)
{
    size_t length = strlen(word);
    if (is_number(word) && is_number(next) && length < WORD_SIZE - 1) {
        word[length++] = '+';
    }
    while (*next && length < WORD_SIZE - 1) {
        word[length++] = *next++;
    }
    word[length] = '\0';
}

/* False when there are more words than any size has. */
static bool read_words(const char *name, struct words *words)
{
    words->count = 0;
    for (;;) {
        char next[WORD_SIZE];
        name = take_word(name, next);
        if (next[0] == '\0') {
            return true;
        }
        const char *word = plain(next);
        char *last = words->count > 0 ? words->word[words->count - 1] : NULL;
        if (word[0] == '\0') {
            continue;
        }
        if (last && joins(last, word)) {
            join(last, word);
        } else if (words->count < WORD_MAX) {
            words->word[words->count][0] = '\0';
            join(words->word[words->count++], word);
        } else {
            return false;
        }
    }
}

static bool has_word(const struct words *words, const char *word)
{
    for (int i = 0; i < words->count; i++) {
        if (strcmp(words->word[i], word) == 0) {
            return true;
        }
    }
    return false;
}

static bool is_same(const struct words *one, const struct words *other)
{
    if (one->count != other->count) {
        return false;
    }
    for (int i = 0; i < one->count; i++) {
        if (!has_word(other, one->word[i])) {
            return false;
        }
    }
    return true;
}

int pipe_catalogue_count(void)
{
    int count = 0;
    for (int i = 0; i < TABLES; i++) {
        count += table_at(i)->count;
    }
    return count;
}

const struct pipe_size *pipe_catalogue_at(int index)
{
    int table = 0;
    while (index >= table_at(table)->count) {
        index -= table_at(table)->count;
        table++;
    }
    return &table_at(table)->sizes[index];
}

/* What the trade calls a material, and how the names of our sizes of it begin; NULL: none here. */
static const char *const families[][2] = {
    {"pe", "pe"},    {"hdpe", "pe"},   {"pehd", "pe"},         {"mdpe", "pe"},
    {"pemd", "pe"},  {"ldpe", "pe"},   {"poly", "pe"},         {"pvcu", "pvc"},
    {"pvc", "pvc"},  {"abs", "abs"},   {"polyethylene", "pe"}, {"pvcc", NULL},
    {"cpvc", NULL},  {"pp", NULL},     {"ppr", NULL},          {"polypropylene", NULL},
    {"pex", NULL},   {"pb", NULL},     {"pvdf", NULL},         {"grp", NULL},
    {"steel", NULL}, {"copper", NULL}, {"iron", NULL},         {"galvanised", NULL}};

/* Whether `word` names a material: the letters before its number, of "pe100" "pe". */
static bool is_material(const char *word, const char *material)
{
    const size_t length = strcspn(word, "0123456789");
    return strlen(material) == length && strncmp(word, material, length) == 0;
}

/* How the names to offer begin: "" when no material is named; NULL when there is none of it. A pipe
 * of another material is no near miss: it has another strength, and another one in the warm. */
static const char *family_of(const struct words *words)
{
    for (int i = 0; i < words->count; i++) {
        for (size_t j = 0; j < sizeof families / sizeof families[0]; j++) {
            if (is_material(words->word[i], families[j][0])) {
                return families[j][1];
            }
        }
    }
    return "";
}

/* Whether a word tells this size's class, as "pn10" of polyethylene, whose sizes go by SDR. */
static bool has_class(const struct words *words, const struct pipe_size *size)
{
    static const double bar = 1e5;
    for (int i = 0; i < words->count; i++) {
        const char *word = words->word[i];
        if (strncmp(word, "pn", 2) == 0 &&
            fabs(strtod(word + 2, NULL) * bar - size->pressure_class) < bar / 4) {
            return true;
        }
    }
    return false;
}

/* Letters that a word of a size costs which is not among those typed: of a number, as "63", all of
 * those it may have, for no other size is near; after "pe" it may stand in one word with it. */
static int cost_of_absence(const struct words *words, const char *own)
{
    static const int of_number = 6;
    for (int i = 0; i < words->count; i++) {
        const char *word = words->word[i];
        if (strcmp(word, own) == 0 || (strncmp(word, "pe", 2) == 0 && strcmp(word + 2, own) == 0)) {
            return 0;
        }
    }
    return is_number(own) ? of_number : 1;
}

/* How far the numbers of a size are from the nearest that was typed, in all; 160 is nearer to 165
 * than 125, with as few edits. */
static double number_gap(const struct words *words, const struct words *own)
{
    double gap = 0;
    for (int j = 0; j < own->count; j++) {
        double least = HUGE_VAL;
        for (int i = 0; is_number(own->word[j]) && i < words->count; i++) {
            if (is_number(words->word[i])) {
                least =
                    fmin(least, fabs(strtod(words->word[i], NULL) - strtod(own->word[j], NULL)));
            }
        }
        gap += isfinite(least) ? least : 0;
    }
    return gap;
}

/* The closest by edits, of the material named; names that share more words with it come first: of
 * "pvc-u 64 pn10" the size is wrong, not the class. */
static const char *closest(const char *name, const struct words *words)
{
    static const int worth_of_class = 6; /* three letters, those of "pn10" beside "sdr17" */
    const char *family = family_of(words);
    const char *found = NULL;
    int least = INT_MAX;
    double least_gap = HUGE_VAL;
    for (int i = 0; i < pipe_catalogue_count(); i++) {
        const struct pipe_size *size = pipe_catalogue_at(i);
        struct words own;
        if (!family || strncmp(size->name, family, strlen(family)) != 0 ||
            !read_words(size->name, &own)) {
            continue;
        }
        int distance = 2 * name_distance(size->name, name);
        distance -= has_class(words, size) ? worth_of_class : 0;
        for (int j = 0; j < own.count; j++) {
            distance += cost_of_absence(words, own.word[j]);
        }
        const double gap = number_gap(words, &own);
        if (distance < least || (distance == least && gap < least_gap)) {
            least = distance;
            least_gap = gap;
            found = size->name;
        }
    }
    return found;
}

const struct pipe_size *pipe_catalogue_find(const char *name, const char **nearest)
{
    for (int i = 0; i < pipe_catalogue_count(); i++) {
        if (strcmp(pipe_catalogue_at(i)->name, name) == 0) { /* quick: tables of many pipes */
            return pipe_catalogue_at(i);
        }
    }
    struct words words;
    const bool is_readable = read_words(name, &words);
    for (int i = 0; is_readable && i < pipe_catalogue_count(); i++) {
        const struct pipe_size *size = pipe_catalogue_at(i);
        struct words own;
        if (read_words(size->name, &own) && is_same(&own, &words)) {
            return size;
        }
    }
    if (nearest) {
        *nearest = closest(name, &words);
    }
    return NULL;
}
