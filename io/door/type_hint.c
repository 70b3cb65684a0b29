#include "io/door/type_hint.h"

#include "io/nearest.h"
#include "models/name.h"

#include <stdio.h>
#include <string.h>

enum { WORD_SIZE = 24 };

static int count_own(const struct draft *draft)
{
    return draft ? draft->type_count : 0;
}

static int count_types(const struct draft *draft)
{
    return count_own(draft) + non_return_type_count();
}

static const char *type_at(const struct draft *draft, int i)
{
    const int own = count_own(draft);
    return i < own ? draft->types[i].name : non_return_type_at(i - own)->name;
}

/* Copies the next word at `text`, cut where it is long; returns what follows. Empty at the end. */
static const char *take_word(const char *text, char word[WORD_SIZE])
{
    static const char *const gaps = " -_";
    text += strspn(text, gaps);
    const size_t length = strcspn(text, gaps);
    (void)snprintf(word, WORD_SIZE, "%.*s", (int)length, text);
    return text + length;
}

/* Words that any of them is called by tell nothing. */
static bool is_common(const char *word)
{
    static const char *const common[] = {"valve",  "valves", "check",  "non",
                                         "return", "nrv",    "loaded", "type"};
    for (size_t i = 0; i < sizeof common / sizeof common[0]; i++) {
        if (name_is_same(word, common[i])) {
            return true;
        }
    }
    return false;
}

static bool share_word(const char *one, const char *other)
{
    char word[WORD_SIZE];
    for (one = take_word(one, word); word[0]; one = take_word(one, word)) {
        char beside[WORD_SIZE];
        const char *rest = take_word(other, beside);
        for (; beside[0]; rest = take_word(rest, beside)) {
            if (!is_common(word) && name_is_same(word, beside)) {
                return true;
            }
        }
    }
    return false;
}

/* Whether the name of type `i` may be what was meant by `name`, and not just this itself. */
static bool may_be(const struct draft *draft, int i, const char *name)
{
    return !name_is_same(type_at(draft, i), name);
}

/* Puts the next name behind those that are there; false when there is no more room for it. */
static bool put(struct type_hint *hint, const char *name, bool is_first)
{
    const size_t length = strlen(hint->text);
    const size_t room = sizeof hint->text - length;
    const int needed = snprintf(hint->text + length, room, "%s'%.60s'", is_first ? "" : ", ", name);
    if (needed < 0 || (size_t)needed >= room) {
        hint->text[length] = '\0';
        return false;
    }
    return true;
}

/* "; did you mean 'a', 'b'" of all that share a word; how many. */
static int put_sharing(struct type_hint *hint, const struct draft *draft, const char *name)
{
    int count = 0;
    (void)snprintf(hint->text, sizeof hint->text, "; did you mean ");
    for (int i = 0; i < count_types(draft); i++) {
        if (may_be(draft, i, name) && share_word(name, type_at(draft, i)) &&
            put(hint, type_at(draft, i), count == 0)) {
            count++;
        }
    }
    return count;
}

const char *type_hint(struct type_hint *hint, const struct draft *draft, const char *name)
{
    static const int slips = 2;
    struct nearest nearest;
    nearest_start(&nearest, name);
    for (int i = 0; i < count_types(draft); i++) {
        if (may_be(draft, i, name)) {
            nearest_offer(&nearest, type_at(draft, i));
        }
    }
    const bool is_slip =
        nearest.found && nearest.distance <= slips && share_word(name, nearest.found);
    if (!is_slip && put_sharing(hint, draft, name) > 0) {
        (void)snprintf(hint->text + strlen(hint->text), sizeof hint->text - strlen(hint->text),
                       "?");
    } else if (nearest.found) {
        (void)snprintf(hint->text, sizeof hint->text, "; did you mean '%.60s'?", nearest.found);
    } else {
        (void)snprintf(hint->text, sizeof hint->text,
                       "; 'downsurge catalogue non-return' tells of ");
        for (int i = 0; i < non_return_type_count(); i++) {
            (void)put(hint, non_return_type_at(i)->name, i == 0);
        }
    }
    return hint->text;
}
