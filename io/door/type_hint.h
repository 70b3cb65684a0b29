/* Type hint: which valves a person may have meant whose word for one is in no table. */
#ifndef IO_DOOR_TYPE_HINT_H
#define IO_DOOR_TYPE_HINT_H

#include "io/door/draft.h"

struct type_hint {
    char text[400];
};

/* The end of a message: the types, the case's own among them (`draft` NULL: built-in ones alone),
 * whose names share a word with `name` ("swing check": 'swing flap'; "foot valve": all that begin
 * with foot), but one alone where only a letter or two are wrong; else the nearest; else all that
 * are built in. The text lives in `hint`. */
const char *type_hint(struct type_hint *hint, const struct draft *draft, const char *name);

#endif
